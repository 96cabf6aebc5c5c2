"""How far a frame is from where it should lie, even where only one of its edges is in sight.

A gate shows little more than a frame: film that lies a millimetre off hides one edge, and the other one has to do.
Where the frame itself has none in sight, an edge of its neighbour tells, one pitch away.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.live.bed import Bed
from rigd.imaging.live.frames import SEEN_MM, _outside, _rebate_levels, _steps, end_in, frame_in
from rigd.imaging.live.look import Look, band_range
from rigd.model.formats import FilmFormat
from rigd.model.words import Tone

# An edge that is as plain as this stands for itself.
_EDGE = 0.5
# An edge a whole frame from where it is expected is doubted as much as one a third less plain.
_FAR_COST = 0.3
# A gap that is wider than this many usual ones is none that was seen.
_WIDEST = 2.2


class Offset(Struct, frozen=True):
    """`mm`: the frame's middle, right of the gate's middle. `edges`: how many of its own edges told it: 2 or 1, or 0
    where a neighbour's did."""

    mm: float
    edges: int


def offset_in(
    one: Look,
    bed: Bed,
    film: FilmFormat,
    tone: Tone,
    length_mm: float | None = None,
    pitch_mm: float | None = None,
    expected_mm: float = 0.0,
) -> Offset | None:
    """Where the middle of the frame next to `expected_mm` lies; None where no edge of any frame is in sight.

    Args:
        length_mm: this film's own frame length, where it is known; the format's else.
        pitch_mm: from frame to frame, where it is known; the format's else.
        expected_mm: mm right of the gate's middle.
    """
    whole = frame_in(one, bed, film, tone, length_mm, expected_mm)
    if whole is not None and whole.plain:
        return Offset(whole.centre_mm, 2)
    length = length_mm or film.along_mm
    own, pitch = _centres(one, bed, film, tone, length), pitch_mm or film.pitch_mm or length
    near = [(at, plain) for at, plain in own if abs(at - expected_mm) <= length / 2]
    if near:
        return Offset(_likeliest(near, expected_mm, length), 1)
    folded = [(at - pitch * round((at - expected_mm) / pitch), plain) for at, plain in own]
    return Offset(_likeliest(folded, expected_mm, length), 0) if folded else None


def neighbour_in(
    one: Look, bed: Bed, film: FilmFormat, tone: Tone, length_mm: float, side: int, centre_mm: float = 0.0
) -> float | None:
    """Where the middle of the frame beside the one at `centre_mm` lies, mm right of the gate's middle; None where its
    near edge is not plainly in sight.

    Args:
        length_mm: this film's own frame length.
        side: 1: the frame to the right; -1: the one to the left.
    """
    gap = (film.pitch_mm or film.along_mm) - film.along_mm
    begin = centre_mm + side * (length_mm / 2 + SEEN_MM / 2)
    far = [edge for edge in _edges(one, bed, film, tone)
           if edge[1] is (side > 0) and 0.0 < side * (edge[0] - begin) < _WIDEST * gap]  # fmt: skip
    return max(far, key=lambda edge: edge[2])[0] + side * length_mm / 2 if far else None


def _likeliest(found: list[tuple[float, float]], expected_mm: float, length: float) -> float:
    return max(found, key=lambda one: one[1] - _FAR_COST * abs(one[0] - expected_mm) / length)[0]


def _centres(one: Look, bed: Bed, film: FilmFormat, tone: Tone, length: float) -> list[tuple[float, float]]:
    """Middles of frames, each by one plain edge, with how plain it is (0 to 1)."""
    return [(at + (length / 2 if begins else -length / 2), plain) for at, begins, plain in _edges(one, bed, film, tone)]


def _edges(one: Look, bed: Bed, film: FilmFormat, tone: Tone) -> list[tuple[float, bool, float]]:
    """Plain edges of frames: where (mm right of the gate's middle), whether a frame begins there, and how plain (0 to
    1)."""
    left, top, right, bottom = bed.picture(film)
    bands = one.along[band_range(top, bottom, one.size[1]), int(left) : int(right)]
    if bands.shape[1] < 8:
        return []
    found: list[tuple[float, bool, float]] = []
    levels = _rebate_levels(bands, tone)
    if end_in(one, bed, film, tone) is not None and len(levels) > 1:
        # Where the film ends, the lamp shows: its edge is the film's, not a frame's. The rebate is the next level.
        levels = levels[1:] if tone is Tone.NEGATIVE else levels[:-1]
    for level in levels:
        begins, ends = _steps(_outside(bands, level, tone), max(3, round(SEEN_MM * bed.px_per_mm)))
        for evidence, begin in ((begins, True), (ends, False)):
            found += [(bed.mm(float(at) + left), begin, float(evidence[at])) for at in _crests(evidence)]
    return found


def _crests(evidence: NDArray[np.float64]) -> list[int]:
    inner = evidence[1:-1]
    crests = (inner > _EDGE) & (inner >= evidence[:-2]) & (inner > evidence[2:])
    return [int(at) + 1 for at in np.flatnonzero(crests)]
