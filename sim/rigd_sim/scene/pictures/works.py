"""What stands on a quay: cranes, warehouses, paving, bollards, goods."""

from __future__ import annotations

import numpy as np

from rigd_sim.scene.pictures.canvas import Canvas, Paint, Point, dimmed, grey

_STEEL: tuple[Paint, ...] = ((0.09, 0.10, 0.11), (0.30, 0.22, 0.06), (0.12, 0.20, 0.18), (0.33, 0.10, 0.07))
_WALLS: tuple[Paint, ...] = (
    (0.30, 0.15, 0.11),
    (0.42, 0.36, 0.28),
    (0.5, 0.48, 0.44),
    (0.22, 0.12, 0.09),
    (0.36, 0.38, 0.40),
)
_SIGNS = (
    "HARBOUR OFFICE",
    "STORE No 4",
    "CUSTOMS",
    "ROPE & SAIL",
    "COLD STORE",
    "PILOTS",
    "QUAY B",
    "SALT",
    "COAL",
    "TIDE HOUSE",
)


def lattice(
    canvas: Canvas, start: Point, end: Point, wide: float, narrow: float, bays: int, paint: Paint, bar: float
) -> None:
    """A lattice girder between two points, tapering, with crossed braces."""
    a, b = np.array(start), np.array(end)
    normal = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
    t = np.linspace(0, 1, bays + 1)[:, None]
    half = (wide + (narrow - wide) * t) / 2
    upper, lower = a + (b - a) * t + normal * half, a + (b - a) * t - normal * half
    for chord in (upper, lower):
        canvas.line(chord, bar * 1.6, paint)
    for n in range(bays):
        canvas.line([tuple(upper[n]), tuple(lower[n + 1])], bar, paint)
        canvas.line([tuple(lower[n]), tuple(upper[n + 1])], bar, paint)
        canvas.line([tuple(upper[n]), tuple(lower[n])], bar, paint)


def crane(canvas: Canvas, rng: np.random.Generator, x: float, ground: float, size: float) -> None:
    """A portal crane: legs, cab, lattice jib, ropes and hook."""
    paint, bar = _STEEL[int(rng.integers(len(_STEEL)))], size * 0.006
    way = 1 if rng.random() < 0.5 else -1
    deck = ground - size * 0.38
    for foot in (-0.17, 0.17):
        lattice(
            canvas, (x + size * foot, ground), (x + size * foot * 0.6, deck), size * 0.05, size * 0.04, 8, paint, bar
        )
        canvas.box(x + size * foot - size * 0.04, ground - size * 0.02, size * 0.08, size * 0.022, grey(0.06))
    canvas.box(x - size * 0.13, deck - size * 0.025, size * 0.26, size * 0.035, paint)
    cab = (x - size * 0.08, deck - size * 0.15)
    canvas.box(*cab, size * 0.17, size * 0.125, dimmed(paint, 2.2))
    canvas.mottle([cab, (cab[0] + size * 0.17, cab[1]), (cab[0] + size * 0.17, deck), (cab[0], deck)], 11, 6)
    for n in range(4):
        canvas.box(
            cab[0] + size * (0.012 + 0.04 * n), cab[1] + size * 0.02, size * 0.028, size * 0.045, (0.05, 0.06, 0.08)
        )
    tip = (x + way * size * rng.uniform(0.45, 0.7), deck - size * rng.uniform(0.35, 0.6))
    lattice(canvas, (x + way * size * 0.06, deck - size * 0.1), tip, size * 0.07, size * 0.02, 22, paint, bar * 0.8)
    peak = (x - way * size * 0.05, deck - size * 0.32)
    canvas.line([(x - size * 0.05, deck - size * 0.14), peak, (x + size * 0.05, deck - size * 0.14)], bar * 1.6, paint)
    for n in range(3):
        canvas.line([peak, (tip[0] - way * size * 0.05 * n, tip[1] + size * 0.045 * n)], bar * 0.35, grey(0.05))
    hook = (tip[0], tip[1] + size * rng.uniform(0.15, 0.45))
    canvas.line([tip, hook], bar * 0.4, grey(0.04))
    canvas.disc(hook[0], hook[1], size * 0.012, grey(0.04))
    _load(canvas, rng, hook, size)


def _load(canvas: Canvas, rng: np.random.Generator, hook: Point, size: float) -> None:
    if rng.random() < 0.5:
        wide = size * 0.09
        canvas.line(
            [(hook[0] - wide / 2, hook[1] + size * 0.06), hook, (hook[0] + wide / 2, hook[1] + size * 0.06)],
            0.001,
            grey(0.05),
        )
        crate(canvas, hook[0] - wide / 2, hook[1] + size * 0.06, wide, wide * 0.6, (0.33, 0.26, 0.16))


def crate(canvas: Canvas, x: float, y: float, wide: float, tall: float, paint: Paint) -> None:
    """A slatted box with its upper left at (x, y)."""
    canvas.box(x, y, wide, tall, paint)
    dark = dimmed(paint, 0.45)
    for n in range(1, 6):
        canvas.line([(x, y + tall * n / 6), (x + wide, y + tall * n / 6)], 0.0008, dark)
    for edge in (0.05, 0.5, 0.95):
        canvas.line([(x + wide * edge, y), (x + wide * edge, y + tall)], wide * 0.05, dimmed(paint, 0.8))


