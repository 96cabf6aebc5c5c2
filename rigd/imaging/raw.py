"""Raw files: the mosaic as the camera recorded it, and what the file says about the exposure."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import numpy as np
import rawpy
from numpy.typing import NDArray

from rigd.errors import RawUnreadable
from rigd.imaging.whole import is_cut_short

# LibRaw's colour indices: red, green, blue, and 3 for the second green of a Bayer cell.
_CHANNEL_OF = {0: 0, 1: 1, 2: 2, 3: 1}
_T = TypeVar("_T")
_ADVICE = "Keep the file and take the frame again."


@dataclass(frozen=True, slots=True, eq=False)
class Raw:
    """One raw file, decoded once; judging and previews share it.

    `mosaic` is (H, W) uint16, the visible area, H and W even, a view of LibRaw's own memory (valid as long as any
    reference to this object lives). `pattern` names the channel (0 red, 1 green, 2 blue) at the cell's four places
    (0,0), (0,1), (1,0), (1,1); a sensor without colour filters has 1 four times. `black` is one value a place,
    `white` the saturation value, both in the mosaic's units.
    What the file says of the shot: `seconds`, `f_number`, `iso` (0.0 where it says nothing) and `taken`, the
    camera's own clock without a zone, None where it is missing."""

    mosaic: NDArray[np.uint16]
    pattern: tuple[int, int, int, int]
    black: tuple[float, float, float, float]
    white: float
    mono: bool
    seconds: float
    f_number: float
    iso: float
    taken: datetime | None
    _held: object = field(default=None, repr=False)


def open_raw(path: Path) -> Raw:
    """Decode the raw file at `path`. Files are read by path: reading from memory costs a further copy.

    Raises:
        RawUnreadable: missing, empty, truncated, no raw (a JPEG), or a sensor whose pattern rigd cannot judge.
    """
    if not path.is_file():
        raise RawUnreadable(f"There is no picture file {path.name}.", "It is missing or not a file.", _ADVICE)
    if path.stat().st_size == 0:
        raise RawUnreadable(f"{path.name} is empty.", "Nothing was written into it.", _ADVICE)
    if is_cut_short(path):
        raise RawUnreadable(f"{path.name} is cut short.", "It points at data that is not there.", _ADVICE)
    try:
        file = rawpy.RawPy()
        file.open_file(str(path))
        file.unpack()
        return _raw(path, file)
    except (rawpy.LibRawError, rawpy.NotSupportedError, OSError) as error:
        raise RawUnreadable(f"{path.name} cannot be decoded.", f"{_words(error)}.", _ADVICE) from error


def _words(error: Exception) -> str:
    said = error.args[0] if error.args else ""
    return said.decode("ascii", "replace") if isinstance(said, bytes) else str(said)


def _raw(path: Path, file: rawpy.RawPy) -> Raw:
    if file.raw_type is not rawpy.RawType.Flat or file.raw_image_visible.ndim != 2:
        raise _unfit(path, "it holds three values a pixel instead of one")
    mosaic = file.raw_image_visible
    height, width = (n - n % 2 for n in mosaic.shape)
    if height < 2 or width < 2:
        raise RawUnreadable(f"{path.name} holds no picture.", "Its raw area is empty.", _ADVICE)
    mono = file.num_colors == 1
    places = (0, 0, 0, 0) if mono else _places(path, file)
    blacks = file.black_level_per_channel
    other = file.other
    return Raw(
        mosaic=mosaic[:height, :width],
        pattern=(1, 1, 1, 1) if mono else _four([_CHANNEL_OF[p] for p in places]),
        black=_four([float(blacks[p]) for p in places]),
        white=float(file.white_level),
        mono=mono,
        seconds=max(0.0, float(other.shutter_speed)),
        f_number=max(0.0, float(other.aperture)),
        iso=max(0.0, float(other.iso_speed)),
        taken=_moment(other.timestamp),
        _held=file,
    )


def _four(values: list[_T]) -> tuple[_T, _T, _T, _T]:
    a, b, c, d = values
    return a, b, c, d


def _places(path: Path, file: rawpy.RawPy) -> tuple[int, int, int, int]:
    """LibRaw's colour index at the four places of the visible area's first cell."""
    pattern = file.raw_pattern
    if pattern is None or pattern.shape != (2, 2):
        raise _unfit(path, "its colour filters do not repeat every two pixels")
    if file.color_desc[:3] != b"RGB":
        raise _unfit(path, "its colour filters are not red, green and blue")
    top, left = file.sizes.top_margin, file.sizes.left_margin
    found = [int(file.raw_color(top + y, left + x)) for y in (0, 1) for x in (0, 1)]
    if sorted(_CHANNEL_OF.get(p, 9) for p in found) != [0, 1, 1, 2]:
        raise _unfit(path, "its colour filters are not one red, two green and one blue")
    return _four(found)


def _unfit(path: Path, why: str) -> RawUnreadable:
    return RawUnreadable(
        f"rigd cannot judge {path.name}: {why}.",
        "It judges sensors with a red, green and blue pattern of two by two pixels, and sensors without colour.",
        "Use a camera with such a sensor, or switch its reduced raw size off.",
    )


def _moment(stamp: datetime) -> datetime | None:
    """The camera's wall clock; LibRaw gives the start of 1970 where the file has no time."""
    return stamp.replace(tzinfo=None) if stamp.year > 1970 else None
