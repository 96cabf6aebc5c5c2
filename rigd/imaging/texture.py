"""A picture's finest texture in few numbers: how fast it falls off, whether it leans one way, how strong it is."""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.fine import RINGS, SECTORS, Fine
from rigd.imaging.grain import KEPT, Grain, grain

# Rings where grain outweighs a picture's own detail, and the wider set for when it is weak there.
_TOP, _WIDER = (3, 4), (2, 3, 4)
# The share of tiles with the flattest spectra: those that show grain rather than things.
_FLATTEST = 0.7
# A mean that is not so many times its error was not measured.
_MEASURED = 3.0
# Errors under this are not believed.
_LEAST_ERROR = 0.03
# No sensor is freer of noise than this; a drawn picture may be.
_NO_NOISE = 1e-12
# A sector that stands out from the others by this (in nepers) holds an edge of the picture: it is left out.
_EDGE = 0.12

Array = NDArray[np.float64]


class Texture(Struct, frozen=True):
    """`fall`: variance of the Gaussian that would make white grain fall off like this, in px squared (blur, grain
    size and picture together), in each tile's quieter directions; `least_fall`: in the louder directions of all;
    `lean`: difference of that variance between two directions, as (cos, sin) of twice the angle of the blurrier one;
    None where they could not be measured. `wide`: True where the lean was read from the wider set of rings. `seen`:
    how far the power at the top stands out of the noise (in errors), in three tiles of four at least; `power` at the
    top, in two of three at least. `tiles`: float32 triples (level for 1 s, power at the top in the quieter
    directions, its error) of each tile. `grain`: how blurred the grain is by likelihood."""

    fall: float | None
    least_fall: float | None
    lean: tuple[float, float] | None
    wide: bool
    seen: float
    power: float
    tiles: bytes
    grain: Grain | None = None

    def table(self) -> NDArray[np.float32]:
        """The tiles as (n, 3)."""
        return np.frombuffer(self.tiles, np.float32).reshape(-1, 3)


def texture(fine: Fine, seconds: float, px_per_mm: float) -> Texture:
    """Sum a fine measurement up; `seconds` of exposure turn levels into the film's transmittance."""
    power = fine.power.reshape(-1, len(RINGS), SECTORS)[:, :, KEPT]
    noise = fine.noise.reshape(-1, len(RINGS), SECTORS)[:, :, KEPT]
    flattest = _flattest(power, fine.low)
    lean = _lean(power[flattest], _TOP)
    wide = lean is None
    lean = _lean(power[flattest], _WIDER) if wide else lean
    quiet, loud, error = _top_power(power, noise)
    table = np.stack([fine.level - np.log2(seconds), quiet, error], axis=1).astype(np.float32)
    seen, strong = np.percentile(loud / error, 25), np.percentile(loud, 33)
    quieter = np.sort(power[flattest], axis=2)[:, :, : len(KEPT) - 2]
    loudest = np.argsort(np.median(power[flattest][:, 2:], axis=(0, 1)))[len(KEPT) // 2 :]
    falls = _fall(quieter), _fall(power[flattest][:, :, loudest])
    return Texture(falls[0], falls[1], lean, wide, float(seen), float(strong), table.tobytes(), grain(fine, px_per_mm))


def _top_power(power: Array, noise: Array) -> tuple[Array, Array, Array]:
    """The power of each tile at the top rings in the quieter and the louder half of directions, and the error of
    either by noise."""
    half = len(KEPT) // 2
    top = np.sort(power[:, _TOP].mean(axis=1), axis=1)
    error = np.maximum(np.sqrt((noise[:, _TOP] ** 2).mean(axis=(1, 2)) / (len(_TOP) * half)), _NO_NOISE)
    return top[:, :half].mean(axis=1), top[:, half:].mean(axis=1), error


def _flattest(power: Array, low: Array) -> NDArray[np.intp]:
    steep = low / np.maximum(power[:, 1:3].mean(axis=(1, 2)), 1e-7)
    return np.argsort(steep)[: max(12, int(len(steep) * _FLATTEST))]


def _middle(values: Array) -> tuple[Array, Array]:
    """Median over tiles and its error (1.25 sigma over root n for Gaussian scatter)."""
    middle = np.median(values, axis=0)
    spread = 1.4826 * np.median(np.abs(values - middle), axis=0)
    return middle, 1.25 * spread / np.sqrt(len(values))


def _lean(power: Array, rings: tuple[int, ...]) -> tuple[float, float] | None:
    """The second harmonic of the log power over direction. Blur of variance v in a direction takes
    4 pi^2 f^2 v off it there, so a difference of 1 px^2 swings it by 2 pi^2 f^2."""
    scale = np.maximum(np.median(power[:, 2:], axis=(1, 2)), 1e-9)[:, None]
    turn = 2 * np.pi * np.array(KEPT) / SECTORS
    terms = np.stack([np.ones(len(KEPT)), np.cos(turn), np.sin(turn)], axis=1)
    total, weight = np.zeros(2), 0.0
    for ring in rings:
        middle, error = _middle(power[:, ring] / scale)
        seen = middle > _MEASURED * error
        if seen.sum() < len(KEPT) // 2:
            continue
        # A direction that is lost has no more power than its error.
        middle = np.maximum(middle, error)
        trust = np.where(seen, 1 / np.maximum(error / middle, _LEAST_ERROR), 1.0)
        swing = 2 * np.pi**2 * _frequency(ring) ** 2
        total += swing**2 * -_without_edge(terms, np.log(middle), trust)[1:] / swing
        weight += swing**2
    return (float(total[0] / weight), float(total[1] / weight)) if weight else None


def _without_edge(terms: Array, logs: Array, trust: Array) -> NDArray[np.floating]:
    """Least squares, once more without the direction that stands out most."""
    found = np.linalg.lstsq(terms * trust[:, None], logs * trust, rcond=None)[0]
    off = logs - terms @ found
    if off.max() > _EDGE:
        kept = np.arange(logs.size) != int(np.argmax(off))
        found = np.linalg.lstsq(terms[kept] * trust[kept, None], logs[kept] * trust[kept], rcond=None)[0]
    return found


def _fall(power: Array) -> float | None:
    """How fast the power falls off from ring to ring, as a Gaussian's variance."""
    rings = power.mean(axis=2)
    rings = rings / np.maximum(rings[:, 1:3].mean(axis=1, keepdims=True), 1e-9)
    middle, error = _middle(rings)
    seen = np.flatnonzero((np.arange(len(RINGS)) > 0) & (middle > _MEASURED * error))
    if seen.size < 3:
        return None
    squares = np.array([_frequency(int(r)) ** 2 for r in seen])
    trust = 1 / np.maximum(error[seen] / middle[seen], _LEAST_ERROR)
    terms = np.stack([np.ones(seen.size), -4 * np.pi**2 * squares], axis=1)
    return float(np.linalg.lstsq(terms * trust[:, None], np.log(middle[seen]) * trust, rcond=None)[0][1])


def _frequency(ring: int) -> float:
    low, high = RINGS[ring]
    return (low + high) / 2
