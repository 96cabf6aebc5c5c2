"""The corpus itself: which rolls, which frames, which exposures. Deterministic; each roll has a seed of its own."""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np
from corpus_shots import Roll, Shot
from numpy.typing import NDArray
from skimage import data, transform

from rigd_sim.scene import FrameSpec, SceneSpec

FORMATS = (
    "135", "135-half", "135-24x65", "120-6x4.5", "120-6x6", "120-6x7", "120-6x8", "120-6x9", "120-6x12", "120-6x17",
    "mount", "sheet-4x5",
)  # fmt: skip
KINDS = tuple(product(("negative", "positive"), ("mono", "colour")))
# Pictures that nobody here drew: those that the package carries with it (others it would fetch).
PICTURES = (
    "astronaut", "camera", "chelsea", "coffee", "coins", "rocket", "brick", "grass", "gravel", "hubble_deep_field",
    "moon", "page", "clock", "colorwheel", "retina", "text",
)  # fmt: skip
FAULTLESS = (-0.17, -0.08, -0.4)
# Wrong exposures, in turn over the frames: low, high, clipped, far off.
WRONG = (-1.0, 1.5, -3.0, 3.0, 0.8, -6.0, -1.5, 6.0, 2.2)
# Shapes of film, as (along, across).
_ASPECT = {"135-half": 0.75, "135-24x65": 2.7, "120-6x4.5": 0.74, "120-6x6": 1.0, "120-6x12": 2.1, "120-6x17": 3.0}


@cache
def picture(name: str, aspect: float, soft: float = 0.0) -> NDArray[np.float32]:
    """Luminance (h, w) or (h, w, 3), 0 to 1, of a picture of the image library, its middle cut to an aspect;
    `soft`: out of focus in the taking camera, as a share of its height."""
    shown = np.asarray(getattr(data, name)(), np.float32)[..., :3] / 255
    height, width = shown.shape[:2]
    wide = min(width, int(height * aspect))
    high = min(height, int(wide / aspect))
    left, top = (width - wide) // 2, (height - high) // 2
    cut = shown[top : top + high, left : left + wide]
    if soft:
        from skimage.filters import gaussian

        cut = gaussian(cut, soft * high, channel_axis=-1 if cut.ndim == 3 else None)
    # sRGB to light (IEC 61966-2-1), and some light in the blacks, as any lens throws.
    light = np.where(cut <= 0.04045, cut / 12.92, ((cut + 0.055) / 1.055) ** 2.4)
    large = transform.resize(light, (max(600, high), max(600, int(600 * aspect), wide), *light.shape[2:]), order=1)
    return np.asarray(0.004 + 0.9 * large, np.float32)


@cache
def plain_picture(kind: str) -> NDArray[np.float32]:
    """Pictures without detail: an even sky, a sky with a horizon of haze, a black night with one lamp."""
    y, x = np.mgrid[0:1:400j, 0:1:400j]
    if kind == "sky":
        light = 0.35 + 0.25 * y
    elif kind == "haze":
        light = 0.25 + 0.4 / (1 + np.exp((y - 0.6) * 12))
    else:
        light = 0.002 + 0.8 * np.exp(-((x - 0.62) ** 2 + (y - 0.4) ** 2) / 0.0015)
    return np.asarray(light, np.float32)


def corpus() -> tuple[Roll, ...]:
    """Every roll."""
    return (*film_rolls(), *dark_rolls(), *soft_rolls(), *place_rolls(), *dirt_rolls())


def film_rolls() -> list[Roll]:
    """Film states, densities and exposures, over every format and kind of film."""
    return [_film_roll(n, name, *kind) for n, (name, kind) in enumerate(product(FORMATS, KINDS))]


