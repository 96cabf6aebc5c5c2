"""What went wrong, written down with its remedy: the page shows it, and it calls."""

from __future__ import annotations

import asyncio

from msgspec.structs import replace

from rigd.engine.rig import Rig
from rigd.errors import RigdError, StoreError
from rigd.model.events import Troubled, TroubleOver


class Troubles:
    """Of one rig."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig

    async def record(self, error: RigdError) -> None:
        """Write it down; if the disk is full, into the room that was kept for this."""
        trouble = Troubled(error.code, error.what, error.why, error.remedy, self._rig.state.frame_id)
        try:
            await self._rig.hub.append(trouble)
        except StoreError:
            await self._on_ballast(trouble)

    async def over(self) -> None:
        """Whatever it was, it is over."""
        if self._rig.state.trouble is not None:
            await self._rig.hub.append(TroubleOver())

    def ledger_failed(self, error: RigdError) -> None:
        """It cannot be written down: the listeners are told all the same."""
        vitals = self._rig.hub.vitals
        self._rig.hub.notice(replace(vitals, ledger_ok=False, phase=f"ledger: {error.what}"))

    async def _on_ballast(self, trouble: Troubled) -> None:
        try:
            await asyncio.to_thread(self._rig.store.ballast.release)
            await self._rig.hub.reopen()
            await self._rig.hub.append(trouble)
        except RigdError as failed:
            self.ledger_failed(failed)


def inner_fault(error: Exception) -> RigdError:
    """A fault of the program, in words."""
    return RigdError(
        "Something inside rigd went wrong.",
        f"{type(error).__name__}: {error}",
        "Press Recover; if it comes back, restart rigd and keep the log.",
    )
