"""From a roll as the ledger knows it to frozen plans: which takes, against which base, cut and turned how."""

from __future__ import annotations

from statistics import median

from msgspec import Struct

from rigd.errors import NotReady
from rigd.handover.naming import Names, papers_at_delivery, stored_takes
from rigd.handover.values import FramePlan, Lie, Print, Source, Three
from rigd.imaging.positive.balance import usual
from rigd.model.formats import FilmFormat, film_format
from rigd.model.metadata import about_frame
from rigd.model.order import film_kind, numbers
from rigd.model.state import FrameState, RollState, State
from rigd.model.values import Job, Strip, Take
from rigd.model.words import Emulsion, Film, Purpose, Tone
from rigd.store.sidecar import sidecar_name

_USED = (Purpose.WHOLE, Purpose.BRACKET, Purpose.CHANNEL)
# What a shutter is held by where its base was metered on clear film alone (`Held.how`).
BASE_TAKE = "base take"
_CHANNELS = ("base_1s_r", "base_1s_g", "base_1s_b")


class Left(Struct, frozen=True):
    """A frame of which no picture is made, and why."""

    frame_id: str
    number: int
    why: str


class RawPlan(Struct, frozen=True):
    """A stored file and where it goes, relative to the roll's folder in the delivery."""

    source: Source
    to: str


class RollPlan(Struct, frozen=True):
    """What is to be made of one roll. `raws` are all stored takes of its frames, keepers or not, under their names at
    delivery; `papers` what is written beside them, by path in the roll's folder: sidecars, frames.csv, roll.json,
    names.csv."""

    roll_id: str
    label: str
    folder: str
    frames: tuple[FramePlan, ...]
    left: tuple[Left, ...]
    raws: tuple[RawPlan, ...]
    papers: dict[str, bytes]
    within_stops: float | None


class Wish(Struct, frozen=True):
    """How a roll is to be handed over: what of the rebate is left about the picture in mm (negative: cut tighter; None:
    the whole sight), the print's tones, how far a frame's middle may lie from that of its roll in stops before it is
    printed lighter or darker (None: every frame as the roll), the proof's longer side."""

    margin_mm: float | None = 0.0
    print: Print = Print()
    within_stops: float | None = 0.5
    proof_px: int = 1600


def plan_roll(state: State, roll: RollState, wish: Wish) -> RollPlan:
    """Plans of all frames of a roll that have a keeper, in the order of the film.

    Raises:
        NotReady: it has no picture yet, or nobody measured its base (a positive: the lamp).
        InputError: the job's template gives file names that cannot be.
    """
    order = sorted(numbers(roll).items(), key=lambda item: item[1])
    with_takes = [(roll.frames[f], n) for f, n in order if _sources(roll, roll.frames[f])]
    if not with_takes:
        raise NotReady(f"Roll {roll.roll.label} has no picture to hand over.", "No frame of it has a take that counts.",
                       "Digitise it first: rigd run.")  # fmt: skip
    clear, names = clear_1s(state, roll), Names(state.job, roll)
    made = {f.frame.frame_id for f, _ in with_takes}
    left = tuple(Left(f, n, _why(roll.frames[f])) for f, n in order if f not in made)
    raws = tuple(RawPlan(_source(take), names.raw(take)) for take in stored_takes(roll))
    papers = papers_at_delivery(state.job, roll, {raw.source.path: raw.to for raw in raws})
    frames = tuple(_frame(state.job, roll, frame, clear, wish, names, papers) for frame, _ in with_takes)
    return RollPlan(roll.roll.roll_id, roll.roll.label, roll.roll.folder, frames, left, raws, papers, wish.within_stops)


def clear_1s(state: State, roll: RollState) -> Three:
    """L for 1 s where the film has no density of its own: of a negative the base, by the base take that its shutter is
    held for, else the median of all that was seen of it beside the pictures; of a positive the bare lamp.

    Raises NotReady where it was never measured."""
    if roll.roll.tone is Tone.POSITIVE:
        if state.lamp is None:
            raise NotReady("The bare lamp was never measured.", "A positive is shown against it.",
                           "Start the daemon once with the gate open: rigd run.")  # fmt: skip
        return state.lamp.level_1s
    if roll.held is not None and roll.held.how == BASE_TAKE:
        return roll.held.base_1s
    seen = [v.numbers for t in roll.takes.values() if (v := t.verdict) and all(c in v.numbers for c in _CHANNELS)]
    if not seen:
        raise NotReady(f"The base of roll {roll.roll.label} was never seen.",
                       "No take shows clear film beside its picture, and there is no base take.",
                       "Lay its clear leader into the gate: rigd base; or judge the roll again.")  # fmt: skip
    red, green, blue = (median(numbers[c] for numbers in seen) for c in _CHANNELS)
    return red, green, blue


def _sources(roll: RollState, frame: FrameState) -> tuple[Source, ...]:
    """The takes that a picture is made of: none of a frame that holds no picture, whatever was taken of it."""
    if frame.film in (Film.UNEXPOSED, Film.NO_FILM):
        return ()
    takes = [roll.takes[t] for t in frame.keeper if t in roll.takes]
    return tuple(_source(t) for t in takes if t.path and t.sha256 and t.purpose in _USED)


def _source(take: Take) -> Source:
    numbers = take.verdict.numbers if take.verdict else {}
    return Source(take.path, take.sha256, numbers.get("seconds") or take.want.shutter_s, take.purpose.value)


def _why(frame: FrameState) -> str:
    if frame.film is not None:
        return str(frame.film)
    return "skipped" if frame.skipped else "not taken yet"


def _frame(
    job: Job | None, roll: RollState, frame: FrameState, clear: Three, wish: Wish, names: Names,
    papers: dict[str, bytes],
) -> FramePlan:  # fmt: skip
    strip, sources = roll.strips[frame.frame.strip_id], _sources(roll, frame)
    tone, colour = film_kind(roll, frame.frame.frame_id)
    balance = usual(colour)
    keeper = next(t for t in (roll.takes[i] for i in frame.keeper if i in roll.takes) if t.path == sources[0].path)
    return FramePlan(
        frame.frame.frame_id, names.picture(keeper), tone, colour, sources, (), clear,
        balance.gamma, balance.middle, wish.print, _lie(keeper, strip, film_format(roll.roll.film_format), wish),
        about_frame(job, roll.roll, frame), proof_px=wish.proof_px, xmp=papers[sidecar_name(names.raw(keeper))],
    )  # fmt: skip


def _lie(take: Take, strip: Strip, film: FilmFormat, wish: Wish) -> Lie:
    """A camera over the film sees the picture as its photographer did where the emulsion lies down, towards the lamp;
    with the emulsion up it sees it mirrored. A strip that runs along the sensor's height is turned by a quarter; which
    way it runs cannot be seen of square pictures, which stay as they lie."""
    numbers = take.verdict.numbers if take.verdict else {}
    corners = take.verdict.corners if take.verdict and wish.margin_mm is not None else ()
    upright = film.along_mm == film.across_mm or numbers.get("along_x", 1.0) > 0
    quarters = (0 if upright else 1) + (2 if strip.turn == 180 else 0)
    return Lie(corners, wish.margin_mm or 0.0, quarters, strip.emulsion is Emulsion.UP, numbers.get("px_per_mm", 0.0))
