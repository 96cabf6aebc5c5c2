"""A rig that dies: opens the job on the simulated camera, takes one frame, and kills itself with SIGKILL when told to.

Run by the tests as a process of its own: `crash_rig.py ROOT CAMERA MOMENT EVENT [DELAY_S]`. MOMENT is `before` or
`after` the commit of the first EVENT; `never` for none. Prints how everything stands at the end as JSON.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from pathlib import Path

import msgspec

from rigd.app import desks
from rigd.config import CameraSection, ExposureSection, Settings, SettleSection
from rigd.errors import RigdError
from rigd.hub import Hub
from rigd.model.events import AnyEvent, Committed
from rigd.operations import rolls, running
from rigd.operations.desk import Desk


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


class DyingHub(Hub):
    """Dies once, before or after the commit of an event of the named kind."""

    moment, kind, delay_s = "never", "", 0.0

    async def append(self, *events: AnyEvent) -> tuple[Committed, ...]:
        hit = any(type(e).__name__ == self.kind for e in events)
        if hit and self.moment == "before":
            _die()
        done = await super().append(*events)
        if hit and self.moment == "after":
            if self.delay_s == 0:
                _die()
            asyncio.get_running_loop().call_later(self.delay_s, _die)
        return done


def settings(camera: str, first_s: float) -> Settings:
    return Settings(
        camera=CameraSection(address=camera),
        settle=SettleSection(delay_s=0.05),
        exposure=ExposureSection(first_s=first_s),
    )


async def _prepared(desk: Desk) -> None:
    if desk.state.job is None:
        await rolls.open_job(desk, title="Vessling harbour office")
        await rolls.plan_roll(desk, label="HO 12", film_format_name="120-6x6", expected=(12, 12), strip_places=4)
        await rolls.open_roll(desk, roll_id="r-0001")


async def _work(root: Path, camera: str) -> dict[str, object]:
    # The frames of the scene want about 1/30 s; a long first shutter gives time to die in mid-exposure.
    async with desks.open_desk(root, settings(camera, 0.5 if DyingHub.delay_s else 1 / 30), camera=True) as desk:
        engine = desk.engine()
        await engine.until_idle()
        await _prepared(desk)
        roll = desk.state.rolls["r-0001"]
        if not any(f.keeper for f in roll.frames.values()):
            await running.trigger(desk, source="test", target=desk.state.target)
            await engine.until_idle()
        await desk.aftercare.catch_up() if desk.aftercare else None
        items = await engine.rig.card.items()
        return {"state": desk.state, "card": [item.name for item in items], "target": desk.state.target}


def main() -> None:
    root, camera, DyingHub.moment, DyingHub.kind = Path(sys.argv[1]), sys.argv[2], sys.argv[3], sys.argv[4]
    DyingHub.delay_s = float(sys.argv[5]) if len(sys.argv) > 5 else 0.0
    desks.Hub = DyingHub  # type: ignore[misc]
    with contextlib.suppress(RigdError):
        sys.stdout.buffer.write(msgspec.json.encode(asyncio.run(_work(root, camera))))


if __name__ == "__main__":
    main()
