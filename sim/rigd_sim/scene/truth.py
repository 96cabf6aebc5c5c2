"""What is really there: for tests alone, never for the programs under test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from rigd_sim.scene.roll import Frame

if TYPE_CHECKING:
    from rigd_sim.scene.scene import Scene


def describe(scene: Scene, at: float) -> dict[str, object]:
    """The truth at that time, JSON-ready.

    strip, position_mm   what lies in the gate (None: nothing), and which mm of it at the gate's middle
    moving               whether the film is under way
    displacement_um      the vibration (along, across) at this instant; envelope_um an upper limit of it
    px_per_mm            the scale at the sensor's middle
    gate_px              the holder's opening, corners in sensor px (clockwise from the upper left)
    frames               the strip's frames, see `_frame`
    roll                 every frame of the roll: number, strip, place, kind
    """
    strip, position = scene.motion.strip(at), scene.motion.position(at)
    along, across = scene.vibration.displacement(np.array([at]))
    frames = () if strip is None else scene.strips[strip - 1].frames
    half = np.array(scene.optics.gate_mm) / 2
    return {
        "strip": strip,
        "position_mm": position if strip is not None else None,
        "moving": at < scene.motion.last.finish,
        "displacement_um": [float(along[0]), float(across[0])],
        "envelope_um": scene.vibration.envelope_um(at),
        "px_per_mm": scene.optics.px_per_mm,
        "gate_px": _corners(scene, -half[0], half[0], half[1]),
        "frames": [_frame(scene, f, position) for f in frames],
        "roll": [_entry(f) for s in scene.strips for f in s.frames],
    }


def _entry(frame: Frame) -> dict[str, object]:
    return {"number": frame.number, "strip": frame.strip, "place": frame.place, "kind": frame.spec.kind}


def _frame(scene: Scene, frame: Frame, position: float) -> dict[str, object]:
    """One frame of the strip in the gate: where it lies, how large it is, what time it needs at f/8 and ISO 100."""
    return {
        **_entry(frame),
        "centre_mm": frame.centre,
        "size_mm": [frame.end - frame.start, frame.height],
        "corners_px": _corners(scene, frame.start - position, frame.end - position, frame.height / 2),
        "right_seconds": scene.right_seconds(frame),
    }


def _corners(scene: Scene, left: float, right: float, half: float) -> list[list[float]]:
    """Sensor px of a rectangle in film mm about the gate's middle, clockwise from the upper left."""
    corners = np.array([[[left, -half], [right, -half], [right, half], [left, half]]])
    seen: list[list[float]] = cv2.perspectiveTransform(corners, scene.optics.strip_to_sensor())[0].tolist()
    return seen
