"""Events of self-triggering: from when to when the rig took frames by itself, and why it ceased to."""

from __future__ import annotations

from rigd.model.event_base import Event


class Armed(Event, frozen=True, tag=True):
    """From now on the rig takes each new frame that lies in the gate and is still, without a press."""

    by: str


class Disarmed(Event, frozen=True, tag=True):
    """No frame is taken without a press any more. `by` "rigd" where it disarmed itself; then `why` says what is in
    doubt."""

    by: str
    why: str = ""