def _film_roll(n: int, name: str, tone: str, colour: str) -> Roll:
    aspect = _ASPECT.get(name, 1.33)
    one, two = PICTURES[n % len(PICTURES)], PICTURES[(n + 7) % len(PICTURES)]
    fogs = (FrameSpec("fogged"), FrameSpec("fogged", fog=2.0 if tone == "negative" else 8.0))
    overrides = (
        (2, FrameSpec("unexposed")), (3, FrameSpec("dense")), (4, FrameSpec("thin")),
        (5, FrameSpec(picture=picture(one, aspect))), (6, fogs[n % 2]),
        (7, FrameSpec(fog=1.5, fog_share=0.4)), (8, FrameSpec(picture=picture(two, aspect), stops=(-1.0, 1.0)[n % 2])),
    )  # fmt: skip
    spec = _spec(2, name, tone, colour, 100 + n, overrides, rotation_deg=(0.2, -0.4, 0.05, 0.8)[n % 4])
    wrong = [WRONG[(2 * n + i) % len(WRONG)] for i in range(3)]
    shots = (
        Shot(1, FAULTLESS[n % 3], first=n % 2 == 0), Shot(1, wrong[0]), Shot(2), Shot(3, FAULTLESS[(n + 1) % 3]),
        Shot(4, FAULTLESS[(n + 2) % 3]), Shot(4, wrong[1]), Shot(5), Shot(6, (0.0, -1.0, 0.5)[n % 3]), Shot(7),
        Shot(8, wrong[2]), Shot(None, (-3.0, -5.0)[n % 2]),
    )  # fmt: skip
    return Roll(f"film-{name}-{tone}-{colour}", spec, shots, scale_known=n % 3 != 0)


def dark_rolls() -> list[Roll]:
    """Pictures whose edges vanish, pictures of nothing, and very thin and very dense ones."""
    rolls = []
    for n, (name, (tone, colour)) in enumerate(product(("135", "120-6x6"), KINDS)):
        overrides = (
            (2, FrameSpec(picture=plain_picture("night"))), (3, FrameSpec(picture=plain_picture("sky"))),
            (4, FrameSpec(picture=plain_picture("haze"), stops=(-2.0, 1.0)[n % 2])),
            (5, FrameSpec(picture=picture("hubble_deep_field", 1.2))),
            (6, FrameSpec(picture=picture("moon", 1.2), stops=-3.5 if tone == "negative" else 1.5)),
            (7, FrameSpec(picture=picture("camera", 1.2), stops=4.0 if tone == "negative" else -2.0)),
        )  # fmt: skip
        spec = _spec(2, name, tone, colour, 300 + n, overrides)
        shots = tuple(Shot(frame, first=frame == 1) for frame in range(1, 8))
        rolls.append(Roll(f"dark-{name}-{tone}-{colour}", spec, shots, scale_known=n % 2 == 0))
    return rolls


def soft_rolls() -> list[Roll]:
    """Sharp, moved, out of focus and not flat, where pixels are small enough to tell."""
    rolls = []
    kinds = (
        (24, "120-6x6", "negative", "mono"), (24, "135", "negative", "colour"), (12, "135", "positive", "colour"),
        (24, "120-6x9", "negative", "mono"), (12, "135-half", "negative", "mono"),
        (24, "120-6x4.5", "negative", "colour"), (12, "mount", "positive", "colour"),
        (24, "120-6x7", "positive", "colour"),
    )  # fmt: skip
    for n, (megapixels, name, tone, colour) in enumerate(kinds):
        for again in range(2):
            rolls.append(_soft_roll(2 * n + again, megapixels, name, tone, colour))
    return rolls


