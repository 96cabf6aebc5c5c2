"""Where a frame lies in a live picture: its two edges along the film, against the rebate beyond them.

A column may be rebate where all its bands look like rebate: as light as the clearest film on a negative, as dark as
the darkest on a positive; the bare lamp beyond a strip's end counts as rebate. A frame begins where rebate ends.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.live.bed import Bed
from rigd.imaging.live.look import BANDS, Bands, Look, band_range
from rigd.model.formats import FilmFormat
from rigd.model.words import Tone

# So much rebate must be seen beyond an edge, and so much picture within: half of the narrowest gap (135 half-frame).
SEEN_MM = 0.6
# On a negative what is darker than this share of the clearest film is picture (display scale: 0.2 stop); the lamp's
# falloff takes less.
_LIKE = 0.93
# On a positive the rebate is within so many display levels of the darkest, or of the lamp.
_DARK, _LAMP = 12.0, 248.0
# Columns with less than this between their lightest and darkest band can tell the rebate's level.
_EVEN = 0.08
_BIN = 4.0
_CANDIDATES = 3
# Frames differ from nominal by a few per cent; while the scale is not measured, by up to 14 %.
_SPREAD, _SPREAD_UNSURE = 0.035, 0.14
_SIZE_COST = 0.1 / 0.02**2
# Both edges seen as plainly as this are no accident: a frame cut by the gate reaches 0.1 at most, a thin one 0.3.
PLAIN = 0.3
# A single edge that is beyond doubt.
_EDGE = 0.5
# The lamp is lighter than the clearest base by this factor at least (display scale: half of 0.15 D of base and fog).
_END_STEP = 1.08
# An end is believed where so many bands beyond it show the lamp.
_END_BANDS = 2
_RIM_GAP_MM = 0.3
# Lamp beside a mount: wider than the light that creeps round its edge.
_SIDE_MM = 1.5
# A frame one frame's tenth from where it is expected costs as much as a third of an edge.
_PLACE_COST = 0.3 / 0.1**2


class Lying(Struct, frozen=True):
    """A frame in the gate: its left and right edge in mm right of the gate's middle, and how plainly each was seen
    (0 to 1)."""

    left_mm: float
    right_mm: float
    left_seen: float
    right_seen: float

    @property
    def centre_mm(self) -> float:
        return (self.left_mm + self.right_mm) / 2

    @property
    def length_mm(self) -> float:
        return self.right_mm - self.left_mm

    @property
    def plain(self) -> bool:
        """True if both edges are beyond doubt."""
        return min(self.left_seen, self.right_seen) > PLAIN


class End(Struct, frozen=True):
    """A cut end of the film, mm right of the gate's middle; `film_right`: the film lies to the right of it."""

    at_mm: float
    film_right: bool


def frame_in(
    one: Look, bed: Bed, film: FilmFormat, tone: Tone, length_mm: float | None = None, expected_mm: float | None = None
) -> Lying | None:
    """The likeliest frame that lies wholly in the gate; None where no two edges fit.

    Args:
        length_mm: this film's own frame length, where it is known; the format's else.
        expected_mm: where its middle should be, in mm right of the gate's middle, where that is known: of several
            the one that lies there is meant.
    """
    left, top, right, bottom = bed.picture(film)
    bands = one.along[band_range(top, bottom, one.size[1]), int(left) : int(right)]
    if bands.shape[1] < 8:
        return None
    outsides = [_outside(bands, level, tone) for level in _rebate_levels(bands, tone)]
    near = _likeliest(outsides, bed, film, length_mm, expected_mm, left)
    if expected_mm is None or (near is not None and near.plain):
        return near
    # Nothing plain where it should be: what lies plainly elsewhere shows that the film is not where it was thought.
    anywhere = _likeliest(outsides, bed, film, length_mm, None, left)
    return anywhere if anywhere is not None and anywhere.plain else near


def _likeliest(
    outsides: list[NDArray[np.float32]], bed: Bed, film: FilmFormat, length_mm: float | None,
    expected_mm: float | None, left: float,
) -> Lying | None:
    found = [_best(outside, bed, film, length_mm, expected_mm, left) for outside in outsides]
    return max((f for f in found if f is not None), key=lambda pair: pair[0], default=(0.0, None))[1]


