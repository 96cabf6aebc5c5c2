"""Hairs and large specks that lie in the gate: opaque, narrow, alone; and interference rings under glass."""

from __future__ import annotations

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.planes import Box
from rigd.imaging.raw import Raw

# Dirt stops all light, film hardly ever does: what is darker by this (stops) than all but so much (per cent) of the
# picture is dirt. The darkest of some pixels is that much darker by grain and noise alone.
_DARKER, _ALL_BUT = 1.3, 0.3
# Deeper than this the noise is as deep as dirt: nothing is said.
_DEEPEST = -7.0
# A hair is as long, a speck as wide as this (mm). Dust on blown film is half as large; a
# speck of fewer pixels of one colour cannot be measured.
_HAIR_MM, _SPECK_MM, _SPECK_PX = 2.5, 0.45, 7
# A hair is 0.05 to 0.1 mm thick: pixels so far apart cannot miss it.
_SAMPLE_MM = 0.04
# A hair's length goes so many times into its area's root.
_THIN = 2.5
# More of the picture than this is no dirt but the holder (share).
_MOST = 0.02

Levels = NDArray[np.float32]


class Dirt(Struct, frozen=True):
    """`hair` True for a hair, False for a speck; `mm` its length or width; `x`, `y` its middle, in shares of the box
    that was looked at."""

    hair: bool
    mm: float
    x: float
    y: float

    @property
    def words(self) -> str:
        """One plain sentence."""
        name = f"A hair of about {self.mm:.0f} mm" if self.hair else f"A speck of about {self.mm:.1f} mm"
        return f"{name} lies on the film or in the gate, {_where(self.x, self.y)}."


def dirt(raw: Raw, box: Box, levels: Levels, px_per_mm: float) -> list[Dirt]:
    """Hairs and specks within a picture's `box`, the largest first; `levels` (h, w): the reduced picture in stops. None
    are told where the picture is as black as they are, as slides often are."""
    dark = float(np.percentile(levels[::2, ::2], _ALL_BUT)) if levels.size else -99.0
    if dark < _DEEPEST:
        return []
    place = raw.pattern.index(1)
    left, top, right, bottom = box
    every = 2 * max(1, round(px_per_mm / 2 * _SAMPLE_MM))
    plane = raw.mosaic[top + place // 2 : bottom : every, left + place % 2 : right : every]
    black = raw.black[place] + 2.0 ** (dark - _DARKER) * (raw.white - raw.black[place])
    mask = np.asarray(cv2.inRange(plane, 0, black), np.uint8)
    if cv2.countNonZero(mask) > _MOST * mask.size:
        return []
    # Joined over single light pixels, as noise leaves them.
    joined = cv2.dilate(mask, np.ones((3, 3), np.uint8))
    _, _, stats, middles = cv2.connectedComponentsWithStats(joined, connectivity=8)
    patches = zip(stats[1:], middles[1:], strict=True)
    found = [d for s, m in patches if (d := _seen(s, m, mask.shape, px_per_mm / every))]
    return sorted(found, key=lambda d: -d.mm)


def _seen(
    stats: NDArray[np.int32], middle: NDArray[np.float64], shape: tuple[int, ...], mm: float
) -> Dirt | None:
    """A joined patch as dirt, `mm` its pixels a millimetre; joining made it a pixel wider all round."""
    width, height, area = int(stats[2]) - 2, int(stats[3]) - 2, float(stats[4])
    length, root = float(np.hypot(width, height)), area**0.5 - 2
    x, y = float(middle[0]) / shape[1], float(middle[1]) / shape[0]
    if length >= _HAIR_MM * mm and length > _THIN * root:
        return Dirt(True, length / mm, x, y)
    return Dirt(False, root / mm, x, y) if root >= max(_SPECK_PX, _SPECK_MM * mm) else None


def _where(x: float, y: float) -> str:
    down = "upper" if y < 1 / 3 else "lower" if y > 2 / 3 else ""
    across = "left" if x < 1 / 3 else "right" if x > 2 / 3 else ""
    if down and across:
        return f"{down} {across}"
    return f"{down or across} side" if down or across else "near the middle"


# Rings are looked for on a copy with blocks about so large, and in ripples of at least this strength.
_BLOCK_MM, _COARSE_MM = 0.22, 1.6
# Ripples fainter than this (stops) are grain's and noise's.
_CALM = 0.03
# The picture is compared with itself moved by this and by twice this.
_MOVED_MM = 1.4
# A peak so many times the middle of the spectrum, and twice as far out for twice the move, is rings.
_PEAK, _AGREE = 5.5, 0.15
# Slower than this (a mm) is no ring's beat, but the picture's own shading.
_SLOWEST = 0.12


def has_rings(levels: Levels, mm: float) -> bool:
    """True if interference rings lie over the picture. The gap between film and glass is a bowl, so the light's phase
    grows with the square of the distance: times itself moved by d, it beats at a frequency that goes with d, the same
    everywhere. Nothing that a picture holds does that."""
    scale = min(1.0, 1 / (_BLOCK_MM * mm))
    size = (max(1, round(levels.shape[1] * scale)), max(1, round(levels.shape[0] * scale)))
    if min(size) < 48:
        return False
    small = np.asarray(cv2.resize(levels, size, interpolation=cv2.INTER_AREA), np.float32)
    wide = max(3, round(_COARSE_MM * mm * scale)) | 1
    ripple = small - cv2.blur(small, (wide, wide))
    # Busy parts of the picture count no more than calm ones.
    ripple = np.clip(ripple / np.maximum(cv2.sqrt(cv2.blur(ripple**2, (wide, wide))), _CALM), -2.0, 2.0)
    per_mm = mm * scale
    by = max(1, round(_MOVED_MM * per_mm))
    return all(_beats(np.ascontiguousarray(way), by, per_mm) for way in (ripple, ripple.T))


def _beats(ripple: Levels, by: int, per_mm: float) -> bool:
    """True if a move along x beats at one frequency, and twice the move at twice that."""
    near, far = _beat(ripple, by, per_mm), _beat(ripple, 2 * by, per_mm)
    if near is None or far is None:
        return False
    off = np.array(far) - 2 * np.array(near)
    return float(np.hypot(*off)) < _AGREE * float(np.hypot(*far))


def _beat(ripple: Levels, by: int, per_mm: float) -> tuple[float, float] | None:
    """The one frequency (a mm, along x and y) at which a picture beats with itself moved by so many blocks."""
    product = ripple[:, by:] * ripple[:, :-by]
    height, width = product.shape
    product = product - cv2.blur(product, (31, 31))
    window = np.hanning(height)[:, None] * np.hanning(width)[None, :]
    spectrum = np.abs(np.fft.rfft2(product * window))
    fy, fx = np.fft.fftfreq(height)[:, None] * per_mm, np.fft.rfftfreq(width)[None, :] * per_mm
    away = np.hypot(fx, fy) > _SLOWEST
    strengths = np.where(away, spectrum, 0.0)
    at = np.unravel_index(int(np.argmax(strengths)), strengths.shape)
    if strengths[at] < _PEAK * float(np.median(spectrum[away])):
        return None
    sign = 1.0 if fy[at[0], 0] >= 0 or fx[0, at[1]] > 0 else -1.0
    return sign * float(fx[0, at[1]]), sign * float(fy[at[0], 0])
