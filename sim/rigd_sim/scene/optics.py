"""From film to sensor: scale, turn, tilt, blur, and the holder's gate.

Film coordinates are mm, the origin at the middle of the gate, x along the film (towards later frames), y across.
Sensor coordinates are px, the first pixel's middle at (0, 0).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from rigd_sim.scene.dirt import lay_dirt
from rigd_sim.scene.formats import FilmFormat, format_named
from rigd_sim.scene.planes import SUB_PIXEL, Bytes, Floats, Light, softened
from rigd_sim.scene.spec import SceneSpec

SENSOR_WIDTH_MM = 36.0
"""The sensor is 36 x 24 mm whatever its pixel count."""
WAVELENGTH_MM = 550e-6
PIXEL_BLUR_PX = 0.35
"""Gaussian that stands for the pixel's own square (sigma 0.29) and the lens at its best."""
_REFERENCE_WIDTH = 6000  # 24 MP: blurs of the spec are given in its pixels


@dataclass(frozen=True)
class Optics:
    """The copy camera's view, from a scene's spec."""

    spec: SceneSpec

    @property
    def form(self) -> FilmFormat:
        """The film format."""
        return format_named(self.spec.film_format)

    @property
    def px_per_mm(self) -> float:
        """Sensor pixels for one mm of film."""
        width, height = self.spec.sensor
        room = 1.0 + self.spec.margin
        return min(width / (self.form.along * room), height / (self.form.across * room))

    @property
    def magnification(self) -> float:
        """Size on the sensor over size on film."""
        return self.px_per_mm * SENSOR_WIDTH_MM / self.spec.sensor[0]

    @property
    def gate_mm(self) -> tuple[float, float]:
        """The holder's opening (along, across), mm: gaps and the neighbours' edges show along, rebate across."""
        form = self.form
        if form.window:
            return form.window
        if self.spec.opening_mm:
            return self.spec.opening_mm
        along = form.along + 2 * (form.gap + form.opening[0])
        return along, min(form.across + 2 * form.opening[1], form.film)

    def strip_to_sensor(self) -> Floats:
        """Homography from mm of the strip about the gate's middle to sensor px: as `film_to_sensor`, for film that may
        lie turned or with its other side up."""
        along, across = self.spec.lies
        return self.film_to_sensor() @ np.diag([float(along), float(across), 1.0])

    def film_to_sensor(self) -> Floats:
        """Homography from film mm to sensor px, float64 3 x 3."""
        width, height = self.spec.sensor
        turn = math.radians(self.spec.rotation_deg)
        scale = self.px_per_mm
        rotate = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1.0]])
        place = np.array([[scale, 0, (width - 1) / 2], [0, scale, (height - 1) / 2], [0, 0, 1.0]])
        result: Floats = place @ self._keystone() @ rotate
        return result

    def _keystone(self) -> Floats:
        """Perspective of a tilted camera: things at x mm off the axis lie x sin(tilt) nearer or farther."""
        about_across, about_along = (math.radians(a) for a in self.spec.tilt_deg)
        far = self.spec.distance_mm
        return np.array([[1.0, 0, 0], [0, 1.0, 0], [math.sin(about_across) / far, math.sin(about_along) / far, 1.0]])

    def blur_px(self, f_number: float) -> float:
        """Sigma of the whole blur, px: pixel, misfocus, and diffraction at the working aperture N (1 + m).

        0.42 lambda N is the Gaussian nearest to an Airy disc's middle.
        """
        working = f_number * (1.0 + self.magnification)
        pixel_mm = SENSOR_WIDTH_MM / self.spec.sensor[0]
        airy = 0.42 * WAVELENGTH_MM * working / pixel_mm
        # An out-of-focus disc shrinks with the aperture; the spec gives it at f/8.
        defocus = self.spec.defocus_px * self.finer * 8.0 / max(f_number, 1.0)
        return math.hypot(PIXEL_BLUR_PX, airy, defocus)

    @property
    def finer(self) -> float:
        """How many of this sensor's pixels lie in one of the 24 MP sensor's."""
        return self.spec.sensor[0] / _REFERENCE_WIDTH

    def gate_mask(self) -> Bytes:
        """The holder as the sensor sees it, (H, W) uint8: 255 open, 0 opaque, edges a little out of focus."""
        width, height = self.spec.sensor
        along, across = self.gate_mm
        corners = np.array([[-along, -across], [along, -across], [along, across], [-along, across]]) / 2
        seen = cv2.perspectiveTransform(corners[None], self.film_to_sensor())[0]
        mask = np.zeros((height, width), np.uint8)
        cv2.fillConvexPoly(mask, np.round(seen * (1 << SUB_PIXEL)).astype(np.int32), 255, cv2.LINE_AA, SUB_PIXEL)
        mask = softened(mask, 2.5 * self.finer)
        if self.spec.gate_hair_mm > 0 or self.spec.gate_speck_mm > 0:
            half = (along / 2, min(across, self.form.across) / 2)
            lay_dirt(mask, self.spec, self.px_per_mm, half, self.film_to_sensor())
        return mask

    def bulge(self) -> tuple[Light, Light]:
        """How far film that doesn't lie flat is out of focus over the field: (H,) and (W,) float32, product 0..1.

        1 in the frame's middle, 0 at its edges, where the holder presses it flat.
        """
        width, height = self.spec.sensor
        sides = ((height, self.form.across), (width, self.form.along))
        places = [(np.arange(n) - (n - 1) / 2) / (mm * self.px_per_mm) for n, mm in sides]
        across, along = (np.cos(np.pi * np.clip(p, -0.5, 0.5)).astype(np.float32) for p in places)
        return across, along
