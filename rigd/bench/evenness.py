"""Even light over the gate, from takes of the empty, lit gate; on linear values."""

from __future__ import annotations

import math
from collections.abc import Sequence

import cv2
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.bench import fadgi
from rigd.bench.values import Figure, Finding, Limit, judged
from rigd.errors import InputError
from rigd.imaging.planes import reduce
from rigd.imaging.raw import Raw

_CELLS = 200
_LIT = 0.5
"""The gate is where more than this share of the middle's light arrives: its edge is far steeper than any lamp's
fall-off."""
_RIM = 2
"""Cells left out along the gate's edge, which throws a shadow."""
_SIGMA = 2.0
"""Cells over which noise and grain of the sensor are smoothed away."""
_DUST = 0.02
"""A cell this far from its surroundings is dust, film or a scratch, and no lamp."""
_DUSTY = 0.002
"""Share of the gate that may be dust: a speck or two do not spoil a smooth fit, film does."""
_LIMIT = Limit(3.0, "%", "FADGI 2016, three stars")


class Light(Struct, frozen=True):
    """The light over the gate. `map` (h, w, 3) float32: shares of the brightest, not a number outside the gate. By
    channel in per cent: how much less light the darkest cell has than the brightest, and that in stops; `noise`: one
    standard uncertainty of these per cents."""

    map: NDArray[np.float32]
    lacks_pct: tuple[float, float, float]
    lacks_stops: tuple[float, float, float]
    noise: float


def light(raws: Sequence[Raw]) -> Light:
    """Measure the light over the gate, from one or more takes.

    Raises:
        InputError: saturated, dark, no lit gate to be seen, or something lies in it.
    """
    small = np.mean([reduce(raw, _CELLS).linear for raw in raws], axis=0)
    gate = _gate(small)
    if small[gate].max() > 0.97:
        raise _unfit("The take is saturated.", "Take it with a shorter time.")
    smooth = _smoothed(small, gate)
    off = np.abs(small[gate] / smooth[gate] - 1.0).max(axis=1)
    if np.mean(off > _DUST) > _DUSTY:
        raise _unfit("Something lies in the gate.", "Take film and dust out of it, and take it again.")
    inside = np.where(gate[:, :, None], smooth, np.nan)
    top = np.nanmax(inside, axis=(0, 1))
    low = np.nanmin(inside, axis=(0, 1)) / top
    noise = 100.0 * float(np.std(off)) / math.sqrt(len(raws) * 4 * math.pi * _SIGMA**2)
    lacks = [float(100 * (1 - share)) for share in low]
    stops = [float(-math.log2(share)) for share in low]
    shares = (inside / top).astype(np.float32)
    return Light(shares, (lacks[0], lacks[1], lacks[2]), (stops[0], stops[1], stops[2]), noise)


def finding(found: Light) -> Finding:
    """How even it is, against FADGI's row."""
    worst = max(found.lacks_pct)
    others = tuple(Figure(f"{name}, less light at the darkest place", value, "%", found.noise)
                   for name, value in zip(("red", "green", "blue"), found.lacks_pct, strict=True))  # fmt: skip
    others += (Figure("the same in stops", max(found.lacks_stops), "stops"),)
    figure = Figure("light lacking at the darkest place of the gate", worst, "%", found.noise)
    return judged("even light", figure, _LIMIT, _advice(found), others, fadgi.grade("evenness", worst))


def turned(straight: Light, lamp_turned: Light) -> tuple[Figure, Figure]:
    """Lamp and lens told apart by a second take with the lamp turned by 180 degrees: (what turned with the lamp, what
    stayed), each as per cent between its brightest and darkest place. What of the lamp is alike after half a turn
    counts as having stayed: more cannot be told from two takes."""
    one, two = np.log(straight.map[:, :, 1]), np.log(lamp_turned.map[:, :, 1])
    moved, stayed = (one - two) / 2, (one + two) / 2
    spans = [float(100 * (1 - math.exp(-float(np.nanmax(part) - np.nanmin(part))))) for part in (moved, stayed)]
    stays = "stays: lens, and what of the lamp is alike"
    return Figure("turns with the lamp", spans[0], "%"), Figure(stays, spans[1], "%")


def _gate(small: NDArray[np.floating]) -> NDArray[np.bool_]:
    height, width = small.shape[:2]
    middle = float(np.median(small[height // 3 : -height // 3, width // 3 : -width // 3, 1]))
    if middle < 0.02:
        raise _unfit("No light comes through the gate.", "Switch the lamp on, take the cap off, use a longer time.")
    lit = (small[:, :, 1] > _LIT * middle).astype(np.uint8)
    core = cv2.erode(lit, np.ones((2 * _RIM + 1, 2 * _RIM + 1), np.uint8))
    count, labels = cv2.connectedComponents(core)
    if count < 2:
        raise _unfit("No gate is to be seen.", "Lay the empty holder under the camera.")
    at = labels[height // 2, width // 2]
    if at == 0:
        raise _unfit("Something lies in the gate.", "Take film and dust out of it, and take it again.")
    return np.asarray(labels == at)


def _smoothed(small: NDArray[np.floating], gate: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Each cell of the gate by a plane through the cells about it that lie in the gate too, weighted by a Gaussian: a
    slope is kept up to the edge, where a mean would pull it in (local linear regression)."""
    height, width = gate.shape
    ys, xs = np.mgrid[0:height, 0:width].astype(np.float64)
    weight = gate.astype(np.float64)
    w, wx, wy, wxx, wxy, wyy = (_blur(weight * f) for f in (1.0, xs, ys, xs * xs, xs * ys, ys * ys))
    # Moments about each cell itself.
    mx, my = wx - xs * w, wy - ys * w
    mxx, myy = wxx - 2 * xs * wx + xs * xs * w, wyy - 2 * ys * wy + ys * ys * w
    mxy = wxy - xs * wy - ys * wx + xs * ys * w
    normal = np.stack([w, mx, my, mx, mxx, mxy, my, mxy, myy], -1).reshape(height, width, 3, 3)
    result = np.zeros((height, width, small.shape[2]))
    for channel in range(small.shape[2]):
        value = small[:, :, channel] * weight
        v, vx, vy = (_blur(value * f) for f in (1.0, xs, ys))
        right = np.stack([v, vx - xs * v, vy - ys * v], -1)
        result[gate, channel] = np.linalg.solve(normal[gate], right[gate][:, :, None])[:, 0, 0]
    return result


def _blur(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(cv2.GaussianBlur(values, (0, 0), _SIGMA, borderType=cv2.BORDER_CONSTANT), np.float64)


def _advice(found: Light) -> str:
    """Which side is dark, as seen in the picture."""
    green = found.map[:, :, 1]
    ys, xs = np.nonzero(np.isfinite(green))
    values = green[ys, xs]
    x, y = (np.polyfit(places - places.mean(), values, 1)[0] * np.ptp(places) for places in (xs, ys))
    if max(abs(x), abs(y)) < 0.3 * (values.max() - values.min()):
        return "It falls off on all sides: move the lamp further from the film, or close the lens by a stop."
    side = ("left" if x > 0 else "right") if abs(x) >= abs(y) else ("top" if y > 0 else "bottom")
    return f"The {side} of the picture is darkest: shift the lamp that way."


def _unfit(what: str, remedy: str) -> InputError:
    return InputError(what, "Evenness is measured on the empty, lit gate.", remedy)
