"""Seven kinds of picture, and which frame of a roll has which."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from rigd_sim.scene.pictures.canvas import Canvas, grey
from rigd_sim.scene.pictures.nature import far_shore, gulls, sea, sky
from rigd_sim.scene.pictures.papers import chart, soundings_board, tide_staff
from rigd_sim.scene.pictures.ships import ship
from rigd_sim.scene.pictures.works import bollard, crane, crate, lattice, paving, rope, warehouse
from rigd_sim.scene.planes import Bytes, resized

Scene = Callable[[Canvas, np.random.Generator], None]


def draw_picture(seed: int, number: int, height: int, width: int, channels: int) -> Bytes:
    """Picture codes (h, w, channels) uint8, log luminance, of that frame of that roll; channels is 1 or 3.

    The same seed and number give the same picture at any size. Neighbours on a roll are of different kinds.
    """
    canvas = Canvas(height, width, channels)
    order = np.random.default_rng([seed, 42]).permutation(len(SCENES))
    rng = np.random.default_rng([seed, 41, number])
    SCENES[order[number % len(SCENES)]](canvas, rng)
    _vignette(canvas, rng.uniform(10, 20))
    return canvas.codes


def _vignette(canvas: Canvas, corner: float) -> None:
    """The taking lens darkens the corners by that many codes (100 codes are a decade of light)."""
    y, x = np.mgrid[-1.0:1.0:64j, -1.0:1.0:64j]
    small = (128 - corner * (x * x + y * y) / 2).astype(np.float32)
    change = resized(small, canvas.width, canvas.height).astype(np.uint8)
    canvas.change(change)


def _basin(canvas: Canvas, rng: np.random.Generator) -> None:
    """The harbour basin: far shore, ships, cranes, the quay's edge before us."""
    horizon = rng.uniform(0.36, 0.5)
    sky(canvas, rng, horizon)
    far_shore(canvas, rng, horizon)
    sea(canvas, rng, horizon)
    gulls(canvas, rng, horizon)
    for n in range(int(rng.integers(1, 4))):
        length = rng.uniform(0.25, 0.5) * (1 + 0.4 * n)
        ship(canvas, rng, rng.uniform(-0.1, canvas.aspect - 0.2), horizon + 0.04 + 0.07 * n, length)
    for n in range(int(rng.integers(1, 4))):
        crane(canvas, rng, canvas.aspect * rng.uniform(0.05, 0.95), horizon + 0.12 + 0.03 * n, rng.uniform(0.35, 0.6))
    edge = rng.uniform(0.82, 0.9)
    paving(canvas, rng, edge, 1.02, canvas.aspect * rng.uniform(0.2, 0.8))
    at = rng.uniform(0.1, 0.3)
    for n in range(4):
        bollard(canvas, at + n * 0.42, edge + 0.05, 0.06)
        rope(canvas, (at + n * 0.42, edge + 0.01), (at + n * 0.42 + rng.uniform(-0.5, 0.5), horizon + 0.1), 0.06, 0.004)


def _quay(canvas: Canvas, rng: np.random.Generator) -> None:
    """Along the quay: stores on one side, cranes, goods, paving towards us."""
    ground = rng.uniform(0.55, 0.66)
    sky(canvas, rng, ground)
    gulls(canvas, rng, ground * 0.7)
    x = -0.1
    while x < canvas.aspect * rng.uniform(0.5, 0.8):
        wide, tall = rng.uniform(0.28, 0.5), rng.uniform(0.25, 0.42)
        warehouse(canvas, rng, x, ground, wide, tall)
        x += wide * 1.02
    for n in range(int(rng.integers(1, 3))):
        crane(canvas, rng, canvas.aspect * rng.uniform(0.55, 0.95), ground + 0.04 * n, rng.uniform(0.5, 0.75))
    paving(canvas, rng, ground, 1.02, canvas.aspect * rng.uniform(0.4, 0.9))
    for _ in range(int(rng.integers(8, 26))):
        depth = rng.uniform(0.1, 1.0) ** 2
        size = 0.03 + 0.13 * depth
        tone = rng.uniform(0.12, 0.45)
        crate(
            canvas,
            rng.uniform(0, canvas.aspect),
            ground + 0.25 * depth - size * 0.6 + 0.03,
            size,
            size * 0.7,
            (tone, tone * 0.82, tone * 0.55),
        )


def _alongside(canvas: Canvas, rng: np.random.Generator) -> None:
    """One ship close by, larger than the frame."""
    horizon = rng.uniform(0.4, 0.5)
    sky(canvas, rng, horizon)
    far_shore(canvas, rng, horizon)
    sea(canvas, rng, horizon)
    length = canvas.aspect * rng.uniform(0.85, 1.35)
    ship(canvas, rng, canvas.aspect * rng.uniform(-0.25, 0.08), rng.uniform(0.7, 0.82), length)
    gulls(canvas, rng, horizon)


def _steelwork(canvas: Canvas, rng: np.random.Generator) -> None:
    """A crane's lattice close up against the sky."""
    sky(canvas, rng, 1.0)
    for _ in range(int(rng.integers(3, 6))):
        start = (rng.uniform(-0.2, canvas.aspect * 0.6), rng.uniform(0.6, 1.2))
        end = (rng.uniform(canvas.aspect * 0.3, canvas.aspect * 1.2), rng.uniform(-0.2, 0.4))
        tone = rng.uniform(0.03, 0.16)
        lattice(
            canvas,
            start,
            end,
            rng.uniform(0.1, 0.25),
            rng.uniform(0.04, 0.15),
            int(rng.integers(8, 18)),
            (tone, tone * 0.95, tone * 0.8),
            rng.uniform(0.006, 0.016),
        )
    crane(canvas, rng, canvas.aspect * rng.uniform(0.3, 0.7), 1.05, rng.uniform(0.9, 1.3))
    for _ in range(12):
        x = rng.uniform(0, canvas.aspect)
        canvas.line([(x, -0.05), (x + rng.normal(0, 0.3), 1.05)], rng.uniform(0.0006, 0.003), grey(0.03))


def _staff(canvas: Canvas, rng: np.random.Generator) -> None:
    """The tide staff at the quay wall."""
    water = rng.uniform(0.7, 0.85)
    tide_staff(canvas, rng, water)
    sea(canvas, rng, water)


SCENES: tuple[Scene, ...] = (_basin, soundings_board, _quay, _steelwork, _alongside, chart, _staff)