def rebate_share(one: Look, bed: Bed, film: FilmFormat, tone: Tone, from_mm: float, to_mm: float) -> float:
    """How much of the picture's height looks like rebate between two places along the film, 0 to 1; 0.0 where that
    stretch does not lie wholly in the gate."""
    left, top, right, bottom = bed.picture(film)
    bands = one.along[band_range(top, bottom, one.size[1]), int(left) : int(right)]
    begin, end = (round(at * bed.px_per_mm + bed.middle - left) for at in (from_mm, to_mm))
    levels = _rebate_levels(bands, tone)
    if begin < 0 or end > bands.shape[1] or end <= begin or not levels:
        return 0.0
    return float(_outside(bands, levels[0], tone)[begin:end].mean())


class Edge(Struct, frozen=True):
    """Where a frame plainly begins (at its left, `begins`) or ends, mm right of the gate's middle."""

    at_mm: float
    begins: bool


def edges_in(one: Look, bed: Bed, film: FilmFormat, tone: Tone) -> tuple[Edge, ...]:
    """Every plain edge in the gate, whichever frame it is of."""
    left, top, right, bottom = bed.picture(film)
    bands = one.along[band_range(top, bottom, one.size[1]), int(left) : int(right)]
    found: list[Edge] = []
    levels = _rebate_levels(bands, tone)
    if tone is Tone.NEGATIVE and len(levels) > 1 and end_in(one, bed, film, tone) is not None:
        # Beyond the film's end the lamp is lighter than the rebate: against it the end itself would be an edge.
        levels = levels[1:]
    for level in levels[:1]:
        both = _steps(_outside(bands, level, tone), max(3, round(SEEN_MM * bed.px_per_mm)))
        for steps, begins in zip(both, (True, False), strict=True):
            crests = np.flatnonzero((steps[1:-1] > _EDGE) & (steps[1:-1] >= steps[:-2]) & (steps[1:-1] > steps[2:]))
            found += [Edge(bed.mm(float(at) + 1 + left), begins) for at in crests]
    return tuple(found)


def lamp_beside(one: Look, bed: Bed) -> bool:
    """True if the bare lamp shows over the gate's whole height at its left or right side: what lies in it does not
    reach that far."""
    left, top, right, bottom = bed.inner
    bands = one.along[band_range(top, bottom, one.size[1])]
    wide = max(3, round(_SIDE_MM * bed.px_per_mm))
    sides = (bands[:, int(left) : int(left) + wide], bands[:, int(right) - wide : int(right)])
    return any(side.size > 0 and float(side.min()) >= _LAMP for side in sides)


def end_in(one: Look, bed: Bed, film: FilmFormat, tone: Tone) -> End | None:
    """Where the film itself ends in the gate; None where no end is seen. Beyond a strip's end
    the rim above and below the picture shows the lamp: lighter than any film."""
    rim = _rim(one, bed, film)
    if rim is None:
        return None
    step = _END_STEP if tone is Tone.NEGATIVE else 2.0
    columns, light = rim
    dark = light < max(float(light.max()) / step, 1.0)
    if not dark.any() or dark.all():
        return None
    first, last = int(np.argmax(dark)), len(dark) - 1 - int(np.argmax(dark[::-1]))
    # Print in the rim is dark too, but it has light on both sides.
    if first >= _END_BANDS and dark[first:].all():
        return End(bed.mm(float(columns[first])), film_right=True)
    if len(dark) - 1 - last >= _END_BANDS and dark[: last + 1].all():
        return End(bed.mm(float(columns[last + 1])), film_right=False)
    return None


