"""The tally of frames: every one counted exactly once, for a strip, a roll, a job."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from rigd.model.state import FrameState, RollState
from rigd.model.words import Film, Quality, Stage


class Tally(Struct, frozen=True):
    """Counts of frames. `expected` None where nobody knows; `missing` = expected (fewest) less all that is accounted
    for, never under 0; `retaken` = frames with takes beside those that count; `suspect` = frames whose keeper is in
    doubt; `takes` = exposures of frames that left a file; `again` = frames on the list to take again."""

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
    again: int = 0

    @property
    def counted(self) -> int:
        """Frames that are accounted for."""
        return self.pictures + self.unexposed + self.fogged


def tally(roll: RollState) -> Tally:
    """Count one roll."""
    expected = roll.roll.expected[0] if roll.roll.expected else None
    return _count(roll, list(roll.frames.values()), expected)


def tally_strip(roll: RollState, strip_id: str) -> Tally:
    """Count one strip of a roll; as many frames are expected as it has places."""
    frames = [f for f in roll.frames.values() if f.frame.strip_id == strip_id]
    return _count(roll, frames, roll.strips[strip_id].places)


def total(tallies: Iterable[Tally]) -> Tally:
    """The sum; `expected` is the sum of what is known, None where nothing is."""
    some = list(tallies)
    known = [t.expected for t in some if t.expected is not None]
    fields = [name for name in Tally.__struct_fields__ if name != "expected"]
    return Tally(sum(known) if known else None, **{name: sum(getattr(t, name) for t in some) for name in fields})


def _count(roll: RollState, frames: list[FrameState], expected: int | None) -> Tally:
    kinds = [kind_of(f) for f in frames]
    counted = sum(kind in ("picture", "unexposed", "fogged") for kind in kinds)
    takes = [roll.takes[t] for f in frames for t in f.takes if t in roll.takes]
    return Tally(
        expected=expected,
        pictures=kinds.count("picture"),
        unexposed=kinds.count("unexposed"),
        fogged=kinds.count("fogged"),
        skipped=kinds.count("skipped"),
        open=kinds.count("open"),
        missing=max(0, expected - counted) if expected is not None else kinds.count("skipped") + kinds.count("open"),
        retaken=sum(is_retaken(f) for f in frames),
        suspect=sum(is_suspect(f, roll) for f in frames),
        takes=sum(t.stage in (Stage.STORED, Stage.JUDGED) for t in takes),
        again=sum(bool(f.again) for f in frames),
    )


def kind_of(frame: FrameState) -> str:
    """What a frame counts as: picture, unexposed, fogged, skipped, open."""
    if frame.film in (Film.UNEXPOSED, Film.FOGGED):
        return frame.film.value
    if frame.keeper:
        return "picture"
    return "skipped" if frame.skipped else "open"


def is_retaken(frame: FrameState) -> bool:
    """True if there are takes beside those that count: one keeper of two exposures is no retake."""
    return len(frame.takes) > max(1, len(frame.keeper))


def is_suspect(frame: FrameState, roll: RollState) -> bool:
    """True if the keeper is in doubt and nobody has accepted it. A range that one exposure cannot hold is no fault of
    a keeper of several."""
    if frame.accepted or not frame.keeper:
        return False
    fine = (Quality.GOOD, Quality.EXCEEDS) if len(frame.keeper) > 1 else (Quality.GOOD,)
    verdicts = [roll.takes[t].verdict for t in frame.keeper if t in roll.takes]
    return bool(frame.doubt) or any(v is not None and v.take not in fine for v in verdicts)
