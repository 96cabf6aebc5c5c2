"""A 16-bit TIFF that is on the medium when the call returns (TIFF 6.0; ICC profile by ICC.1, embedded as tag 34675)."""

from __future__ import annotations

import mmap
import os
from functools import cache
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from numpy.typing import NDArray

from rigd.imaging.transfer import decoded

_BLOCK = 4096
"""Direct writes must begin at, and be as long as, whole blocks of the disk (4096 fits every disk in use)."""
_CHUNK = 8 << 20
"""Bytes a write: more is no faster, and this much is copied once, into memory that lies on a page's border."""

_CURVE_POINTS = 1024
"""Entries of a profile's curve; between them readers interpolate to well under a step of 16 bits."""


@cache
def srgb_profile() -> bytes:
    """The ICC profile of sRGB (IEC 61966-2-1), as Little CMS makes it."""
    return _dated(imagecodecs.cms_profile("srgb"))


@cache
def grey_profile() -> bytes:
    """The ICC profile of a grey scale with the transfer function of sRGB."""
    coded = np.linspace(0.0, 1.0, _CURVE_POINTS)
    return _dated(imagecodecs.cms_profile("gray", transferfunction=decoded(coded).astype(np.float32)))


def _dated(profile: bytes) -> bytes:
    """The profile with one date for all times (ICC.1, clause 7.2.8): the same picture is to give the same bytes."""
    numbers = b"".join(n.to_bytes(2, "big") for n in (2000, 1, 1, 0, 0, 0))
    return profile[:24] + numbers + profile[36:]


def write_tiff(path: Path, picture: NDArray[np.uint16], px_per_mm: float, description: str, xmp: bytes = b"") -> int:
    """Write (h, w) or (h, w, 3) uint16 to a new file; size in bytes. Resolution is samples an inch at the film
    (0.0: not known).

    Raises:
        FileExistsError: there is such a file. OSError: the disk failed; what was written is removed.
    """
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_CLOEXEC", 0), 0o644)
    try:
        os.close(descriptor)
        start, length = _header(path, picture, px_per_mm, description, xmp)
        _write_pixels(path, np.ascontiguousarray(picture), start, length)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return path.stat().st_size


def _header(path: Path, picture: NDArray[np.uint16], px_per_mm: float, description: str, xmp: bytes) -> tuple[int, int]:
    """All but the pixels, with a hole for them; where the hole begins, and how long it is."""
    profile = srgb_profile() if picture.ndim == 3 else grey_profile()
    dots = px_per_mm * 25.4 or 72.0
    extra = [(700, 1, len(xmp), xmp, True)] if xmp else []
    with tifffile.TiffWriter(path, byteorder="<") as file:
        placed = file.write(
            data=None, shape=picture.shape, dtype=np.uint16, photometric="rgb" if picture.ndim == 3 else "minisblack",
            resolution=(dots, dots), resolutionunit="INCH" if px_per_mm else "NONE", description=description.encode(),
            software="rigd", metadata=None, iccprofile=profile, extratags=extra, rowsperstrip=picture.shape[0],
            align=_BLOCK, returnoffset=True,
        )  # fmt: skip
    assert placed is not None  # one strip, not compressed: there is one place
    return int(placed[0]), int(placed[1])


def _write_pixels(path: Path, picture: NDArray[np.uint16], start: int, length: int) -> None:
    """Pixels into their hole, past the page cache where the system lets us: they are not read again soon, and flushing
    them later would hold up what else is written."""
    data = picture.reshape(-1).view(np.uint8).data
    whole = length - length % _BLOCK if start % _BLOCK == 0 else 0
    sent = _direct(path, data, start, whole) if whole else 0
    descriptor = os.open(path, os.O_WRONLY)
    try:
        while sent < length:
            sent += os.pwrite(descriptor, data[sent : sent + _CHUNK], start + sent)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _direct(path: Path, data: memoryview, start: int, whole: int) -> int:
    """Bytes written by direct writes: all `whole` of them, or none where the file system does not know them."""
    flag = getattr(os, "O_DIRECT", 0)
    if not flag:
        return 0
    try:
        descriptor = os.open(path, os.O_WRONLY | flag)
    except OSError:
        return 0
    try:
        with mmap.mmap(-1, _CHUNK) as aligned:
            return _direct_chunks(descriptor, data, start, whole, aligned)
    finally:
        os.close(descriptor)


def _direct_chunks(descriptor: int, data: memoryview, start: int, whole: int, aligned: mmap.mmap) -> int:
    sent = 0
    with memoryview(aligned) as view:
        while sent < whole:
            size = min(_CHUNK, whole - sent)
            view[:size] = data[sent : sent + size]
            try:
                written = os.pwrite(descriptor, view[:size], start + sent)
            except OSError:
                if sent:
                    raise
                return 0
            if written % _BLOCK:
                return sent + written - written % _BLOCK
            sent += written
    return sent
