"""One frame from its takes to its files: what a worker does. No ledger, no network; the same plan, the same bytes."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.errors import FileChanged, InputError
from rigd.handover.files import DISK, put, put_bytes
from rigd.handover.tiff import srgb_profile, write_tiff
from rigd.handover.values import FrameMade, FramePlan, Made, Source, Three
from rigd.imaging import Raw, open_raw
from rigd.imaging.framing import Corners
from rigd.imaging.positive import (
    Balance,
    Flat,
    Look,
    Paper,
    combine_channels,
    flat_field,
    merge_exposures,
    place,
    render,
    scaled,
    straighten,
)
from rigd.imaging.positive import tones as measure_tones
from rigd.store.hashing import digest_of

POSITIVES, PROOFS = "positives", "proofs"
_QUALITY = 90
_RESTORE = "Restore the file from a copy, or take the frame again; then hand over once more."


@dataclass
class _Clock:
    """Seconds by step."""

    last: float = field(default_factory=time.perf_counter)
    steps: dict[str, float] = field(default_factory=dict)

    def lap(self, name: str) -> None:
        now = time.perf_counter()
        self.steps[name] = self.steps.get(name, 0.0) + now - self.last
        self.last = now


def make(plan: FramePlan, root: Path, out: Path) -> FrameMade:
    """Make the positive (16-bit TIFF) and the proof (JPEG) of one frame, durable, under `out`.

    Args:
        root: the job's folder, which is only read.
        out: the delivery's folder; `positives/` and `proofs/` in it are made if missing.

    Raises:
        FileChanged: a raw is gone or is not what was stored. RawUnreadable: it cannot be decoded.
        InputError: the takes do not fit together. DiskFull, DiskFaulty.
    """
    clock = _Clock()
    raws = [_checked(root, source) for source in plan.sources]
    flat = _flat(root, plan.flats) if plan.flats else None
    clock.lap("read")
    picture = developed(plan, raws, flat)
    clock.lap("picture")
    files = (_tiff(plan, picture, out), _proof(plan, picture, out))
    clock.lap("write")
    return FrameMade(plan.frame_id, plan.key(), files, picture.shape[1], picture.shape[0], clock.steps)


def developed(plan: FramePlan, raws: list[Raw], flat: Flat | None) -> NDArray[np.uint16]:
    """The finished picture of decoded takes: evened out, demosaiced, printed, cut and turned. Raises InputError."""
    mosaic, seconds = _one_mosaic(plan, raws, flat)
    picture = render(mosaic, raws[0].pattern, _look(plan, seconds))
    return _cut(plan, picture, (mosaic.shape[1], mosaic.shape[0]))


@lru_cache(maxsize=1)
def _flat(root: Path, sources: tuple[Source, ...]) -> Flat:
    """The flat field of a roll's frames, which all have the same."""
    return flat_field([_checked(root, source) for source in sources])


def tones(plan: FramePlan, root: Path) -> list[Three]:
    """The picture's densities over the base, for the balance of its roll. Raises as `make` does."""
    raw = _checked(root, plan.sources[0])
    found = measure_tones(raw, _clear(plan, plan.sources[0].seconds), corners_px(plan, raw))
    return [(float(r), float(g), float(b)) for r, g, b in found]


def corners_px(plan: FramePlan, raw: Raw) -> Corners | None:
    """The picture's corners in sensor pixels; None where they were not found."""
    height, width = raw.mosaic.shape
    return _pixels(plan, (width, height))


def _pixels(plan: FramePlan, size: tuple[int, int]) -> Corners | None:
    if len(plan.lie.corners) != 4:
        return None
    a, b, c, d = ((x * size[0], y * size[1]) for x, y in plan.lie.corners)
    return a, b, c, d


def _checked(root: Path, source: Source) -> Raw:
    """The raw of a take, decoded, after its bytes were found to be those that were stored."""
    path = root / source.path
    try:
        found, _ = digest_of(DISK, path)
    except FileNotFoundError:
        raise FileChanged(f"{source.path} is gone.", "It was stored, and is not there now.", _RESTORE) from None
    if found != source.sha256:
        raise FileChanged(f"{source.path} is not what was stored.", "Its checksum is another.", _RESTORE)
    return open_raw(path)


