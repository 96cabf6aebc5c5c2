"""Dirt that lies in the holder's opening: it stops light, whatever film lies under it, and stays where it is."""

from __future__ import annotations

import cv2
import numpy as np

from rigd_sim.scene.planes import SUB_PIXEL, Bytes, Floats
from rigd_sim.scene.spec import SceneSpec

HAIR_MM = 0.06
"""Thickness of a hair (a human hair is 0.05 to 0.1 mm)."""


def lay_dirt(mask: Bytes, spec: SceneSpec, scale: float, half_mm: tuple[float, float], view: Floats) -> None:
    """Darkens the gate's mask (H, W) where dirt lies. `half_mm`: half the opening along, and half the picture across;
    `view`: from film mm to sensor px."""
    rng = np.random.default_rng([spec.seed, 71])
    if spec.gate_hair_mm > 0:
        points = _seen(_hair(spec.gate_hair_mm, half_mm, rng), view)
        thick = max(1, round(HAIR_MM * scale))
        cv2.polylines(mask, [points], False, 0, thick, cv2.LINE_AA, SUB_PIXEL)
    if spec.gate_speck_mm > 0:
        cv2.fillPoly(mask, [_seen(_speck(spec.gate_speck_mm, half_mm, rng), view)], 0, cv2.LINE_AA, SUB_PIXEL)


def _hair(length: float, half: tuple[float, float], rng: np.random.Generator) -> Floats:
    """From the picture's lower edge inwards, bending all the way (mm, 40 x 2)."""
    steps = np.linspace(0.0, 1.0, 40)
    heading = np.radians(rng.uniform(-115, -65)) + np.cumsum(np.full(40, rng.uniform(-0.05, 0.05)))
    path = np.cumsum(np.stack([np.cos(heading), np.sin(heading)], 1), axis=0) * (length * steps[1])
    placed: Floats = path + np.array([half[0] * rng.uniform(-0.6, 0.6), half[1]])
    return placed


def _speck(width: float, half: tuple[float, float], rng: np.random.Generator) -> Floats:
    angle = np.sort(rng.uniform(0, 2 * np.pi, 11))
    radius = rng.uniform(0.8, 1.2, 11) * width / 2
    middle = np.array(half) * rng.uniform(-0.6, 0.6, 2)
    return middle + np.stack([np.cos(angle), np.sin(angle)], 1) * radius[:, None]


def _seen(points: Floats, view: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.int32]]:
    seen = cv2.perspectiveTransform(points[None], view)[0]
    return np.asarray(np.round(seen * (1 << SUB_PIXEL)), np.int32)