def _rim(one: Look, bed: Bed, film: FilmFormat) -> tuple[NDArray[np.float64], NDArray[np.float32]] | None:
    """Where the bands along the gate begin (px), and the clear film's level in the rim there."""
    left, top, right, bottom = bed.inner
    middle, half = (top + bottom) / 2, (film.across_mm / 2 + _RIM_GAP_MM) * bed.px_per_mm
    columns = band_range(left, right, one.size[0])
    rows = [slice(int(a), int(b)) for a, b in ((top, middle - half), (middle + half, bottom)) if b - a >= 3]
    if not rows:
        return None
    # A third from the bottom: perforations and print leave that much of the rim's height alone.
    levels = [np.percentile(one.across[columns, r], 30, axis=1) for r in rows]
    step = one.size[0] / BANDS
    begins = np.arange(columns.start, columns.stop) * step
    return begins, np.asarray(np.median(levels, axis=0), np.float32)


def _rebate_levels(bands: Bands, tone: Tone) -> list[float]:
    """Levels that may be the rebate's, likeliest first: those that even columns share."""
    low, high = bands.min(axis=0), bands.max(axis=0)
    even = bands.mean(axis=0)[high - low <= _EVEN * high + _BIN]
    if not even.size:
        return []
    counts, edges = np.histogram(even, np.arange(-_BIN, 260.0 + _BIN, _BIN))
    near = np.convolve(counts, [1, 1, 1], "same")
    before, after = np.concatenate([[0], near[:-1]]), np.concatenate([near[1:], [0]])
    crests = np.flatnonzero((near >= 3) & (near >= before) & (near > after))
    peaks = [float(np.median(even[np.abs(even - edges[i] - _BIN / 2) <= 1.5 * _BIN])) for i in crests]
    ordered = sorted(peaks, reverse=tone is Tone.NEGATIVE)
    return ordered[:_CANDIDATES]


def _outside(bands: Bands, level: float, tone: Tone) -> NDArray[np.float32]:
    """For each column the share of its bands that look like rebate of that level, 0 to 1."""
    if tone is Tone.NEGATIVE:
        return np.asarray((bands >= _LIKE * level).mean(axis=0), np.float32)
    share = (bands <= level + _DARK).mean(axis=0)
    return np.asarray(np.where(bands.min(axis=0) >= _LAMP, 1.0, share), np.float32)


def _best(
    outside: NDArray[np.float32], bed: Bed, film: FilmFormat, length_mm: float | None, expected_mm: float | None,
    left: float,
) -> tuple[float, Lying] | None:
    """The best pair of edges with its score."""
    scale, n = bed.px_per_mm, outside.size
    nominal = (length_mm or film.along_mm) * scale
    spread = _SPREAD if bed.sure else _SPREAD_UNSURE
    sizes = np.arange(round(nominal * (1 - spread)), round(nominal * (1 + spread)) + 1)
    sizes = sizes[sizes < n]
    if not sizes.size:
        return None
    rise, fall = _steps(outside, max(3, round(SEEN_MM * scale)))
    first = np.arange(n + 1 - int(sizes[0]))[None, :]
    last = np.minimum(first + sizes[:, None], n)
    cost = (_SIZE_COST if bed.sure else _SIZE_COST / 25) * (sizes[:, None] / nominal - 1) ** 2
    score = rise[first] + fall[last] - cost
    if expected_mm is not None:
        off = (first + sizes[:, None] / 2 + left - bed.middle - expected_mm * scale) / nominal
        score = score - _PLACE_COST * off**2
    score[first + sizes[:, None] > n] = -np.inf
    row, at = np.unravel_index(int(np.argmax(score)), score.shape)
    begin, end = int(at), int(at + sizes[row])
    lying = Lying(bed.mm(begin + left), bed.mm(end + left), float(rise[begin]), float(fall[end]))
    return (float(score[row, at]), lying) if max(lying.left_seen, lying.right_seen) > 0.2 else None


def _steps(outside: NDArray[np.float32], band: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Evidence for a frame that begins, and that ends, before column i (0 .. n): rebate all along a band beyond, much
    less within. Nothing is known of what lies beyond the gate's edge, so an edge there is none."""
    n = outside.size
    sums = np.concatenate([[0.0], np.cumsum(outside, dtype=np.float64)])
    i = np.arange(n + 1)
    low, high = np.maximum(i - band, 0), np.minimum(i + band, n)
    before, after = (sums[i] - sums[low]) / band, (sums[high] - sums[i]) / band
    return np.maximum(before**4 * (before - after), 0.0), np.maximum(after**4 * (after - before), 0.0)
