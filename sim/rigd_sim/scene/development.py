"""The development: exposure codes become density codes through the stock's curves, with fog and grain."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from rigd_sim.scene.curve import Stock, picture_exposure
from rigd_sim.scene.noise import grain_tile, tiled
from rigd_sim.scene.planes import Bytes, Floats, as_bytes, looked_up
from rigd_sim.scene.roll import Frame

GRAIN_TILE = 1024
CLUMP_MM = 0.005
"""Sigma of a grain clump."""
_APERTURE_MM2 = math.pi * 0.024**2  # the 48 um aperture that granularity is given for
_BASE_GRAIN = 0.22
"""Grain of base + fog against that at density 1.0."""
_FOG_STEPS = 128


class Developer:
    """Develops the cells of one roll at one scale."""

    def __init__(self, stock: Stock, px_per_mm: float, grain: float, seed: int) -> None:
        self._stock = stock
        self._tile = grain_tile(seed, GRAIN_TILE, CLUMP_MM * px_per_mm)
        self._rms = grain * granularity_per_px(stock.granularity, px_per_mm)

    def develop(self, exposed: tuple[Bytes, ...], frame: Frame, left: int) -> tuple[Bytes, ...]:
        """Density codes, a (H, W) uint8 plane a layer; grain is fixed to the strip, where the cell begins at `left`."""
        height, width = exposed[0].shape
        planes = tuple(np.empty((height, width), np.uint8) for _ in self._stock.layers)
        for begin, end, fog in fog_bands(width, frame.spec.struck, frame.spec.fog_share):
            for layer, (codes, plane) in enumerate(zip(exposed, planes, strict=True)):
                self._band(codes[:, begin:end], plane[:, begin:end], layer, frame.stops, fog, left + begin)
        return planes

    def _band(self, exposed: Bytes, out: Bytes, layer: int, stops: float, fog: float, column: int) -> None:
        """Develops some columns of a layer, in rows that fit the grain's tile."""
        density = self._densities(layer, stops, fog)
        mean = (density / self._stock.step).astype(np.float32)
        rough = (self._rms / self._stock.step * self._roughness(density, layer)).astype(np.float32)
        grain = tiled(self._tile, GRAIN_TILE, exposed.shape[1], 337 * layer, column + 611 * layer)
        for row in range(0, exposed.shape[0], GRAIN_TILE):
            codes = exposed[row : row + GRAIN_TILE]
            density_codes = looked_up(codes, rough) * grain[: len(codes)] + looked_up(codes, mean)
            out[row : row + GRAIN_TILE] = np.maximum(as_bytes(density_codes), 1)

    def _densities(self, layer: int, stops: float, fog: float) -> Floats:
        """Density of each of the 256 exposure codes; code 0 saw nothing but the fog."""
        curve = self._stock.layers[layer]
        density = curve.density(picture_exposure(stops, fog))
        density[0] = curve.density(np.log10(np.array([max(fog, 1e-9)])))[0]
        return density

    def _roughness(self, density: Floats, layer: int) -> Floats:
        """How grain goes with density: as its root above the clearest part, 1 at density 1.0 above it."""
        above = np.maximum(density - self._stock.layers[layer].low, 0.0)
        result: Floats = np.sqrt(_BASE_GRAIN**2 + (1 - _BASE_GRAIN**2) * above)
        return result


def granularity_per_px(granularity: float, px_per_mm: float) -> float:
    """Rms density of one pixel at density 1.0 (Selwyn: rms x root of the area is constant, if it holds many clumps)."""
    area = 1.0 / px_per_mm**2 + 4.0 * math.pi * CLUMP_MM**2
    return granularity / 1000.0 * math.sqrt(_APERTURE_MM2 / area)


def fog_bands(width: int, fog: float, share: float) -> list[tuple[int, int, float]]:
    """(first column, last column + 1, fog) over a cell: all of it, or fading out after `share` of the width.

    At the cell's ends, in the gaps, the light fades too: it struck this frame and not its neighbours.
    """
    if fog <= 0.0:
        return [(0, width, 0.0)]
    edges = np.unique(np.linspace(0, width, _FOG_STEPS + 1).astype(int))
    place = (edges[:-1] + edges[1:]) / 2 / width
    faded = np.clip((np.abs(place - 0.5) - 0.47) / 0.03, 0.0, 1.0)
    if share < 1.0:
        faded = np.maximum(faded, np.clip((place - share * 0.6) / (share * 0.6 + 1e-6), 0.0, 2.0))
    strength = fog * 10.0 ** (-3.0 * faded)
    bands = zip(pairwise(edges.tolist()), strength.tolist(), strict=True)
    return [(begin, end, light) for (begin, end), light in bands]
