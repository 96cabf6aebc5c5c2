"""The verbs of the running rig."""

from __future__ import annotations

from typing import Protocol

from rigd.errors import NotReady
from rigd.operations import arming, going_back, running
from rigd.operations.running import Accepted
from rigd.operations.verbs.looking import AtDesk


class RigVerbs(Protocol):
    """Orders to the engine."""

    async def trigger(self, *, nonce: str = "", target: str | None = None) -> Accepted: ...
    async def retake(self, *, nonce: str = "", frame_id: str | None = None) -> Accepted: ...
    async def skip(self, *, target: str | None = None) -> Accepted: ...
    async def back(self) -> Accepted: ...
    async def undo(self) -> None: ...
    async def measure_gate(self) -> Accepted: ...
    async def arm(self) -> None: ...
    async def disarm(self) -> None: ...
    async def pause(self) -> None: ...
    async def resume(self) -> None: ...
    async def recover(self) -> None: ...


class LocalRig(AtDesk):
    """`RigVerbs` at a desk of this process: each returns when it has been carried out."""

    async def trigger(self, *, nonce: str = "", target: str | None = None) -> Accepted:
        return await self._done(await running.trigger(self._desk, source=self.SOURCE, nonce=nonce, target=target))

    async def retake(self, *, nonce: str = "", frame_id: str | None = None) -> Accepted:
        return await self._done(await running.retake(self._desk, source=self.SOURCE, nonce=nonce, frame_id=frame_id))

    async def skip(self, *, target: str | None = None) -> Accepted:
        return await running.skip(self._desk, source=self.SOURCE, target=target)

    async def back(self) -> Accepted:
        return await going_back.back(self._desk)

    async def undo(self) -> None:
        await going_back.undo(self._desk, by=self.SOURCE)

    async def measure_gate(self) -> Accepted:
        return await self._done(await running.measure_gate(self._desk, source=self.SOURCE))

    async def arm(self) -> None:
        if self._desk.runner is None:
            # Armed is armed for as long as somebody watches: that is the daemon.
            raise NotReady("No daemon has this job open.", "Only a daemon watches the film.", "Start: rigd run.")
        await arming.arm(self._desk, by=self.SOURCE)

    async def disarm(self) -> None:
        if self._desk.runner is not None:
            await arming.disarm(self._desk, by=self.SOURCE)

    async def pause(self) -> None:
        await running.pause(self._desk, by=self.SOURCE)

    async def resume(self) -> None:
        await running.resume(self._desk, by=self.SOURCE)

    async def recover(self) -> None:
        await running.recover(self._desk, by=self.SOURCE)
        await self._desk.engine().until_idle()

    async def _done(self, accepted: Accepted) -> Accepted:
        await self._desk.engine().until_idle()
        return accepted
