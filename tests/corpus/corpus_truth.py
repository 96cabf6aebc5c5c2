"""What must be found in an exposure, from the scene's own physics: noise-free light, geometry, blur. Nothing here comes
from the programs under test; the limits are those of the written definition of exposure (`LIMITS` names them)."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from corpus_shots import Shot
from numpy.typing import NDArray

from rigd_sim.scene import Scene
from rigd_sim.scene.roll import Frame

LIMITS = {"ceiling": -0.15, "over": 0.001, "centre": -2.2, "high": 1 / 3, "low": 2 / 3, "noise": -10.0, "trim": 0.03}
# Within these a measurement may fall on either side of a limit: stops, and shares over the ceiling as factors.
NEAR_STOPS, NEAR_SHARE = 0.06, (0.6, 1.6)
# Where softness must be told: pixels under 22 um at the film. Motion and misfocus that must be caught, in px.
SOFT_SCALE, SOFT_MOVED, SOFT_FOCUS = 45.0, 2.0, 1.5
# Of a picture so much may be hidden or out of sight before it counts as misplaced, and so much surely does.
HIDDEN_NOT, HIDDEN_SURELY, TURNED_DEG = 0.003, 0.02, 2.0
# Less than this is left by the lamp's own falloff over a sheet of clear film (the scene's lamp loses 5 % to a corner).
NOTHING = 0.08
# Film this near to saturation tells nothing of itself.
FULL = -0.05

Light = NDArray[np.float32]


@dataclass(frozen=True)
class Truth:
    """`film`, `take`: the words that are right. `corners`: the picture's, px. `notes`: what the sentence must hold."""

    film: tuple[str | None, ...]
    take: tuple[str, ...]
    corners: tuple[tuple[float, float], ...] | None
    px_per_mm: float
    fault: str
    notes: tuple[str, ...] = ()
    numbers: dict[str, float] = field(default_factory=dict)


def truth_of(scene: Scene, shot: Shot, frame: Frame | None, light: Light, moved_px: float) -> Truth:
    """The truth of one exposure whose noise-free light is `light` (H, W), white at 1."""
    corners = None if frame is None else _corners(scene, frame)
    box = _middle(light.shape) if corners is None else _box(corners, light.shape, np.array(scene.truth()["gate_px"]))
    levels, numbers = exposure_numbers(light, box)
    numbers["relief"] = relief(light, box)
    film = film_words(frame, float(np.median(levels[1])), numbers["relief"])
    exposure = exposure_words(numbers)
    numbers["moved_px"] = moved_px
    take = _take(scene, shot, frame, corners, exposure, film, moved_px)
    names = {"gate_hair_mm": "hair", "gate_speck_mm": "speck"}
    notes = tuple(names[name] for name, _ in shot.rig if name in names)
    return Truth(film, take, corners, scene.optics.px_per_mm, shot.fault, notes, numbers)


Numbers = dict[str, float]


def exposure_numbers(light: Light, box: tuple[int, int, int, int]) -> tuple[list[NDArray[np.float64]], Numbers]:
    """Levels in stops of R, G, B inside the box, and what the definition of exposure asks of them."""
    left, top, right, bottom = box
    cut = light[top:bottom, left:right]
    cells = (cut[0::2, 0::2].ravel(), np.concatenate([cut[0::2, 1::2].ravel(), cut[1::2, 0::2].ravel()]))
    levels = [np.log2(np.maximum(c, 1e-7)).astype(np.float64) for c in (*cells, cut[1::2, 1::2].ravel())]
    ends = [np.percentile(channel, [0.5, 99.5, 99.9]) for channel in levels]
    lead = max(ends, key=lambda e: float(e[1]))
    wanted = LIMITS["centre"] - float(lead[0] + lead[1]) / 2
    room = LIMITS["ceiling"] - max(float(e[2]) for e in ends)
    over = max(float((channel > LIMITS["ceiling"]).mean()) for channel in levels)
    add = min(wanted, room)
    drowns = LIMITS["noise"] - (float(lead[0]) + add) if wanted > room else -9.0
    return levels, {"add": add, "over": over, "drowns": drowns, "dark": float(lead[0]), "light": float(lead[1])}


def exposure_words(n: dict[str, float]) -> tuple[str, ...]:
    """Every word that is right for an exposure, several where a measurement may fall on either side of a limit."""
    found: list[str] = []
    if n["over"] > LIMITS["over"] * NEAR_SHARE[0]:
        found.append("clipped")
    if n["over"] > LIMITS["over"] * NEAR_SHARE[1]:
        return ("clipped",)
    if -n["add"] > LIMITS["high"] - NEAR_STOPS:
        found.append("high")
    if n["add"] > LIMITS["low"] - NEAR_STOPS:
        found.append("low")
    if -LIMITS["high"] - NEAR_STOPS <= n["add"] <= LIMITS["low"] + NEAR_STOPS:
        found += ["exceeds"] if n["drowns"] > -0.15 else []
        found += ["good"] if n["drowns"] < 0.15 else []
    return tuple(found)


