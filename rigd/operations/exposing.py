"""Verbs of exposure: a second take for a long range, the base of a roll metered and its shutter held."""

from __future__ import annotations

from rigd.engine.steps import Order
from rigd.errors import NotReady
from rigd.model.events_exposing import ShutterReleased
from rigd.operations.desk import Desk
from rigd.operations.finding import known_frame, known_roll
from rigd.operations.running import Accepted, last_frame
from rigd.operations.verb import Args, Nothing, Verb


class FrameOrLast(Args, frozen=True):
    """A frame by its id; none: the one that was taken last."""

    frame: str | None = None


async def bracket(desk: Desk, args: FrameOrLast, by: str) -> Accepted:
    """Take a second, longer exposure of a frame whose range exceeds one: both takes count for it. What lies in the gate
    is taken for that frame."""
    frame_id = args.frame or last_frame(desk)
    await known_frame(desk, frame_id)
    desk.engine().aside.bracket(frame_id, Order(by))
    return Accepted(frame_id)


async def meter_base(desk: Desk, args: Nothing, by: str) -> Accepted:
    """Meter the base of the current roll from the clear film in the gate, and hold its shutter from now on."""
    desk.engine().aside.base(by)
    return Accepted(None)


async def release(desk: Desk, args: Nothing, by: str) -> Accepted:
    """Hold the current roll's shutter no longer: its base is metered anew beside its next frame."""
    roll = await known_roll(desk, None)
    if roll.held is None:
        raise NotReady("The shutter of this roll is not held.", "", "Meter its base first: rigd base.")
    await desk.hub.append(ShutterReleased(roll.roll.roll_id, by))
    return Accepted(desk.state.target)


BRACKET = Verb("bracket", FrameOrLast, Accepted, bracket, FrameOrLast("f-00012"))
METER_BASE = Verb("base", Nothing, Accepted, meter_base, Nothing())
RELEASE_BASE = Verb("base/release", Nothing, Accepted, release, Nothing())

VERBS = (BRACKET, METER_BASE, RELEASE_BASE)
