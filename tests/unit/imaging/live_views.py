"""Live pictures of the simulated scene at chosen moments, as the camera gives them: JPEG files of 960 px."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import cv2
import numpy as np

from rigd.imaging.live import Bed, Lightest, Look, bed_of, look
from rigd.model.formats import FilmFormat, film_format
from rigd.model.words import Tone
from rigd_sim.scene import Scene, SceneSpec

WIDTH = 960


class View:
    """A scene whose time stands where it is put. `px_per_mm` of the live picture is the scene's own."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.at = 0.0
        self.film: FilmFormat = film_format(scene.spec.film_format)
        self.tone = Tone(scene.spec.tone)
        self.sensor_px_per_mm = scene.optics.px_per_mm
        self.px_per_mm = scene.optics.px_per_mm * WIDTH / scene.spec.sensor[0]

    def lay(self, strip: int | None, at_mm: float | None = None) -> None:
        """Lay film, and let everything come to rest."""
        self.scene.lay(strip, at_mm)
        self.at += 100.0

    def frame(self, kind: str = "picture", off_mm: float = 0.0) -> None:
        """The first frame of that kind, its middle that far right of the gate's."""
        found = next(f for s in self.scene.strips for f in s.frames if f.spec.kind == kind)
        self.lay(found.strip, found.centre - off_mm)

    def jpeg(self, at: float | None = None, seconds: float = 1 / 30) -> bytes:
        shown = self.scene.preview(self.at if at is None else at, WIDTH, seconds)
        return bytes(cv2.imencode(".jpg", np.ascontiguousarray(shown[:, :, ::-1]), [cv2.IMWRITE_JPEG_QUALITY, 85])[1])

    def look(self, at: float | None = None, seconds: float = 1 / 30) -> Look:
        return look(self.jpeg(at, seconds))

    def bed(self, sure: bool = True) -> Bed:
        """As learned from the open gate."""
        strip, position = self.scene.motion.strip(self.at), self.scene.motion.position(self.at)
        lightest = Lightest()
        self.lay(None)
        lightest.add(self.look())
        if strip is not None:
            self.lay(strip, position)
        found = bed_of(lightest, self.film, self.px_per_mm if sure else None)
        assert found is not None
        return found


@contextmanager
def view(film: str = "120-6x6", tone: str = "negative", colour: str = "mono", **spec: Any) -> Iterator[View]:
    """A scene of that film, 24 MP unless told."""
    times = [0.0]
    fields = {"megapixels": 24, **spec}
    with Scene(SceneSpec(film_format=film, tone=tone, colour=colour, **fields), lambda: times[0]) as scene:
        made = View(scene)
        scene.now = lambda: made.at
        yield made
