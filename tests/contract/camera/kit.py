"""What the camera's contract tests share."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from rigd.drivers.camera import Allowances, CameraClient, CameraConfig
from rigd.model.values import Exposure
from rigd_sim.control.start import SimulatedCamera

# The library's own time limits (2.5 s) are real; ours are shortened, so that a wait does not take ten seconds.
QUICK = Allowances(event_s=1.0, late_s=0.5, busy_s=0.6, idle_s=0.05, breath_s=600.0, rung_s=0.05, answer_s=12.0)
FAST = Exposure(1 / 50, "0.0200s", 8.0, 100)
SLOW = Exposure(1.0, "1.0000s", 8.0, 100)

Make = Callable[..., CameraClient]

# Operation codes of PTP (ISO 15740, table of operations).
INITIATE_CAPTURE, DELETE_OBJECT, SET_PROPERTY, GET_STREAM = 0x100E, 0x100B, 0x1016, 0x1025


def config_of(sim: SimulatedCamera, **allowances: float) -> CameraConfig:
    return CameraConfig(f"ptpip:{sim.address}", allow=replace(QUICK, **allowances))


def runs(pid: int | None) -> bool:
    """Whether this process is there."""
    if pid is None:
        return False
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def operations(sim: SimulatedCamera, code: int, since: float = 0.0) -> list[dict[str, Any]]:
    """Entries of the camera's wire log for one operation, from a moment of the monotonic clock on."""
    log: list[dict[str, Any]] = sim.hand.wirelog()
    return [e for e in log if e["kind"] == "operation" and e["code"] == code and e["start"] >= since]


def on_card(sim: SimulatedCamera) -> list[dict[str, Any]]:
    """What is on the card by the simulator's own account: name, size and sha256 of each file."""
    pictures: list[dict[str, Any]] = sim.hand.truth()["camera"]["pictures"]  # type: ignore[index]
    return pictures


async def until(condition: Callable[[], bool], within_s: float = 10.0) -> None:
    """Wait for something that another process does. Raises TimeoutError."""
    end = time.monotonic() + within_s
    while not condition():
        if time.monotonic() > end:
            raise TimeoutError(f"not so within {within_s} s")
        await asyncio.sleep(0.01)
