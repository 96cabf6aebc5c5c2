"""The tally of a roll: every frame counted exactly once."""

from __future__ import annotations

from msgspec import Struct

from rigd.model.state import FrameState, RollState
from rigd.model.words import Film, Quality, Stage


class Tally(Struct, frozen=True):
    """Counts of frames. `expected` None where nobody knows; `missing` = expected (fewest) less all that is accounted
    for, never under 0; `retaken` = frames with more than one exposure; `takes` = exposures that left a file."""

    expected: int | None
    pictures: int
    unexposed: int
    fogged: int
    skipped: int
    open: int
    missing: int
    retaken: int
    suspect: int
    takes: int


def tally(roll: RollState) -> Tally:
    """Count one roll."""
    kinds = [_kind(f) for f in roll.frames.values()]
    expected = roll.roll.expected[0] if roll.roll.expected else None
    counted = sum(kind in ("picture", "unexposed", "fogged") for kind in kinds)
    left = [t for t in roll.takes.values() if t.stage in (Stage.STORED, Stage.JUDGED)]
    return Tally(
        expected=expected,
        pictures=kinds.count("picture"),
        unexposed=kinds.count("unexposed"),
        fogged=kinds.count("fogged"),
        skipped=kinds.count("skipped"),
        open=kinds.count("open"),
        missing=max(0, expected - counted) if expected is not None else kinds.count("skipped") + kinds.count("open"),
        retaken=sum(len(f.takes) > 1 for f in roll.frames.values()),
        suspect=sum(_suspect(f, roll) for f in roll.frames.values()),
        takes=len(left),
    )


def _kind(frame: FrameState) -> str:
    if frame.film in (Film.UNEXPOSED, Film.FOGGED):
        return frame.film.value
    if frame.keeper:
        return "picture"
    return "skipped" if frame.skipped else "open"


def _suspect(frame: FrameState, roll: RollState) -> bool:
    verdicts = [roll.takes[t].verdict for t in frame.keeper if t in roll.takes]
    return any(v is not None and v.take is not Quality.GOOD for v in verdicts)
