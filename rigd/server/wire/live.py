"""Messages of the live line, told apart by `kind`. Pictures go as binary messages, each after its `picture` line."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from rigd.hub import Accounted, Refused, Vitals
from rigd.model.events import AnyEvent, Committed
from rigd.model.events_later import FramesMoved, RollDropped, StrayAssigned, StripsChanged
from rigd.model.state import State
from rigd.model.tally import Tally, tally
from rigd.server.control import Holder


class Watch(Struct, frozen=True, tag="watch", tag_field="kind"):
    """The client wants live pictures, so many a second at most (1 to 25), or no more of them."""

    live: bool
    rate: Annotated[int, Meta(ge=1, le=25)] = 10


class Seen(Struct, frozen=True, tag="seen", tag_field="kind"):
    """The client has shown that picture: the next may come."""

    picture: int


class Fresh(Struct, frozen=True, tag="fresh", tag_field="kind"):
    """The client missed something and wants a new snapshot."""


class Ask(Struct, frozen=True, tag="ask", tag_field="kind"):
    """Is this still true? The answer is `here`, or a new snapshot where `seq` is not the newest."""

    seq: int


FromClient = Watch | Seen | Fresh | Ask
read = msgspec.json.Decoder(FromClient).decode


class SnapshotSaid(Struct, frozen=True, tag="snapshot", tag_field="kind"):
    """All at one moment: the fold, the current roll's tally, the vitals, and who works the rig."""

    seq: int
    state: State
    tally: Tally | None
    vitals: Vitals
    control: Holder | None


class EventSaid(Struct, frozen=True, tag="event", tag_field="kind"):
    """One event after the snapshot, none left out."""

    seq: int
    at: datetime
    event: AnyEvent


class NoticeSaid(Struct, frozen=True, tag="notice", tag_field="kind"):
    """What is not history: how the rig is now, a refusal, or whether it comes out even."""

    notice: Vitals | Refused | Accounted


class PictureNext(Struct, frozen=True, tag="picture", tag_field="kind"):
    """The next message is a live picture, a JPEG in binary; the one after it comes when this one is acknowledged."""

    number: int


class ControlSaid(Struct, frozen=True, tag="control", tag_field="kind"):
    """Control went to another hand, or fell free."""

    control: Holder | None


class Here(Struct, frozen=True, tag="here", tag_field="kind"):
    """What the client shows is true."""

    seq: int


FromServer = SnapshotSaid | EventSaid | NoticeSaid | PictureNext | ControlSaid | Here
_encode = msgspec.json.Encoder().encode


def text_of(said: FromServer) -> str:
    return _encode(said).decode()


class Snapshot(Struct, frozen=True):
    """The fold at one moment, the current roll's tally, and the rig's vitals."""

    seq: int
    state: State
    tally: Tally | None
    vitals: Vitals


def page_state(state: State) -> State:
    """What the page needs: the current roll in full; of the others only what stands on their label."""
    rolls = {
        key: roll if key == state.roll_id else replace(roll, strips={}, frames={}, takes={})
        for key, roll in state.rolls.items()
    }
    return replace(state, rolls=rolls)


def snapshot(state: State, vitals: Vitals) -> Snapshot:
    """State, tally of the current roll and vitals, all of the same moment."""
    return Snapshot(state.seq, state, tally(state.roll) if state.roll else None, vitals)


def snapshot_said(state: State, vitals: Vitals, holder: Holder | None) -> SnapshotSaid:
    """The snapshot of a live line: of other rolls the label only; and who works the rig."""
    now = snapshot(page_state(state), vitals)
    return SnapshotSaid(now.seq, now.state, now.tally, now.vitals, holder)


def event_said(item: Committed) -> EventSaid:
    return EventSaid(item.seq, item.at, item.event)


def needs_snapshot(event: AnyEvent) -> bool:
    """True for events that move frames or strips from roll to roll: of other rolls a page has the label only, so it
    cannot fold them."""
    return isinstance(event, StripsChanged | FramesMoved | StrayAssigned | RollDropped)
