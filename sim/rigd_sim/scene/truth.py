"""What is really there: for tests alone, never for the programs under test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from rigd_sim.scene.roll import Frame

if TYPE_CHECKING:
    from rigd_sim.scene.scene import Scene


def describe(scene: Scene, at: float) -> dict[str, object]:
    """A picture of the truth at that time, JSON-ready: film, frames in view, movement, geometry."""
    strip, position = scene.motion.strip(at), scene.motion.position(at)
    along, across = scene.vibration.displacement(np.array([at]))
    frames = () if strip is None else scene.strips[strip - 1].frames
    return {
        "strip": strip,
        "position_mm": position if strip is not None else None,
        "moving": at < scene.motion.last.finish,
        "displacement_um": [float(along[0]), float(across[0])],
        "envelope_um": scene.vibration.envelope_um(at),
        "px_per_mm": scene.optics.px_per_mm,
        "frames": [_frame(scene, f, position) for f in frames],
        "roll": [
            {"number": f.number, "strip": s.number, "place": f.place, "kind": f.spec.kind}
            for s in scene.strips
            for f in s.frames
        ],
    }


def _frame(scene: Scene, frame: Frame, position: float) -> dict[str, object]:
    """One frame of the strip in the gate; corners in sensor px, clockwise from the upper left."""
    left, right, half = frame.start - position, frame.end - position, frame.height / 2
    corners = np.array([[[left, -half], [right, -half], [right, half], [left, half]]])
    seen = cv2.perspectiveTransform(corners, scene.optics.film_to_sensor())[0]
    return {
        "number": frame.number,
        "place": frame.place,
        "kind": frame.spec.kind,
        "centre_mm": frame.centre,
        "size_mm": [frame.end - frame.start, frame.height],
        "corners_px": seen.tolist(),
    }
