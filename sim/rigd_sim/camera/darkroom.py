"""From an exposure to a file: what the body computes between shutter and card. Blocking; runs in a thread."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.camera.card import Picture
from rigd_sim.camera.scales import working_aperture
from rigd_sim.camera.sight import Compression, Sight
from rigd_sim.rawfile import ShotMeta, encode_dng

THUMB_WIDTH = 160  # px, the size that the Exif standard asks of a thumbnail
PREVIEW_WIDTH = 960  # px, of the preview inside the raw file
BITS = 14  # depth of the raw data


@dataclass(frozen=True)
class Exposure:
    """One shot: scene time of its start, settings, calendar time that goes into the file, and its name."""

    start: float
    seconds: Fraction
    f_number: float
    iso: int
    taken: datetime
    number: int
    folder: str
    name: str

    @property
    def end(self) -> float:
        return self.start + float(self.seconds)


def develop(sight: Sight, exposure: Exposure, serial: str, compression: Compression) -> Picture:
    """Read the sensor out and write the raw file."""
    light = (float(exposure.seconds), working_aperture(exposure.f_number), exposure.iso)
    mosaic = sight.expose(exposure.start, *light)
    middle = exposure.start + light[0] / 2
    preview = sight.preview(middle, PREVIEW_WIDTH, *light, gain="follow")
    data = memoryview(encode_dng(mosaic, _meta(exposure, serial), preview, compression))
    height, width = mosaic.shape
    return Picture(
        exposure.folder, exposure.name, data, exposure.taken, width, height, BITS, *_thumb(preview)
    )  # fmt: skip


def _thumb(preview: NDArray[np.uint8]) -> tuple[bytes, int, int]:
    """The thumbnail as JPEG, its width and its height."""
    height = round(THUMB_WIDTH * preview.shape[0] / preview.shape[1])
    small = cv2.resize(preview, (THUMB_WIDTH, height), interpolation=cv2.INTER_AREA)
    return jpeg(np.asarray(small, np.uint8), quality=80), THUMB_WIDTH, height


def jpeg(rgb: NDArray[np.uint8], quality: int) -> bytes:
    """An RGB picture as a JPEG file."""
    done, data = cv2.imencode(".jpg", rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not done:
        raise ValueError(f"no JPEG of a picture of shape {rgb.shape}")
    return data.tobytes()


def _meta(exposure: Exposure, serial: str) -> ShotMeta:
    return ShotMeta(
        seconds=exposure.seconds,
        f_number=exposure.f_number,
        iso=exposure.iso,
        taken=exposure.taken,
        serial=serial,
        number=exposure.number,
    )
