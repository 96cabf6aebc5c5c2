"""Sky, water, far shores, birds."""

from __future__ import annotations

import numpy as np

from rigd_sim.scene.noise import cloud, fractal_tile
from rigd_sim.scene.pictures.canvas import Canvas, Paint, grey
from rigd_sim.scene.planes import Light, resized

_WATER: Light = fractal_tile(5, 1024, 1.25, 3.0)


def sky(canvas: Canvas, rng: np.random.Generator, horizon: float) -> None:
    """Clouds down to the horizon, lighter towards it."""
    height = round(horizon * canvas.height) + 1
    cover = rng.uniform(10, 26)
    field = cloud(rng, height, canvas.width, rng.uniform(1.5, 3.0), 6, rng.uniform(1.5, 3.0)) * np.float32(cover)
    np.maximum(field, -0.5 * cover, out=field)
    field += np.linspace(-14, 10, height, dtype=np.float32)[:, None]
    canvas.rows(0.0, field, (0.52, 0.58, 0.68) if rng.random() < 0.7 else (0.62, 0.62, 0.62))


def sea(canvas: Canvas, rng: np.random.Generator, horizon: float, bottom: float = 1.0) -> None:
    """Water from the horizon down to `bottom`: waves grow towards the viewer, the sky glints on it."""
    rows = max(2, round((bottom - horizon) * canvas.height) + 2)
    calm = rng.uniform(7, 16)
    shift = rng.integers(0, 1024, 2)
    work = (max(2, rows // 2), max(2, canvas.width // 2))
    below = (np.arange(work[0]) + 0.5) / work[0] * (bottom - horizon)
    depth = 0.06 / (below + 0.012)  # distance of a row's water from the viewer
    lines = (depth * 700 + shift[0]) % 1024
    spread = np.linspace(-0.5, 0.5, work[1]) * canvas.aspect
    across = (spread[None, :] * depth[:, None] * 500 + shift[1] + 1024 * 8) % 1024
    waves = _WATER[lines.astype(int)[:, None], across.astype(int)]
    waves *= (calm * np.clip(below / 0.06, 0.25, 1.0)).astype(np.float32)[:, None]
    waves += np.linspace(12, -12, work[0], dtype=np.float32)[:, None]
    canvas.rows(horizon, resized(waves, canvas.width, rows), (0.13, 0.17, 0.19))


def far_shore(canvas: Canvas, rng: np.random.Generator, horizon: float) -> None:
    """Hills and the small houses of the other side, pale with distance."""
    for layer in range(2):
        steps = 60
        x = np.linspace(-0.05, canvas.aspect + 0.05, steps)
        rise = np.abs(np.cumsum(rng.normal(0, 0.012, steps))) + rng.uniform(0.005, 0.02)
        rise = np.minimum(rise, 0.09) * (1.0 - 0.4 * layer)
        ridge = np.concatenate([np.stack([x, horizon - rise], 1), [[x[-1], horizon], [x[0], horizon]]])
        tone = 0.34 - 0.12 * layer
        canvas.polygon(ridge, (tone * 0.95, tone, tone * 1.08))
        canvas.mottle(ridge, int(rng.integers(1000)), 5)
    for _ in range(int(rng.integers(15, 45))):
        left, wide = rng.uniform(0, canvas.aspect), rng.uniform(0.006, 0.02)
        tall, tone = rng.uniform(0.004, 0.018), rng.uniform(0.15, 0.7)
        canvas.box(left, horizon - tall, wide, tall, (tone, tone * 0.9, tone * 0.8))
        canvas.polygon(
            [(left, horizon - tall), (left + wide, horizon - tall), (left + wide / 2, horizon - tall - wide * 0.4)],
            (0.22, 0.14, 0.12),
        )


def reflection(canvas: Canvas, rng: np.random.Generator, left: float, right: float, top: float, paint: Paint) -> None:
    """Broken streaks of something's colour in the water under it."""
    for n in range(46):
        y = top + 0.0025 * n * (1 + n * 0.05)
        half = (right - left) / 2 * rng.uniform(0.25, 1.0) * max(0.1, 1 - n / 60)
        middle = (left + right) / 2 + rng.normal(0, 0.008 + 0.0006 * n)
        canvas.line([(middle - half, y), (middle + half, y)], 0.0014 + 0.00005 * n, paint)


def gulls(canvas: Canvas, rng: np.random.Generator, horizon: float) -> None:
    """A few birds."""
    for _ in range(int(rng.integers(0, 9))):
        x, y = rng.uniform(0, canvas.aspect), rng.uniform(0.05, horizon * 0.9)
        size, lift = rng.uniform(0.006, 0.02), rng.uniform(0.2, 0.6)
        wing = [
            (x - size, y - size * lift),
            (x - size * 0.4, y - size * lift * 1.2),
            (x, y),
            (x + size * 0.4, y - size * lift * 1.2),
            (x + size, y - size * lift),
        ]
        canvas.line(wing, 0.0016, grey(0.75 if rng.random() < 0.5 else 0.08))