def relief(light: Light, box: tuple[int, int, int, int]) -> float:
    """Greatest difference between parts of the picture in stops (24 x 16 parts, grain averaged away, green)."""
    left, top, right, bottom = box
    green = np.ascontiguousarray(light[top:bottom, left + 1 : right : 2][::2])
    parts = np.log2(np.maximum(cv2.resize(green, (24, 16), interpolation=cv2.INTER_AREA), 1e-7))
    low, high = np.percentile(parts, [1, 99])
    return float(high - low)


def film_words(frame: Frame | None, middle: float, shows: float) -> tuple[str | None, ...]:
    """What the film shows; where it is saturated nothing can be told, and near it, either. A picture so thin or so
    washed out that nothing of it `shows` (stops, the lamp's own falloff among them) is one by its edges alone."""
    if frame is None:
        word = "no film"
    elif frame.spec.kind in ("unexposed", "fogged"):
        word = frame.spec.kind
    else:
        word = "picture"
    if word == "picture" and shows < NOTHING:
        return (word, None, "unexposed", "fogged")
    if middle > 0.02:
        return (None,) if word != "picture" else (None, word)
    return (word, None) if middle > FULL - 0.05 else (word,)


def _take(
    scene: Scene, shot: Shot, frame: Frame | None, corners: NDArray[np.float64] | None, exposure: tuple[str, ...],
    film: tuple[str | None, ...], moved_px: float,
) -> tuple[str, ...]:  # fmt: skip
    """The gravest fault's word: stale, then exposure, place, sharpness. A frame without a picture has no exposure to
    aim for: any sure finding of it is good, one in doubt is suspect."""
    if shot.again or shot.same_file or shot.says_other_time:
        return ("stale",)
    if None in film and "picture" not in film:
        return ("clipped", "good", "suspect")
    if frame is None or frame.spec.kind == "unexposed":
        # Before any base was seen, clear film is not told from fog.
        return ("good", "suspect") if shot.first else ("good",)
    if frame.spec.kind == "fogged":
        return (*exposure, "good", "suspect")
    bad = tuple(word for word in exposure if word in ("clipped", "high", "low"))
    fine = tuple(word for word in exposure if word in ("good", "exceeds"))
    if "unexposed" in film:
        fine = (*fine, "suspect")
    if not fine:
        return bad
    assert corners is not None
    placed = hidden_share(scene, corners)
    if placed > HIDDEN_SURELY or abs(scene.spec.rotation_deg) > TURNED_DEG + 0.2:
        return (*bad, "misplaced")
    if placed > HIDDEN_NOT:
        fine = (*fine, "misplaced")
    if scene.optics.px_per_mm >= SOFT_SCALE and _is_soft(shot, moved_px):
        return (*bad, "soft")
    return (*bad, *fine)


def _is_soft(shot: Shot, moved_px: float) -> bool:
    return moved_px >= SOFT_MOVED - 0.05 or shot.defocus_px >= SOFT_FOCUS or abs(shot.curl_px) >= SOFT_FOCUS


def hidden_share(scene: Scene, corners: NDArray[np.float64]) -> float:
    """Share of the picture that holder or sensor's rim hide. A mount always hides the picture's rim: none is missed."""
    if scene.optics.form.window is not None:
        return 0.0
    gate = np.array(scene.truth()["gate_px"], np.float32)
    width, height = scene.spec.sensor
    rim = np.array([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]], np.float32)
    _, sight = cv2.intersectConvexConvex(gate, rim)
    seen, _ = cv2.intersectConvexConvex(corners.astype(np.float32), sight)
    return max(0.0, 1.0 - float(seen) / float(cv2.contourArea(corners.astype(np.float32))))


def _corners(scene: Scene, frame: Frame) -> NDArray[np.float64]:
    frames = scene.truth()["frames"]
    assert isinstance(frames, list)
    found = np.array(next(f for f in frames if f["place"] == frame.place)["corners_px"], np.float64)
    window = scene.optics.form.window
    return found if window is None else np.array(scene.truth()["gate_px"], np.float64)


def _box(corners: NDArray[np.float64], shape: tuple[int, ...], gate: NDArray[np.float64]) -> tuple[int, int, int, int]:
    """The upright box inside four corners, trimmed by the definition's 3 %, in whole cells, of what can be seen."""
    xs, ys = np.sort(corners[:, 0]), np.sort(corners[:, 1])
    x, y = LIMITS["trim"] * (xs[2] - xs[1]), LIMITS["trim"] * (ys[2] - ys[1])
    rim_x, rim_y = np.sort(gate[:, 0]), np.sort(gate[:, 1])
    left, top = max(0, int(max(xs[1] + x, rim_x[1] + 12))) & ~1, max(0, int(max(ys[1] + y, rim_y[1] + 12))) & ~1
    right, bottom = int(min(xs[2] - x, rim_x[2] - 12)) & ~1, int(min(ys[2] - y, rim_y[2] - 12)) & ~1
    return left, top, min(shape[1] & ~1, right), min(shape[0] & ~1, bottom)


def _middle(shape: tuple[int, ...]) -> tuple[int, int, int, int]:
    height, width = shape
    return (width // 3) & ~1, (height // 3) & ~1, (2 * width // 3) & ~1, (2 * height // 3) & ~1
