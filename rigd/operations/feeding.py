"""Who moves the film, and stopping it at once."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from rigd.engine.feed import Feed
from rigd.errors import Busy, NotReady
from rigd.operations import running
from rigd.operations.desk import Desk
from rigd.operations.verb import Args, Nothing, Verb


class Feeding(Struct, frozen=True):
    """`by`: who moves the film of the current roll; `stopped`: who stopped it, "" where it may move."""

    by: Literal["hand", "advancer"]
    stopped: str = ""


class FeedBy(Args, frozen=True):
    """`by`: who moves the film from now on."""

    by: Literal["hand", "advancer"]


async def stop_film(desk: Desk, _: Nothing, by: str) -> Feeding:
    """Emergency stop: the advancer's motor and lamp off at once, latched until it is cleared on purpose. Nothing is
    exposed after the step in hand, and nothing without a press; without an advancer it is a pause. Raises BoardError
    where the advancer does not answer: pull its plug then."""
    engine = desk.engine()
    try:
        if engine.feed is None:
            await running.pause(desk, by=by)
        else:
            await engine.feed.stop(by)
    finally:
        await engine.watch.disarm(by)
    return feeding(desk)


async def clear_stop(desk: Desk, _: Nothing, by: str) -> Feeding:
    """Clear the stop on purpose. Nothing moves: the next order finds out where the film is. Raises NotReady where there
    is no advancer, MotionStopped while the stop switch is pressed, BoardError where the board does not answer."""
    await _feed(desk).clear(by)
    return feeding(desk)


async def feed_by(desk: Desk, args: FeedBy, by: str) -> Feeding:
    """Choose who moves the film from now on. Raises Busy while a frame is in hand, NotReady where there is no advancer
    or the film of this roll must not run by itself, BoardError where the board does not answer."""
    if desk.engine().busy:
        raise Busy("One thing at a time.", "The rig is busy with the frame in hand.", "Wait for the tone.")
    if args.by == "advancer":
        feed = _feed(desk)
        feed.require()
        await feed.ready()
        feed.forget()
        feed.on = feed.wanted = True
    elif desk.engine().feed is not None:
        _feed(desk).wanted = False
    return feeding(desk)


def feeding(desk: Desk) -> Feeding:
    """Who moves the film now."""
    return Feeding("advancer" if desk.engine().fed else "hand", desk.state.stopped)


def _feed(desk: Desk) -> Feed:
    feed = desk.engine().feed
    if feed is None:
        raise NotReady(
            "There is no film advancer.", "The settings name none.", "Set [board] address, and start rigd again."
        )
    return feed


STOP_FILM = Verb("stop-film", Nothing, Feeding, stop_film, Nothing())
CLEAR_STOP = Verb("clear-stop", Nothing, Feeding, clear_stop, Nothing())
FEED_BY = Verb("feed", FeedBy, Feeding, feed_by, FeedBy("hand"))
VERBS = (STOP_FILM, CLEAR_STOP, FEED_BY)