def _one_mosaic(plan: FramePlan, raws: list[Raw], flat: Flat | None) -> tuple[NDArray[np.uint16], float]:
    """The takes of a frame as one mosaic, and the time that its scale belongs to."""
    if len({raw.mosaic.shape for raw in raws}) > 1:
        raise InputError(f"The takes of {plan.name} differ in size.", "They are of different cameras or settings.",
                         "Choose other takes to count: rigd retake, or mark one.")  # fmt: skip
    takes = list(zip(plan.sources, raws, strict=True))
    lamps = {source.lamp: raw for source, raw in takes if source.lamp is not None}
    if len(lamps) == 3:
        red, green, blue = (scaled(lamps[lamp], flat) for lamp in range(3))
        return combine_channels(red, green, blue, raws[0].pattern), plan.sources[0].seconds
    order = sorted(takes, key=lambda pair: pair[0].seconds)
    mosaic, seconds = scaled(order[0][1], flat), order[0][0].seconds
    for source, raw in order[1:]:
        if source.seconds > seconds:
            mosaic = merge_exposures(mosaic, scaled(raw, flat), source.seconds / seconds)
    return mosaic, seconds


def _clear(plan: FramePlan, seconds: float) -> Three:
    red, green, blue = (2.0**level * seconds for level in plan.clear_1s)
    return red, green, blue


def _look(plan: FramePlan, seconds: float) -> Look:
    paper = Paper(plan.print.contrast, plan.print.white, plan.print.black)
    matrix = (plan.matrix[0], plan.matrix[1], plan.matrix[2]) if len(plan.matrix) == 3 else None
    clear, balance = _clear(plan, seconds), Balance(plan.gamma, plan.middle)
    return Look(plan.tone, plan.colour, clear, balance, paper, plan.print.lighter_stops, matrix)


def _cut(plan: FramePlan, picture: NDArray[np.uint16], size: tuple[int, int]) -> NDArray[np.uint16]:
    lie, (width, height) = plan.lie, size
    corners = _pixels(plan, size)
    if corners is None:
        corners = ((0.0, 0.0), (width - 1.0, 0.0), (width - 1.0, height - 1.0), (0.0, height - 1.0))
        return straighten(picture, place(corners, 0.5, lie.quarters, lie.mirrored))
    try:
        return straighten(picture, place(corners, lie.margin_mm * lie.px_per_mm, lie.quarters, lie.mirrored))
    except ValueError as error:
        remedy = "Hand over its whole sight instead."
        raise InputError(f"{plan.name} cannot be cut out: {error}.", "", remedy) from error


def _tiff(plan: FramePlan, picture: NDArray[np.uint16], out: Path) -> Made:
    words = plan.about.title or plan.name
    return put(
        out, f"{POSITIVES}/{plan.name}.tif", lambda part: write_tiff(part, picture, plan.lie.px_per_mm, words, plan.xmp)
    )


def _proof(plan: FramePlan, picture: NDArray[np.uint16], out: Path) -> Made:
    longest = max(picture.shape[:2])
    if longest > plan.proof_px:
        scale = plan.proof_px / longest
        picture = np.asarray(cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint16)
    small = np.asarray(np.rint(picture / 257.0), np.uint8)
    shown = small if small.ndim == 2 else small[:, :, ::-1]
    done, coded = cv2.imencode(".jpg", shown, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    if not done:
        raise InputError(
            f"The proof of {plan.name} could not be encoded.", "", "Choose another size of the proofs.",
        )  # fmt: skip
    body = _with_profile(bytes(coded)) if small.ndim == 3 else bytes(coded)
    return put_bytes(out, f"{PROOFS}/{plan.name}.jpg", body)


def _with_profile(jpeg: bytes) -> bytes:
    """An ICC profile in its APP2 segment, right behind the JFIF header (ICC.1:2010, annex B.4)."""
    profile = b"ICC_PROFILE\0\x01\x01" + srgb_profile()
    after = 4 + int.from_bytes(jpeg[4:6], "big") if jpeg[2:4] == b"\xff\xe0" else 2
    return jpeg[:after] + b"\xff\xe2" + (len(profile) + 2).to_bytes(2, "big") + profile + jpeg[after:]
