"""Every frame is counted exactly once, whatever happened to it in whatever order."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from tests.unit.model.histories import WANT, histories

from rigd.model import events as ev
from rigd.model.reduce import fold
from rigd.model.state import FrameState, RollState
from rigd.model.tally import Tally, tally
from rigd.model.values import Frame, Roll, Take, Verdict
from rigd.model.words import Colour, Film, Purpose, Quality, Stage, Tone


def roll_of(*frames: FrameState, takes: tuple[Take, ...] = (), expected: tuple[int, int] | None = None) -> RollState:
    roll = Roll("r-1", "Pier 7", "Pier_7", "135", Tone.NEGATIVE, Colour.MONO, expected)
    return RollState(roll, frames={f.frame.frame_id: f for f in frames}, takes={t.take_id: t for t in takes})


def frame(number: int, **fields: object) -> FrameState:
    return FrameState(Frame(f"f-{number}", "r-1", "s-1", number), **fields)  # type: ignore[arg-type]


def take(name: str, stage: Stage, quality: Quality = Quality.GOOD) -> Take:
    verdict = Verdict(Film.PICTURE, quality, "") if stage is Stage.JUDGED else None
    return Take(name, "f-1", Purpose.WHOLE, 1, WANT, stage, verdict=verdict)


@pytest.mark.parametrize(
    ("fields", "kind"),
    [
        ({}, "open"),
        ({"skipped": True}, "skipped"),
        ({"keeper": ("t-1",), "film": Film.PICTURE}, "pictures"),
        ({"keeper": ("t-1",), "skipped": True}, "pictures"),
        ({"film": Film.PICTURE}, "open"),
        ({"film": Film.UNEXPOSED}, "unexposed"),
        ({"film": Film.UNEXPOSED, "keeper": ("t-1",)}, "unexposed"),
        ({"film": Film.FOGGED, "skipped": True}, "fogged"),
        ({"film": Film.NO_FILM}, "open"),
    ],
)
def test_a_frame_is_of_one_kind(fields: dict[str, object], kind: str) -> None:
    counts = tally(roll_of(frame(1, **fields)))
    assert {k: getattr(counts, k) for k in ("pictures", "unexposed", "fogged", "skipped", "open")} == {
        "pictures": 0, "unexposed": 0, "fogged": 0, "skipped": 0, "open": 0, kind: 1,
    }  # fmt: skip


@pytest.mark.parametrize(("expected", "missing"), [((5, 6), 3), ((2, 2), 0), ((1, 1), 0), (None, 2)])
def test_missing_is_what_nobody_accounted_for(expected: tuple[int, int] | None, missing: int) -> None:
    frames = (frame(1, keeper=("t",)), frame(2, film=Film.UNEXPOSED), frame(3, skipped=True), frame(4))
    assert tally(roll_of(*frames, expected=expected)).missing == missing


def test_takes_count_only_where_a_file_is_left() -> None:
    takes = tuple(take(f"t-{stage}", stage) for stage in Stage)
    counts = tally(roll_of(frame(1, takes=tuple(t.take_id for t in takes)), takes=takes))
    assert (counts.takes, counts.retaken) == (2, 1)


@pytest.mark.parametrize("quality", list(Quality))
def test_a_keeper_that_is_not_good_is_suspect(quality: Quality) -> None:
    counts = tally(roll_of(frame(1, keeper=("t-1",)), takes=(take("t-1", Stage.JUDGED, quality),)))
    assert counts.suspect == (quality is not Quality.GOOD)


@settings(deadline=None)  # a busy machine is no fault
@given(histories)
def test_each_frame_is_counted_exactly_once(events: list[ev.Committed]) -> None:
    state = fold(events)
    assert {roll_id: tally(roll) for roll_id, roll in state.rolls.items()} == plain_count(events)
    for roll in state.rolls.values():
        counts = tally(roll)
        kinds = counts.pictures + counts.unexposed + counts.fogged + counts.skipped + counts.open
        assert kinds == len(roll.frames)
    assert sum(len(roll.frames) for roll in state.rolls.values()) == state.frame_count


def plain_count(events: list[ev.Committed]) -> dict[str, Tally]:
    """The same numbers from the events alone, by looking for the last word on each frame: no fold, no state."""
    said = [c.event for c in events]
    rolls = {e.roll.roll_id: e.roll for e in said if isinstance(e, ev.RollPlanned | ev.RollChanged)}
    return {roll_id: _plain_tally(said, roll) for roll_id, roll in rolls.items()}


def _plain_tally(said: list[ev.AnyEvent], roll: Roll) -> Tally:
    frames = [e.frame.frame_id for e in said if isinstance(e, ev.FramePlaced) and e.frame.roll_id == roll.roll_id]
    kinds = [_plain_kind(said, f) for f in frames]
    made = {e.take_id: e.frame_id for e in said if isinstance(e, ev.ExposureIntended) and e.frame_id in frames}
    stored = {e.take_id for e in said if isinstance(e, ev.Stored)}
    first = roll.expected[0] if roll.expected else None
    done = sum(kinds.count(k) for k in ("picture", "unexposed", "fogged"))
    open_, skipped = kinds.count("open"), kinds.count("skipped")
    return Tally(
        expected=first,
        pictures=kinds.count("picture"),
        unexposed=kinds.count("unexposed"),
        fogged=kinds.count("fogged"),
        skipped=skipped,
        open=open_,
        missing=open_ + skipped if first is None else max(0, first - done),
        retaken=sum(list(made.values()).count(f) > max(1, len(_keeper(said, f))) for f in frames),
        suspect=sum(_plain_suspect(said, f) for f in frames),
        takes=sum(t in stored for t in made),
        again=0,
    )


def _plain_kind(said: list[ev.AnyEvent], frame_id: str) -> str:
    about = [e for e in said if getattr(e, "frame_id", None) == frame_id]
    if (film := _plain_film(about)) in (Film.UNEXPOSED, Film.FOGGED):
        return film.value
    if _plain_keeper(about):
        return "picture"
    words = [e for e in about if isinstance(e, ev.FrameSkipped | ev.KeeperChosen | ev.ExposureIntended)]
    return "skipped" if words and isinstance(words[-1], ev.FrameSkipped) else "open"


def _plain_film(about: list[ev.AnyEvent]) -> Film | None:
    """The last mark since the keeper was chosen, unless it was taken back; else what the keeper's choice said."""
    films = [e for e in about if isinstance(e, ev.KeeperChosen | ev.FrameMarked)]
    chosen = [n for n, e in enumerate(films) if isinstance(e, ev.KeeperChosen)]
    since = films[chosen[-1] if chosen else 0 :]
    if since and isinstance(since[-1], ev.FrameMarked) and since[-1].film is not None:
        return since[-1].film
    return films[chosen[-1]].film if chosen else None


def _plain_keeper(about: list[ev.AnyEvent]) -> tuple[str, ...]:
    chosen = [e.takes for e in about if isinstance(e, ev.KeeperChosen)]
    return chosen[-1] if chosen else ()


def _keeper(said: list[ev.AnyEvent], frame_id: str) -> tuple[str, ...]:
    return _plain_keeper([e for e in said if getattr(e, "frame_id", None) == frame_id])


def _plain_suspect(said: list[ev.AnyEvent], frame_id: str) -> bool:
    keeper = _keeper(said, frame_id)
    last = {e.take_id: e.verdict.take for e in said if isinstance(e, ev.Judged)}
    fine = {Quality.GOOD} if len(keeper) < 2 else {Quality.GOOD, Quality.EXCEEDS}
    return any(last.get(t, Quality.GOOD) not in fine for t in keeper)
