"""Events of a shutter that is held for a roll."""

from __future__ import annotations

from rigd.model.event_base import Event
from rigd.model.values import Held


class ShutterHeld(Event, frozen=True, tag=True):
    """From now on every frame of the roll is exposed alike: its base was metered."""

    roll_id: str
    held: Held
    by: str = "rigd"


class ShutterReleased(Event, frozen=True, tag=True):
    """The roll's shutter is free again; its base is metered anew with the next frame or base take."""

    roll_id: str
    by: str = ""
