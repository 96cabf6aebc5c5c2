"""Rolls to exposures, with their truth: each a mosaic as the simulated sensor writes it. Kept under build/corpus, so
that a second run judges the very same bytes; what it was made from names the file."""

from __future__ import annotations

import hashlib
import math
import pickle
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from corpus_shots import Roll, Shot
from corpus_truth import Truth, truth_of
from numpy.typing import NDArray

from rigd_sim.scene import Scene
from rigd_sim.scene.roll import Frame
from rigd_sim.scene.vibration import Oscillator

ROOT = Path(__file__).parents[2]
CACHE = ROOT / "build" / "corpus"
F_NUMBER, ISO = 8.0, 100
# The empty gate is measured so briefly that the lamp never saturates.
LAMP_SECONDS = 1 / 2000
# A slide so long that the film's speed is even while the shutter is open.
_SLOW = 200.0
# Ordinary rigs shake with something like 12 cycles a second.
_HERTZ, _DAMPING = 12.0, 0.03


@dataclass(frozen=True)
class Taken:
    """One exposure: the mosaic (H, W) uint16, its seconds, and what must be found in it."""

    shot: Shot
    mosaic: NDArray[np.uint16]
    seconds: float
    truth: Truth


@dataclass(frozen=True)
class Rendered:
    """A roll's exposures in order, and one of the empty gate."""

    lamp: NDArray[np.uint16]
    taken: tuple[Taken, ...]


class _Clock:
    def __init__(self) -> None:
        self.time = 0.0

    def __call__(self) -> float:
        return self.time


def rendered(roll: Roll, keep: bool = True) -> Rendered:
    """A roll's exposures, from the store under build/ if it has them."""
    path = CACHE / f"{roll.name}-{_fingerprint(roll)}.pickle"
    if path.exists():
        with path.open("rb") as file:
            found: Rendered = pickle.load(file)
        return found
    made = _render(roll)
    if keep:
        CACHE.mkdir(parents=True, exist_ok=True)
        for old in CACHE.glob(f"{roll.name}-????????????????.pickle"):
            old.unlink()
        part = path.with_suffix(".part")
        part.write_bytes(pickle.dumps(made, protocol=5))
        part.rename(path)
    return made


def _fingerprint(roll: Roll) -> str:
    """Of the roll and of every source that its bytes depend on."""
    found = hashlib.sha256(repr(replace(roll.spec, overrides=())).encode() + repr(roll.shots).encode())
    for number, frame in roll.spec.overrides:
        found.update(repr((number, replace(frame, picture=None))).encode())
        found.update(b"" if frame.picture is None else np.ascontiguousarray(frame.picture).tobytes())
    own = [Path(__file__).with_name(f"corpus_{name}.py") for name in ("render", "shots", "truth")]
    for source in [*sorted((ROOT / "sim/rigd_sim/scene").rglob("*.py")), *own]:
        found.update(source.read_bytes())
    return found.hexdigest()[:16]


def _render(roll: Roll) -> Rendered:
    clock = _Clock()
    with Scene(roll.spec, clock) as scene:
        scene.prepare()
        lamp = scene.expose(clock.time, LAMP_SECONDS, F_NUMBER, ISO)
        frames = {f.number: f for strip in scene.strips for f in strip.frames}
        taken: list[Taken] = []
        for shot in roll.shots:
            taken.append(_again(taken[-1], shot) if shot.same_file else _take(scene, clock, frames, shot))
    return Rendered(lamp, tuple(taken))


def _again(before: Taken, shot: Shot) -> Taken:
    return replace(before, shot=shot, truth=replace(before.truth, take=("stale",), fault="stale"))


def _take(scene: Scene, clock: _Clock, frames: dict[int, Frame], shot: Shot) -> Taken:
    frame = frames[shot.frame] if shot.frame is not None else None
    rig = dict(shot.rig)
    if shot.defocus_px:
        rig["defocus_px"] = math.hypot(shot.defocus_px / scene.optics.finer, scene.spec.defocus_px)
    if shot.curl_px:
        rig["curl_px"] = shot.curl_px / scene.optics.finer
    usual = {name: getattr(scene.spec, name) for name in rig}
    if rig:
        scene.adjust(**rig)
    seconds = right_seconds(scene, frames, frame) * 2.0**shot.stops
    start, moved = _lay(scene, clock, frame, shot, seconds)
    mosaic = scene.expose(start, seconds, F_NUMBER, ISO)
    light = scene.light(start, seconds, F_NUMBER, ISO)
    clock.time = start + seconds + 60.0
    truth = truth_of(scene, shot, frame, light, moved)
    if rig:
        scene.adjust(**usual)
    return Taken(shot, mosaic, seconds, truth)


def right_seconds(scene: Scene, frames: dict[int, Frame], frame: Frame | None) -> float:
    """The exposure that suits a frame; one without a picture gets that of the roll's first picture."""
    found = scene.right_seconds(frame) if frame is not None else None
    if found is None:
        found = next(s for f in frames.values() if (s := scene.right_seconds(f)) is not None)
    return found


def _lay(scene: Scene, clock: _Clock, frame: Frame | None, shot: Shot, seconds: float) -> tuple[float, float]:
    """Film to its place, and what moves begins to: (start of the exposure, length of the path in px)."""
    clock.time += 60.0
    if frame is None:
        scene.lay(None)
        return clock.time, 0.0
    scene.lay(frame.strip, frame.centre + shot.off_mm)
    clock.time += 60.0
    if shot.moved_px and shot.moved_deg == 0:
        return _sliding(scene, clock, frame, shot, seconds), shot.moved_px
    if shot.moved_px:
        return _shaking(scene, clock, shot, seconds), shot.moved_px
    return clock.time, 0.0


def _sliding(scene: Scene, clock: _Clock, frame: Frame, shot: Shot, seconds: float) -> float:
    """The film goes on while the shutter is open, its mid-way at the frame's place."""
    lasting = _SLOW * seconds
    way = shot.moved_px / scene.optics.px_per_mm * lasting / (1.875 * seconds)
    scene.lay(frame.strip, frame.centre - way / 2)
    clock.time += 1.0
    scene.slide(to_mm=frame.centre + way / 2, seconds=lasting)
    return clock.time + lasting / 2 - seconds / 2


def _shaking(scene: Scene, clock: _Clock, shot: Shot, seconds: float) -> float:
    """A knock on the rig just before the shutter opens, as strong as the wanted path asks."""
    scene.vibration.oscillator = Oscillator(_HERTZ, _DAMPING, shot.moved_deg)
    times = 0.004 + np.linspace(0.0, seconds, 400)
    path = scene.vibration.oscillator.answer(1.0, times)
    scene.kick(1000.0 * shot.moved_px / scene.optics.px_per_mm / float(np.ptp(path)))
    return clock.time + 0.004
