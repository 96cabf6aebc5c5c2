"""Messages of the live line, told apart by `kind`. Pictures go as binary messages, each after its `picture` line."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from rigd.hub import Accounted, Notice, Refused, Vitals
from rigd.model.events import AnyEvent, Committed
from rigd.model.events_later import FramesMoved, RollDropped, StrayAssigned, StripsChanged
from rigd.model.state import State
from rigd.model.tally import tally
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


def _text(kind: Literal["snapshot", "event", "notice", "picture", "control", "here"], **fields: Any) -> str:
    return msgspec.json.encode({"kind": kind, **fields}).decode()


def page_state(state: State) -> State:
    """What the page needs: the current roll in full; of the others only what stands on their label."""
    rolls = {
        key: roll if key == state.roll_id else replace(roll, strips={}, frames={}, takes={})
        for key, roll in state.rolls.items()
    }
    return replace(state, rolls=rolls)


def snapshot_fields(state: State, vitals: Vitals) -> dict[str, Any]:
    """State, tally of the current roll and vitals, all of the same moment."""
    return {
        "seq": state.seq,
        "state": state,
        "tally": tally(state.roll) if state.roll else None,
        "vitals": vitals,
    }


def snapshot_text(state: State, vitals: Vitals, holder: Holder | None) -> str:
    """The snapshot of a live line also tells who works the rig."""
    return _text("snapshot", **snapshot_fields(page_state(state), vitals), control=holder)


def event_text(item: Committed) -> str:
    return _text("event", seq=item.seq, at=item.at, event=item.event)


def notice_text(notice: Notice) -> str:
    """A notice carries its own `type`: "vitals", "refused" or "accounted"."""
    assert isinstance(notice, Vitals | Refused | Accounted)
    return _text("notice", notice=notice)


def picture_text(number: int) -> str:
    return _text("picture", number=number)


def control_text(holder: Holder | None) -> str:
    """Control went to another hand."""
    return _text("control", control=holder)


def here_text(seq: int) -> str:
    return _text("here", seq=seq)


def needs_snapshot(event: AnyEvent) -> bool:
    """True for events that move frames or strips from roll to roll: of other rolls a page has the label only, so it
    cannot fold them."""
    return isinstance(event, StripsChanged | FramesMoved | StrayAssigned | RollDropped)
