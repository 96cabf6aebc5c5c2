"""One release of the shutter, from drained events to the files on the card."""

from __future__ import annotations

import time
from collections.abc import Callable

from rigd.drivers.camera.collector import Collector
from rigd.drivers.camera.faults import AGAIN, is_busy
from rigd.drivers.camera.worker.device import Device, Event, Trouble
from rigd.errors import CameraLost, CardFull
from rigd.model.values import CardFile

Ask = Callable[[str, str], CardFile]


def release(device: Device) -> Trouble | None:
    """Press once. A camera that says it is busy has usually not released, but that is not certain: the trouble is
    handed back, and whatever comes is waited for. Never pressed twice."""
    try:
        device.trigger()
    except Trouble as trouble:
        if is_busy(trouble.fault):
            return trouble
        raise
    return None


def collect(device: Device, shot: Collector, ask: Ask, busy_until: float | None) -> None:
    """Run the event loop until the shot is done.

    Args:
        ask: what the camera says of a file that arrived.
        busy_until: monotonic time after which a camera that was busy is given up; None where it was not.

    Raises:
        CameraLost: it was not done in the time allowed.
        CardFull: the camera had no room for it.
        Trouble: the link broke.
    """
    ends, late = busy_until or shot.deadline_s(), False
    while not shot.done(time.monotonic()):
        event, now = device.event(), time.monotonic()
        if event.kind != "none":
            _take(event, shot, ask, now)
            continue
        if shot.refused(now):
            raise CardFull(
                "The camera's card is full.",
                "It said so after the release; there is no picture.",
                "Put in another card.",
            )
        if now > ends:
            if late or busy_until:
                raise _nothing_came(shot)
            _answers(device)
            ends, late = shot.late_deadline_s(), True
        time.sleep(shot.pause_s(now))


def _take(event: Event, shot: Collector, ask: Ask, now: float) -> None:
    if event.kind == "file":
        shot.arrived(ask(event.folder, event.name), now)
    elif event.kind == "complete":
        shot.completed(now)
    elif event.kind == "full":
        shot.card_full(now)


def _answers(device: Device) -> None:
    """Ask the camera something that goes over the wire: a frozen one is silent on the event side only."""
    try:
        device.rooms()
    except Trouble as trouble:
        raise CameraLost(
            "The camera stopped answering after the release.",
            f"{trouble}. Whether there is a picture is unknown.",
            AGAIN,
        ) from trouble


def _nothing_came(shot: Collector) -> CameraLost:
    came = len(shot.files)
    return CameraLost(
        "The camera was released, and its picture did not come.",
        f"It answers, but told of {came or 'no'} file{'' if came == 1 else 's'} in time.",
        "Let rigd connect again: it then looks on the card for what was exposed.",
    )