def _soft_roll(n: int, megapixels: int, name: str, tone: str, colour: str) -> Roll:
    aspect = _ASPECT.get(name, 1.33)
    one, two = PICTURES[n % len(PICTURES)], PICTURES[(n + 5) % len(PICTURES)]
    overrides = (
        (2, FrameSpec(picture=picture(one, aspect))), (4, FrameSpec(picture=picture(two, aspect, soft=0.02))),
        (5, FrameSpec(picture=plain_picture(("sky", "haze")[n % 2]))), (6, FrameSpec("thin", stops=-1.5)),
    )  # fmt: skip
    spec = _spec(megapixels, name, tone, colour, 500 + n, overrides)
    turns = (0.0, 25.0, 90.0, 130.0, 60.0, 160.0)
    moved = tuple(turns[(n + i) % len(turns)] for i in range(6))
    shots = (
        Shot(1, moved_px=2.0 + n % 3, moved_deg=moved[0], first=True), Shot(2, defocus_px=1.5 + n % 2, first=True),
        Shot(5, first=True), Shot(1), Shot(2), Shot(3), Shot(4), Shot(4, moved_px=2.0, moved_deg=moved[1]), Shot(5),
        Shot(5, moved_px=2.5, moved_deg=moved[2]), Shot(5, defocus_px=1.5), Shot(6),
        Shot(6, moved_px=3.0, moved_deg=moved[3]), Shot(3, defocus_px=1.5), Shot(3, curl_px=(3.0, -3.0)[n % 2]),
        Shot(2, moved_px=2.0, moved_deg=moved[4]),
        Shot(1, defocus_px=2.0), Shot(1, moved_px=6.0, moved_deg=moved[5]),
    )  # fmt: skip
    return Roll(f"soft-{n:02d}-{name}-{tone}-{colour}", spec, shots, scale_known=n % 4 != 3)


def place_rolls() -> list[Roll]:
    """Film beside its place, turned, touching and overlapping frames, shrunk film, and pictures that came twice."""
    rolls = []
    for n, (name, tone) in enumerate(product(("135", "120-6x6", "120-6x4.5", "120-6x9"), ("negative", "positive"))):
        along = {"135": 36.0, "120-6x6": 56.0, "120-6x4.5": 41.5, "120-6x9": 84.0}[name]
        overrides = ((3, FrameSpec(overlap_mm=0.0)), (5, FrameSpec(overlap_mm=2.0)), (6, FrameSpec(overlap_mm=0.4)))
        spec = _spec(2, name, tone, KINDS[n % 2][1], 700 + n, overrides, shrinkage=(0.001, 0.01)[n % 2])
        shots = (
            Shot(1), Shot(1, again=True), Shot(2), Shot(2, same_file=True), Shot(2, off_mm=0.12 * along + 6),
            Shot(2, off_mm=-1.5), Shot(2, off_mm=-0.15 * along - 6), Shot(3), Shot(4), Shot(4, off_mm=along / 2 + 1),
            Shot(5), Shot(6), Shot(6, says_other_time=True), Shot(7, rig=(("rotation_deg", 3.0),)),
        )  # fmt: skip
        rolls.append(Roll(f"place-{name}-{tone}", spec, shots, scale_known=n % 4 != 2))
    return rolls


def dirt_rolls() -> list[Roll]:
    """Hairs and large specks in the holder's opening, against film with nothing but its usual dust."""
    rolls = []
    kinds = ((12, "135", "negative", "mono"), (24, "120-6x6", "negative", "mono"), (12, "135", "positive", "colour"),
             (24, "120-6x9", "negative", "colour"))  # fmt: skip
    for n, (megapixels, *kind) in enumerate(kinds):
        overrides = ((3, FrameSpec(picture=picture(PICTURES[3 * n], 1.2))),)
        spec = _spec(megapixels, *kind, 900 + n, overrides)
        shots = (
            Shot(1), Shot(1, rig=(("gate_hair_mm", 4.0),)), Shot(2), Shot(2, rig=(("gate_hair_mm", 8.0),)), Shot(3),
            Shot(3, rig=(("gate_hair_mm", 6.0),)), Shot(4, rig=(("gate_speck_mm", 0.6),)),
            Shot(2, rig=(("gate_speck_mm", 1.0),)),
        )  # fmt: skip
        rolls.append(Roll(f"dirt-{'-'.join(kind)}", spec, shots))
    return rolls


def _spec(
    megapixels: int, name: str, tone: str, colour: str, seed: int, overrides: tuple[tuple[int, FrameSpec], ...],
    **more: float,
) -> SceneSpec:  # fmt: skip
    return SceneSpec(
        megapixels, name, tone, colour, frames=8, strip=None, seed=seed, script="plain", overrides=overrides, **more
    )  # type: ignore[arg-type]
