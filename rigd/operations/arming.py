"""Self-triggering: from when to when the rig takes frames without a press."""

from __future__ import annotations

from msgspec import Struct

from rigd.operations.desk import Desk


class Arming(Struct, frozen=True):
    """Whether frames are taken without a press now."""

    armed: bool


async def arm(desk: Desk, *, by: str) -> Arming:
    """Take each new frame that lies whole in the gate and rests, without a press.

    Raises:
        NotReady: no daemon, no job, or the camera has no live view. CameraMissing: there is none.
    """
    await desk.engine().watch.arm(by)
    return Arming(armed=True)


async def disarm(desk: Desk, *, by: str) -> Arming:
    """No frame without a press any more. A frame in hand is finished."""
    await desk.engine().watch.disarm(by)
    return Arming(armed=False)
