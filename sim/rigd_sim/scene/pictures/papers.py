"""The survey's own papers: soundings boards, charts, tide staffs."""

from __future__ import annotations

import cv2
import numpy as np

from rigd_sim.scene.noise import cloud
from rigd_sim.scene.pictures.canvas import Canvas, Paint, grey
from rigd_sim.scene.planes import Floats, Light

_PLACES = ("INNER BASIN", "NORTH MOLE", "FISH QUAY", "EAST BERTH", "SLIPWAY", "COAL WHARF", "LOCK CUT", "OUTER ROADS")
_INK: Paint = grey(0.05)
_PAPER: Paint = (0.78, 0.74, 0.64)


def soundings_board(canvas: Canvas, rng: np.random.Generator) -> None:
    """A board of soundings leaning on a wall: title, columns of depths, a scale bar, pins."""
    wall = [(0.0, 0.0), (canvas.aspect, 0.0), (canvas.aspect, 1.0), (0.0, 1.0)]
    wood = rng.uniform(0.12, 0.3)
    canvas.polygon(wall, (wood * 1.1, wood * 0.95, wood * 0.8))
    canvas.mottle(wall, int(rng.integers(1000)), 12, 2.0)
    for n in range(14):
        y = n / 13 + rng.normal(0, 0.002)
        canvas.line([(0, y), (canvas.aspect, y)], 0.003, grey(0.06))
    left, top = canvas.aspect * rng.uniform(0.03, 0.16), rng.uniform(0.03, 0.16)
    wide, tall = canvas.aspect * rng.uniform(0.94, 0.98) - left, rng.uniform(0.94, 0.98) - top
    _sheet(canvas, rng, left, top, wide, tall)
    place, number = _PLACES[int(rng.integers(len(_PLACES)))], int(rng.integers(100, 999))
    unit = min(tall, wide) * 0.05
    canvas.text(f"SOUNDINGS  {place}", left + wide * 0.04, top + unit * 1.7, unit * 0.95, _INK, 0.12)
    canvas.text(
        f"Sheet {number}   depths in metres below datum", left + wide * 0.04, top + unit * 3.0, unit * 0.5, _INK
    )
    _columns(canvas, rng, left + wide * 0.04, top + unit * 4, wide * 0.92, tall - unit * 7.5)
    scale_bar(canvas, left + wide * 0.05, top + tall - unit * 1.3, wide * 0.5, unit * 0.45)


def _sheet(canvas: Canvas, rng: np.random.Generator, left: float, top: float, wide: float, tall: float) -> None:
    """A sheet of paper with a shadow and four pins."""
    lean = rng.normal(0, 0.006)
    corners = [
        (left + lean, top),
        (left + wide, top - lean),
        (left + wide - lean, top + tall),
        (left, top + tall + lean),
    ]
    canvas.polygon([(x + 0.008, y + 0.01) for x, y in corners], grey(0.02))
    canvas.polygon(corners, _PAPER)
    canvas.mottle(corners, int(rng.integers(1000)), 3)
    for x, y in corners:
        canvas.disc(
            x + (0.02 if x < left + wide / 2 else -0.02), y + (0.02 if y < top + tall / 2 else -0.02), 0.006, grey(0.3)
        )


def _columns(canvas: Canvas, rng: np.random.Generator, left: float, top: float, wide: float, tall: float) -> None:
    """Ruled columns of numbers, as many as there is room for."""
    rows = int(rng.integers(14, 30))
    columns = max(4, int(wide / tall * rng.uniform(6, 11) + 0.5))
    for n in range(rows + 1):
        canvas.line([(left, top + tall * n / rows), (left + wide, top + tall * n / rows)], 0.0008, grey(0.2))
    for n in range(columns + 1):
        canvas.line([(left + wide * n / columns, top), (left + wide * n / columns, top + tall)], 0.001, grey(0.12))
    depth = rng.uniform(3, 9)
    for column in range(columns):
        for row in range(rows):
            depth = float(np.clip(depth + rng.normal(0, 0.4), 1.0, 19.9))
            canvas.text(
                f"{depth:.1f}",
                left + wide * (column + 0.15) / columns,
                top + tall * (row + 0.8) / rows,
                tall / rows * 0.55,
                _INK,
                0.13,
            )


def scale_bar(canvas: Canvas, left: float, top: float, wide: float, tall: float) -> None:
    """A chequered bar with numbers."""
    canvas.box(left - 0.002, top - 0.002, wide + 0.004, tall + 0.004, _INK)
    for n in range(10):
        if n % 2 == 0:
            canvas.box(left + wide * n / 10, top, wide / 10, tall, _PAPER)
        canvas.text(str(n * 10), left + wide * n / 10, top - tall * 0.3, tall * 0.7, _INK, 0.12)


