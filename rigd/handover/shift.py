"""The delivery that runs inside the daemon: one at a time, watched, paused, cancelled from the page."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from msgspec import Struct

from rigd.errors import Busy, NotReady, RigdError
from rigd.handover.deliver import Delivered, Delivery, Progress
from rigd.handover.planning import RollPlan
from rigd.handover.slots import LocalWorkers, Workers

Doing = Literal["nothing", "running", "paused", "done", "cancelled", "failed"]


class Status(Struct, frozen=True):
    """How the delivery stands. `rolls`: labels of what is handed over, `folder` where to. `left_s`: estimate of what is
    still to do, None while it cannot be told. `delivered`: what lies there, once it is through; `trouble` and `remedy`
    why it is not whole."""

    doing: Doing = "nothing"
    rolls: tuple[str, ...] = ()
    folder: str = ""
    progress: Progress | None = None
    left_s: float | None = None
    delivered: Delivered | None = None
    trouble: str = ""
    remedy: str = ""


class Shift:
    """At most one delivery. `workers` makes those of a run; all methods but `close` return at once."""

    def __init__(
        self, workers: Callable[[], Workers] = LocalWorkers, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._new_workers = workers
        self._clock = clock
        self._task: asyncio.Task[None] | None = None
        self._delivery: Delivery | None = None
        self._end = Status()
        self._began = 0.0
        self._paused = False

    @property
    def running(self) -> bool:
        return self._task is not None and not self._task.done()

    def begin(self, job_id: str, title: str, rolls: tuple[RollPlan, ...], root: Path, out: Path) -> Status:
        """Begin a delivery. Raises Busy while another runs."""
        if self.running:
            raise Busy("A handover is running already.", f"It writes {self._end.folder}.", "Wait for it, or cancel it.")
        self._delivery = Delivery(job_id, title, rolls, root, out, self._new_workers())
        self._end = Status("running", tuple(roll.label for roll in rolls), str(out))
        self._began, self._paused = self._clock(), False
        self._task = asyncio.create_task(self._run(self._delivery), name="handover")
        return self.status()

    def pause(self) -> Status:
        """Begin no further frame; those in hand are finished. Raises NotReady where nothing runs."""
        self._in_hand().pause()
        self._paused = True
        return self.status()

    def go_on(self) -> Status:
        """Go on after a pause. Raises NotReady where nothing runs."""
        self._in_hand().go_on()
        self._paused = False
        return self.status()

    async def cancel(self) -> Status:
        """End the run; what was made stays, and the next run goes on with it. Raises NotReady where nothing runs."""
        self._in_hand()
        await self.close()
        return self.status()

    async def close(self) -> None:
        """End the run if there is one, and wait until its workers are gone."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task

    def status(self) -> Status:
        """How it stands now."""
        if not self.running or self._delivery is None:
            return self._end
        progress = self._delivery.progress
        doing: Doing = "paused" if self._paused else "running"
        return Status(doing, self._end.rolls, self._end.folder, progress, self._left(progress))

    def _left(self, progress: Progress) -> float | None:
        """By the pace of the frames made so far."""
        to_do = progress.frames - progress.made - progress.kept - progress.failed
        if progress.made == 0 or self._paused:
            return None
        return round((self._clock() - self._began) / progress.made * to_do, 1)

    def _in_hand(self) -> Delivery:
        if not self.running or self._delivery is None:
            raise NotReady("No handover is running.", "", "Begin one: rigd handover, or in the Handover view.")
        return self._delivery

    async def _run(self, delivery: Delivery) -> None:
        rolls, folder = self._end.rolls, self._end.folder
        try:
            done = await delivery.run(datetime.now(UTC).date())
            first = done.troubles[0] if done.troubles else None
            self._end = Status("failed" if first else "done", rolls, folder, delivery.progress, 0.0, done,
                               first.what if first else "", first.why if first else "")  # fmt: skip
        except asyncio.CancelledError:
            self._end = Status("cancelled", rolls, folder, delivery.progress)
            raise
        except RigdError as error:
            self._end = Status("failed", rolls, folder, delivery.progress, None, None, error.what, error.remedy)
