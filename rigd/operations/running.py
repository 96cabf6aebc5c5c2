"""Verbs of the running rig."""

from __future__ import annotations

from msgspec import Struct

from rigd.engine.places import next_place, placing
from rigd.engine.steps import Order
from rigd.errors import Busy, NotFound, NotReady, RigdError, StaleCommand
from rigd.hub import Refused
from rigd.model.events import Advanced, FramePlaced, FrameSkipped, Paused, Resumed, StripLoaded, TroubleOver
from rigd.operations.desk import Desk
from rigd.operations.finding import known_frame


class Accepted(Struct, frozen=True):
    """The order is being carried out; what comes of it arrives as events."""

    target: str | None
    nonce: str = ""


async def trigger(
    desk: Desk, *, source: str, nonce: str = "", target: str | None = None, pressed: float | None = None
) -> Accepted:
    """Take the frame in the gate; with the advancer, every one after it to the strip's end. Returns once the order is
    accepted. `pressed`: when, by the clock's monotonic time.

    Raises:
        Busy, NotReady, StaleCommand: nothing was taken.
    """
    meant = desk.state.target
    try:
        desk.engine().trigger(Order(source, nonce, target, pressed=pressed))
    except (Busy, NotReady, StaleCommand) as refused:
        raise _announced(desk, refused, source) from None
    return Accepted(target or meant, nonce)


async def retake(desk: Desk, *, source: str, nonce: str = "", frame_id: str | None = None) -> Accepted:
    """Take a frame again: the one named, or the last one that was taken. Armed, the rig takes it when it lies in the
    gate; else what lies there is taken for it at once.

    Raises:
        NotFound: nobody knows the frame. Busy, NotReady: nothing was taken.
    """
    frame_id = frame_id or last_frame(desk)
    await known_frame(desk, frame_id)
    engine = desk.engine()
    try:
        if engine.watch.armed and not engine.fed:
            engine.ready()
            await engine.watch.recall(frame_id)
            return Accepted(frame_id, nonce)
        engine.retake(frame_id, Order(source, nonce))
    except (Busy, NotReady) as refused:
        raise _announced(desk, refused, source) from None
    return Accepted(frame_id, nonce)


async def skip(desk: Desk, *, source: str, target: str | None = None) -> Accepted:
    """Leave the frame in the gate: it counts with the takes it has, or stays open to come back to."""
    _not_busy(desk)
    state = desk.state
    if target is not None and target != state.target:
        raise StaleCommand("That was meant for another frame.", "", "Look at the page and try again.")
    found = placing(state)
    frame = found.placed.frame
    if found.events:
        await desk.hub.append(*(e for e in found.events if isinstance(e, StripLoaded | FramePlaced)))
    roll = desk.state.rolls[frame.roll_id]
    if not roll.frames[frame.frame_id].done:
        await desk.hub.append(FrameSkipped(frame.frame_id, f"by {source}"))
    await desk.hub.append(Advanced(frame.frame_id, next_place(roll, frame.frame_id)))
    if desk.state.trouble is not None:
        await desk.hub.append(TroubleOver())
    if desk.runner is not None:
        desk.runner.go_on(source)
    return Accepted(desk.state.target)


async def pause(desk: Desk, *, by: str) -> None:
    """No further exposure after the step in hand."""
    if desk.runner is not None:
        desk.runner.halt()
    await desk.hub.append(Paused(by))


async def resume(desk: Desk, *, by: str) -> None:
    """Triggers are accepted again; a strip that the advancer left in the middle goes on."""
    await desk.hub.append(Resumed(by))
    if desk.runner is not None:
        desk.runner.go_on(by)


async def stop(desk: Desk, *, by: str) -> None:
    """Pause, and come back only when the step in hand has ended."""
    await pause(desk, by=by)
    await desk.engine().until_idle()


async def recover(desk: Desk, *, by: str) -> None:
    """Win the camera back, look on the card for what was exposed, and finish it: one button."""
    desk.engine().recover()


async def measure_gate(desk: Desk, *, source: str) -> Accepted:
    """Measure the bare lamp through the open gate."""
    desk.engine().aside.gate()
    return Accepted(None)


def last_frame(desk: Desk) -> str:
    """The frame in hand, or the one that was taken last. Raises NotFound."""
    state = desk.state
    if state.frame_id:
        return state.frame_id
    frames = [f for r in state.rolls.values() for f in r.frames.values() if f.takes]
    if not frames:
        raise NotFound("There is no frame to take again.", "None has been taken yet.", "Trigger first.")
    return max(frames, key=lambda f: f.takes[-1]).frame.frame_id


def _not_busy(desk: Desk) -> None:
    if desk.runner is not None and desk.runner.busy:
        raise Busy("One thing at a time.", "The rig is busy with the frame in hand.", "Wait for the tone.")


def _announced(desk: Desk, refused: RigdError, source: str) -> RigdError:
    """A refusal has its own sound: every listener hears of it."""
    desk.hub.notice(Refused(refused.code, refused.what, refused.why, refused.remedy, source))
    return refused