def chart(canvas: Canvas, rng: np.random.Generator) -> None:
    """A harbour chart: depth lines, land, a grid, soundings, a compass rose."""
    sheet = [(0.0, 0.0), (canvas.aspect, 0.0), (canvas.aspect, 1.0), (0.0, 1.0)]
    canvas.polygon(sheet, _PAPER)
    rise = _relief(canvas, rng)
    contours(canvas, rise)
    canvas.mottle(sheet, int(rng.integers(1000)), 3)
    for n in range(1, 12):
        at = n / 12
        canvas.line([(at * canvas.aspect, 0), (at * canvas.aspect, 1)], 0.0008, grey(0.3))
        canvas.line([(0, at), (canvas.aspect, at)], 0.0008, grey(0.3))
    for _ in range(round(300 * canvas.aspect)):
        x, y = rng.uniform(0.02, 0.95) * canvas.aspect, rng.uniform(0.03, 0.97)
        canvas.text(str(int(rng.integers(1, 24))), x, y, 0.011, _INK, 0.14)
    _rose(canvas, canvas.aspect * rng.uniform(0.3, 0.8), rng.uniform(0.3, 0.7), 0.13)
    place = _PLACES[int(rng.integers(len(_PLACES)))]
    canvas.box(canvas.aspect * 0.05, 0.05, canvas.aspect * 0.4, 0.11, _PAPER)
    canvas.text(f"ELDERVIK  {place}", canvas.aspect * 0.06, 0.10, 0.03 * min(1, canvas.aspect), _INK, 0.13)
    canvas.text("surveyed by the harbour office", canvas.aspect * 0.06, 0.14, 0.017 * min(1, canvas.aspect), _INK)


def _relief(canvas: Canvas, rng: np.random.Generator) -> Light:
    """Smooth heights on a small grid (any resolution sees the same)."""
    return cloud(rng, 480, max(2, round(480 * canvas.aspect)), 2.0, 4)


def contours(canvas: Canvas, rise: Light) -> None:
    """Lines of equal depth, and the land, from a small field of heights."""
    scale = 1.0 / rise.shape[0]
    for n, level in enumerate(np.linspace(-0.7, 0.7, 15)):
        found, _ = cv2.findContours((rise > level).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        for outline in found:
            if len(outline) > 12:
                points = _smooth(outline[:, 0, :].astype(np.float64)) * scale
                if n == 12:
                    canvas.polygon(points, (0.55, 0.5, 0.36))
                canvas.line(points, 0.0025 if n % 4 == 0 else 0.0012, (0.12, 0.2, 0.3))


def _smooth(
    points: Floats,
) -> Floats:
    """A chain of pixels without its steps."""
    weights = np.hanning(9) / np.hanning(9).sum()
    padded = np.concatenate([points[-4:], points, points[:4]])
    return np.stack([np.convolve(padded[:, n], weights, "valid") for n in (0, 1)], 1)


def _rose(canvas: Canvas, x: float, y: float, radius: float) -> None:
    for n in range(72):
        angle = n * np.pi / 36
        inner = radius * (0.9 if n % 6 else 0.8)
        canvas.line(
            [
                (x + inner * np.sin(angle), y - inner * np.cos(angle)),
                (x + radius * np.sin(angle), y - radius * np.cos(angle)),
            ],
            0.0012,
            (0.3, 0.05, 0.15),
        )
    for n in range(8):
        angle, tip = n * np.pi / 4, radius * (0.75 if n % 2 == 0 else 0.45)
        side = radius * 0.07
        canvas.polygon(
            [
                (x + tip * np.sin(angle), y - tip * np.cos(angle)),
                (x + side * np.cos(angle), y + side * np.sin(angle)),
                (x - side * np.cos(angle), y - side * np.sin(angle)),
            ],
            (0.3, 0.05, 0.15),
        )
    canvas.text("N", x - radius * 0.06, y - radius * 1.03, radius * 0.16, _INK)


def tide_staff(canvas: Canvas, rng: np.random.Generator, water: float) -> None:
    """A graduated staff on a wall of big stones, weed up to the last tide."""
    for row in range(12):
        offset = rng.uniform(0, 0.2)
        for n in range(-1, int(canvas.aspect / 0.2) + 2):
            x, y, tone = n * 0.22 + offset, row / 11, rng.uniform(0.16, 0.36)
            stone = [(x + 0.002, y + 0.002), (x + 0.216, y + 0.002), (x + 0.216, y + 0.088), (x + 0.002, y + 0.088)]
            canvas.polygon(stone, (tone, tone * 0.97, tone * 0.9))
            canvas.mottle(stone, int(rng.integers(1000)), 10)
    weed = [(0.0, water - 0.25), (canvas.aspect, water - 0.22), (canvas.aspect, 1.0), (0.0, 1.0)]
    canvas.mottle(weed, int(rng.integers(1000)), 22)
    x, wide = canvas.aspect * rng.uniform(0.3, 0.6), 0.1
    canvas.box(x - 0.006, 0.0, wide + 0.012, 1.0, grey(0.03))
    canvas.box(x, 0.0, wide, 1.0, (0.8, 0.78, 0.7))
    for n in range(50):
        y = n / 49
        if n % 2:
            canvas.box(x, y, wide * (0.5 if n % 10 else 0.9), 1 / 49, (0.04, 0.04, 0.05))
        if n % 10 == 5:
            canvas.text(f"{(60 - n) // 10}", x + wide * 0.55, y + 0.02, 0.035, (0.35, 0.04, 0.04), 0.2)
    canvas.text("TIDE DATUM 1", x + wide * 1.4, 0.12, 0.028, grey(0.75))
