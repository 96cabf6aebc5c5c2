"""Ships, from the harbour's edge."""

from __future__ import annotations

import numpy as np

from rigd_sim.scene.pictures.canvas import Canvas, Paint, Point, dimmed, grey
from rigd_sim.scene.pictures.nature import reflection

NAMES = (
    "MAREN LIND",
    "ASTRID VOLL",
    "TERN",
    "KESTREL",
    "OLE BRAND",
    "SOLVIND",
    "HALVARD",
    "GREY HERON",
    "NORA BEK",
    "VESTLI",
)
HULLS: tuple[Paint, ...] = (
    (0.05, 0.05, 0.06),
    (0.32, 0.06, 0.05),
    (0.07, 0.12, 0.22),
    (0.55, 0.55, 0.52),
    (0.10, 0.20, 0.12),
)
_RED_LEAD: Paint = (0.28, 0.07, 0.05)
_RUST: Paint = (0.22, 0.11, 0.06)


def ship(canvas: Canvas, rng: np.random.Generator, left: float, water: float, length: float) -> None:
    """A coaster seen from the side, bow to the left, afloat at `water`."""
    side, hull = length * rng.uniform(0.09, 0.13), HULLS[int(rng.integers(len(HULLS)))]
    name = NAMES[int(rng.integers(len(NAMES)))]
    outline = _hull(left, water, length, side)
    _superstructure(canvas, rng, left, water - side, length)
    _masts(canvas, rng, left, water - side, length)
    canvas.polygon(outline, hull)
    canvas.mottle(outline, int(rng.integers(1000)), 7, 0.6)
    _plating(canvas, rng, left, water, length, side)
    canvas.text(name, left + length * 0.09, water - side * 0.72, side * 0.2, grey(0.75))
    reflection(canvas, rng, left + length * 0.05, left + length, water + 0.002, dimmed(hull, 0.7))


def _hull(left: float, water: float, length: float, side: float) -> list[Point]:
    """Outline with a raised bow, a raised stern and a curved stem."""
    deck = water - side
    return [
        (left, deck - side * 0.45),
        (left + length * 0.14, deck - side * 0.3),
        (left + length * 0.15, deck),
        (left + length * 0.7, deck + side * 0.04),
        (left + length * 0.71, deck - side * 0.22),
        (left + length, deck - side * 0.3),
        (left + length * 0.99, water - side * 0.45),
        (left + length * 0.965, water),
        (left + length * 0.045, water),
        (left + length * 0.02, water - side * 0.5),
    ]


def _plating(canvas: Canvas, rng: np.random.Generator, left: float, water: float, length: float, side: float) -> None:
    """Boot topping, plate seams, rust runs, portholes, draught marks."""
    canvas.polygon(
        [
            (left + length * 0.045, water),
            (left + length * 0.965, water),
            (left + length * 0.968, water - side * 0.16),
            (left + length * 0.04, water - side * 0.16),
        ],
        _RED_LEAD,
    )
    for n in range(1, 4):
        y = water - side * (0.16 + 0.22 * n)
        canvas.line([(left + length * 0.03, y), (left + length * 0.98, y)], 0.0006, grey(0.16))
    for x in np.arange(left + length * 0.06, left + length * 0.96, length * 0.035):
        canvas.line([(x, water - side * 0.16), (x, water - side * 0.97)], 0.0005, grey(0.14))
        if rng.random() < 0.5:
            run = side * rng.uniform(0.1, 0.5)
            canvas.line([(x, water - side * 0.8), (x + 0.0005, water - side * 0.8 + run)], 0.0009, _RUST)
    for x in np.arange(left + length * 0.73, left + length * 0.95, length * 0.022):
        canvas.disc(x, water - side * 0.75, side * 0.045, grey(0.65))
        canvas.disc(x, water - side * 0.75, side * 0.03, grey(0.03))
    for n in range(6):
        canvas.text(str(n + 2), left + length * 0.052, water - side * (0.05 + 0.14 * n), side * 0.08, grey(0.7), 0.2)


def _superstructure(canvas: Canvas, rng: np.random.Generator, left: float, deck: float, length: float) -> None:
    """Bridge aft in three storeys, funnel, boats, hatches along the deck."""
    at, tall = left + length * 0.74, length * 0.05
    for storey in range(3):
        wide = length * (0.2 - 0.035 * storey)
        y = deck - tall * (storey + 1)
        canvas.box(at + 0.01 * storey, y, wide, tall * 1.02, grey(0.72 - 0.06 * storey))
        canvas.mottle([(at, y), (at + wide, y), (at + wide, y + tall), (at, y + tall)], storey + 3, 4)
        canvas.line([(at - 0.004, y), (at + wide + 0.008, y)], 0.0025, grey(0.35))
        step = wide / 9
        for n in range(9):
            canvas.box(
                at + 0.012 * storey + step * (n + 0.2), y + tall * 0.3, step * 0.45, tall * 0.32, (0.05, 0.06, 0.07)
            )
    funnel = at + length * 0.11
    colour = HULLS[int(rng.integers(len(HULLS)))]
    canvas.box(funnel, deck - tall * 4.7, length * 0.032, tall * 1.8, colour)
    canvas.box(funnel, deck - tall * 4.4, length * 0.032, tall * 0.35, grey(0.6))
    canvas.box(funnel - 0.001, deck - tall * 4.8, length * 0.034, tall * 0.2, grey(0.04))
    for n in range(3):
        x = left + length * (0.2 + 0.165 * n)
        canvas.box(x, deck - tall * 0.35, length * 0.12, tall * 0.5, (0.26, 0.22, 0.17))
        canvas.line([(x, deck - tall * 0.35), (x + length * 0.12, deck - tall * 0.35)], 0.002, grey(0.4))
    canvas.line(
        [(left + length * 0.15, deck - tall * 0.4), (left + length * 0.7, deck - tall * 0.4)], 0.0007, grey(0.55)
    )


def _masts(canvas: Canvas, rng: np.random.Generator, left: float, deck: float, length: float) -> None:
    """Two masts with derricks and their rigging."""
    for share in (0.18, 0.52):
        x, top = left + length * share, deck - length * rng.uniform(0.26, 0.34)
        canvas.line([(x, deck + 0.01), (x, top)], length * 0.007, (0.5, 0.42, 0.28))
        canvas.disc(x, top, length * 0.006, grey(0.3))
        for n in range(5):
            foot = x + (n - 2) * length * 0.045
            canvas.line([(x, top + 0.02), (foot, deck)], 0.0006, grey(0.07))
        for way in (-1, 1):
            tip = (x + way * length * 0.13, deck - length * rng.uniform(0.12, 0.2))
            canvas.line([(x, deck - length * 0.03), tip], length * 0.004, (0.5, 0.42, 0.28))
            canvas.line([(x, top), tip], 0.0007, grey(0.08))
            canvas.line([tip, (tip[0], deck - length * 0.02)], 0.0006, grey(0.08))
        for n in range(1, 14):
            y, half = top + 0.02 + (deck - top) * n / 14, length * 0.09 * n / 14 * 0.5
            canvas.line([(x - half, y), (x + half, y)], 0.0004, grey(0.1))
