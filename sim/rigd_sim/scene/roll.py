"""Where the frames lie on the roll, what each is, and where the roll is cut into strips."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from rigd_sim.scene.formats import FilmFormat, format_named
from rigd_sim.scene.spec import FrameSpec, SceneSpec

ODD_STOPS: dict[str, dict[str, float]] = {
    "negative": {"dense": 3.3, "thin": -3.1},
    "positive": {"dense": -1.25, "thin": 1.2},
}
"""The taking camera's exposure of the dense and the thin frame against an ordinary one, in stops.

Chosen so that the copy of a dense frame needs about two stops more exposure (0.6 D at the stock's gamma: an overexposed
negative, an underexposed positive), and that of a thin one more than one stop less (its picture lies in the toe).
"""

UNEVEN_STOPS: dict[str, tuple[float, float]] = {"negative": (-2.5, 6.0), "positive": (-2.5, 1.5)}
"""The least and the most exposure of the uneven script's frames: negatives bear much more than they forgive too little.
"""


@dataclass(frozen=True)
class Frame:
    """One frame on a strip; `start` and `end` in mm from the strip's leading end, `height` across in mm."""

    number: int
    strip: int
    place: int
    start: float
    end: float
    height: float
    stops: float
    spec: FrameSpec

    @property
    def centre(self) -> float:
        """Middle of the frame along the strip, mm."""
        return (self.start + self.end) / 2

    @property
    def exposed(self) -> bool:
        """Whether a picture was taken on it."""
        return self.spec.kind not in ("unexposed", "fogged")


@dataclass(frozen=True)
class Strip:
    """One cut piece of film; `cuts` are the limits of the pieces that hold one frame each, mm, from 0 to its length.

    `origin` is where the strip's leading end lay on the roll, mm: perforations run through from strip to strip.
    """

    number: int
    frames: tuple[Frame, ...]
    cuts: tuple[float, ...]
    origin: float

    @property
    def length(self) -> float:
        """Length, mm."""
        return self.cuts[-1]


def lay_out(spec: SceneSpec) -> tuple[Strip, ...]:
    """The roll's strips in order. Pure: the same spec gives the same roll."""
    form = format_named(spec.film_format)
    rng = np.random.default_rng([spec.seed, 21])
    per_strip = 1 if form.single else (spec.strip or form.strip)
    frames = _place(spec, form, rng)
    groups = [frames[i : i + per_strip] for i in range(0, len(frames), per_strip)]
    return tuple(_cut(form, number, group) for number, group in enumerate(groups, start=1))


def _place(spec: SceneSpec, form: FilmFormat, rng: np.random.Generator) -> list[Frame]:
    """Every frame at its place along the roll (strip and place still 0)."""
    scale = 1.0 - spec.shrinkage
    gate = 1.0 + rng.uniform(-1.0, 1.0, 2) * spec.gate_tolerance
    spread = form.gap_spread if spec.spacing_mm is None else spec.spacing_mm
    wanted = _kinds(spec)
    frames, at = [], form.gap
    for number in range(1, spec.frames + 1):
        jitter = float(np.clip(rng.normal(0.0, spread), -0.45 * form.gap, 0.45 * form.gap)) if spread else 0.0
        chosen = wanted[number]
        start = at + jitter if chosen.overlap_mm is None else at - form.gap - chosen.overlap_mm
        end = start + form.along * gate[0]
        frames.append(
            Frame(
                number,
                0,
                0,
                start * scale,
                end * scale,
                form.across * gate[1] * scale,
                _stops(spec.tone, chosen),
                chosen,
            )
        )
        at = (at if chosen.overlap_mm is None else start) + form.pitch
    return frames


def _kinds(spec: SceneSpec) -> dict[int, FrameSpec]:
    """What each frame is, by number from 1."""
    wanted = {number: FrameSpec() for number in range(1, spec.frames + 1)}
    if spec.script == "harbour":
        wanted |= {number: FrameSpec(kind) for number, kind in _special(spec.frames).items()}
    elif spec.script == "rough":
        wanted |= {number: FrameSpec(kind) for number, kind in _rough(spec).items()}
    if spec.script == "uneven":
        wanted = {number: FrameSpec(stops=_uneven(spec, number)) for number in wanted}
    wanted |= {number: chosen for number, chosen in spec.overrides if number in wanted}
    return wanted


def _uneven(spec: SceneSpec, number: int) -> float:
    """Exposure of a frame by a photographer without a meter, stops: from far under to far over, no two alike."""
    low, high = UNEVEN_STOPS[spec.tone]
    return float(np.random.default_rng([spec.seed, 22, number]).uniform(low, high))


def _special(frames: int) -> dict[int, str]:
    """The demo roll's three odd frames, spread over the roll; a short roll has fewer."""
    places = {round(frames * 0.25): "dense", round(frames * 0.58): "unexposed", round(frames * 0.83): "thin"}
    return {number: kind for number, kind in places.items() if 1 < number <= frames} if frames >= 4 else {}


def _rough(spec: SceneSpec) -> dict[int, str]:
    """A long job's film: one frame in twelve was never exposed, one in twenty is dense, one thin; the first is a
    picture."""
    rng = np.random.default_rng([spec.seed, 22])
    limits = {"unexposed": 1 / 12, "dense": 1 / 12 + 1 / 20, "thin": 1 / 12 + 2 / 20}
    drawn = {number: float(rng.random()) for number in range(2, spec.frames + 1)}
    found = {number: next((kind for kind, limit in limits.items() if at < limit), "") for number, at in drawn.items()}
    return {number: kind for number, kind in found.items() if kind}


def _stops(tone: str, chosen: FrameSpec) -> float:
    return ODD_STOPS[tone].get(chosen.kind, 0.0) if chosen.stops is None else chosen.stops


def _cut(form: FilmFormat, number: int, group: list[Frame]) -> Strip:
    """One strip from its frames: cut in the middle of the gaps, positions counted from its leading end."""
    origin = group[0].start - form.gap / 2
    placed = tuple(
        replace(f, strip=number, place=place, start=f.start - origin, end=f.end - origin)
        for place, f in enumerate(group, start=1)
    )
    between = [(a.end + b.start) / 2 for a, b in pairwise(placed)]
    return Strip(number, placed, (0.0, *between, placed[-1].end + form.gap / 2), origin)