def warehouse(canvas: Canvas, rng: np.random.Generator, x: float, ground: float, wide: float, tall: float) -> None:
    """A gabled or flat-fronted store: brick courses, windows with bars, doors, a painted sign."""
    wall = _WALLS[int(rng.integers(len(_WALLS)))]
    top = ground - tall
    front = [(x, ground), (x, top), (x + wide, top), (x + wide, ground)]
    canvas.polygon(front, wall)
    if rng.random() < 0.6:
        roof = [(x - wide * 0.02, top), (x + wide / 2, top - wide * 0.22), (x + wide * 1.02, top)]
        canvas.polygon(roof, (0.16, 0.10, 0.09))
        canvas.mottle(roof, int(rng.integers(1000)), 8)
    canvas.mottle(front, int(rng.integers(1000)), 8)
    for y in np.arange(top, ground, max(tall / 90, 0.0022)):
        canvas.line([(x, y), (x + wide, y)], 0.0004, dimmed(wall, 0.8))
    _windows(canvas, rng, x, top, wide, tall)
    canvas.box(x + wide * 0.1, top + tall * 0.03, wide * 0.8, tall * 0.1, grey(0.62))
    sign = _SIGNS[int(rng.integers(len(_SIGNS)))]
    canvas.text(sign, x + wide * 0.14, top + tall * 0.11, min(tall * 0.055, wide * 0.9 / len(sign)), grey(0.06))
    canvas.box(x + wide * 0.38, ground - tall * 0.2, wide * 0.24, tall * 0.2, (0.14, 0.17, 0.13))
    for n in range(7):
        at = x + wide * (0.385 + 0.034 * n)
        canvas.line([(at, ground), (at, ground - tall * 0.2)], 0.0006, grey(0.05))


def _windows(canvas: Canvas, rng: np.random.Generator, x: float, top: float, wide: float, tall: float) -> None:
    columns, rows = int(rng.integers(4, 9)), int(rng.integers(2, 5))
    w, h = wide / columns * 0.5, tall * 0.62 / rows * 0.6
    for row in range(rows):
        for column in range(columns):
            left = x + wide / columns * (column + 0.25)
            y = top + tall * (0.17 + 0.62 * row / rows)
            lit = 0.5 if rng.random() < 0.12 else rng.uniform(0.02, 0.08)
            canvas.box(left - w * 0.08, y - h * 0.06, w * 1.16, h * 1.12, grey(0.5))
            canvas.box(left, y, w, h, (lit * 0.9, lit, lit * 1.15))
            for n in (1, 2):
                canvas.line([(left + w * n / 3, y), (left + w * n / 3, y + h)], w * 0.05, grey(0.5))
                canvas.line([(left, y + h * n / 3), (left + w, y + h * n / 3)], w * 0.05, grey(0.5))


def paving(canvas: Canvas, rng: np.random.Generator, top: float, bottom: float, vanish: float) -> None:
    """A quay's stones in perspective, from `top` down, lines running to (vanish, top)."""
    area = [(0.0, top), (canvas.aspect, top), (canvas.aspect, bottom), (0.0, bottom)]
    stone = rng.uniform(0.2, 0.32)
    canvas.polygon(area, (stone, stone * 0.97, stone * 0.9))
    canvas.mottle(area, int(rng.integers(1000)), 11)
    rows = top + (bottom - top) * (0.86 ** np.arange(0, 26))
    for y in rows:
        canvas.line([(0, y), (canvas.aspect, y)], 0.0022 * (y - top) / (bottom - top) + 0.0003, grey(stone * 0.4))
    for n in range(-36, 37):
        foot = vanish + n * 0.14 * (bottom - top) / 0.3
        canvas.line(
            [(vanish + (foot - vanish) * 0.05, top + (bottom - top) * 0.02), (foot, bottom)], 0.0011, grey(stone * 0.45)
        )


def bollard(canvas: Canvas, x: float, ground: float, size: float) -> None:
    """A mooring post with a rope round it."""
    canvas.box(x - size * 0.22, ground - size, size * 0.44, size, grey(0.05))
    canvas.disc(x, ground - size, size * 0.34, grey(0.08))
    canvas.disc(x - size * 0.1, ground - size * 1.08, size * 0.1, grey(0.3))
    for n in range(3):
        y = ground - size * (0.35 + 0.1 * n)
        canvas.line([(x - size * 0.28, y), (x + size * 0.28, y + size * 0.03)], size * 0.07, (0.42, 0.36, 0.24))


def rope(canvas: Canvas, start: Point, end: Point, slack: float, wide: float) -> None:
    """A hawser that hangs between two points."""
    t = np.linspace(0, 1, 40)
    x = start[0] + (end[0] - start[0]) * t
    y = start[1] + (end[1] - start[1]) * t + slack * 4 * t * (1 - t)
    canvas.line(np.stack([x, y], 1), wide, (0.38, 0.33, 0.22))
    canvas.line(np.stack([x, y - wide * 0.2], 1), wide * 0.3, (0.6, 0.54, 0.4))
