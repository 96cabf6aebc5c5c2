"""Judge raw files from disk, without a camera, a ledger or a daemon."""

from __future__ import annotations

import time
from pathlib import Path

from msgspec import Struct

from rigd.errors import RawUnreadable
from rigd.imaging import Asked, Judgement, judge, open_raw
from rigd.model.values import Exposure
from rigd.model.words import Colour, Tone


class FileVerdict(Struct, frozen=True):
    """One file judged. Levels in stops (saturation is 0), `off_by_stops` from the aim (positive: too much light),
    offset of the picture's middle from the sensor's in mm (right, down), rotation in degrees, corners in sensor pixels
    (clockwise from the one that lies top left; null where not found). A file that cannot be decoded has `film` null
    and `readable` false, and `why` says what to do."""

    file: str
    film: str | None
    take: str
    why: str
    level_stops: float | None = None
    off_by_stops: float | None = None
    clipped_pct: float | None = None
    offset_mm: tuple[float, float] | None = None
    rotation_deg: float | None = None
    px_per_mm: float | None = None
    corners: tuple[tuple[float, float], ...] | None = None
    sharpness: float | None = None
    ms: float = 0.0
    readable: bool = True


def judge_file(path: Path, film_format: str, tone: Tone, colour: Colour) -> FileVerdict:
    """Judge one raw file; what the camera was told is taken from the file. Blocking.

    Raises:
        InputError: there is no such film format.
    """
    began = time.perf_counter()
    try:
        raw = open_raw(path)
    except RawUnreadable as error:
        return FileVerdict(str(path), None, "suspect", str(error), readable=False)
    exposure = Exposure(raw.seconds, "", raw.f_number or None, round(raw.iso) or None)
    judgement = judge(raw, Asked(film_format, tone, colour, exposure))
    return _verdict(path, judgement, 1e3 * (time.perf_counter() - began))


def _verdict(path: Path, judgement: Judgement, ms: float) -> FileVerdict:
    verdict, numbers = judgement.verdict, judgement.verdict.numbers
    level = verdict.level
    offset = (numbers["offset_x_mm"], numbers["offset_y_mm"]) if "offset_x_mm" in numbers else None
    corners = judgement.corners
    return FileVerdict(
        file=str(path),
        film=verdict.film,
        take=verdict.take,
        why=verdict.why,
        level_stops=level.centre if level else None,
        off_by_stops=level.off_stops if level else None,
        clipped_pct=level.clipped_pct if level else None,
        offset_mm=offset,
        rotation_deg=numbers.get("turn_deg"),
        px_per_mm=numbers.get("px_per_mm"),
        corners=tuple((float(x), float(y)) for x, y in corners) if corners is not None else None,
        sharpness=numbers.get("sharpness"),
        ms=round(ms, 1),
    )
