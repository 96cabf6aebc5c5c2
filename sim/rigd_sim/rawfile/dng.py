"""The DNG writer: a Bayer mosaic becomes a file that LibRaw opens.

Layout: header, directories (0: thumbnail and the shot's facts; its children: the raw picture, a JPEG preview; Exif),
thumbnail, JPEG, raw. Everything small comes first, so the raw picture is copied once, into its place.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd_sim.rawfile import tags
from rigd_sim.rawfile.lossless import Tiles, encode_tiles
from rigd_sim.rawfile.meta import ShotMeta
from rigd_sim.rawfile.tiff import LONG, directory, directory_size

Compression = Literal["none", "lossless-jpeg"]

_THUMB_WIDTH = 240
_ALIGN = 4096
"""The raw picture begins on a page: readers that map the file like that."""


def encode_dng(
    mosaic: NDArray[np.uint16], meta: ShotMeta, preview_rgb: NDArray[np.uint8], compression: Compression = "none"
) -> memoryview:
    """The whole file, as one block of bytes.

    mosaic       (H, W) uint16, H and W even, RGGB, 14 bits.
    preview_rgb  (h, w, 3) uint8 RGB, stored as JPEG.
    Raises ValueError for another shape, type or compression.
    """
    if mosaic.ndim != 2 or mosaic.dtype != np.uint16 or mosaic.shape[0] % 2 or mosaic.shape[1] % 2:
        raise ValueError(f"a mosaic is (even, even) uint16, not {mosaic.shape} {mosaic.dtype}")
    if compression not in ("none", "lossless-jpeg"):
        raise ValueError(f"compression is none or lossless-jpeg, not {compression!r}")
    jpeg = _jpeg(preview_rgb)
    thumb = _thumbnail(preview_rgb)
    tiles = encode_tiles(mosaic) if compression == "lossless-jpeg" else None
    head, raw_at = _head(mosaic.shape, meta, preview_rgb.shape, jpeg, thumb, tiles)
    return _assemble(head, raw_at, mosaic, tiles)


def _head(
    shape: tuple[int, ...],
    meta: ShotMeta,
    preview: tuple[int, ...],
    jpeg: bytes,
    thumb: NDArray[np.uint8],
    tiles: Tiles | None,
) -> tuple[bytes, int]:
    """All bytes before the raw picture, and where that begins."""
    size, thumb_size = (shape[1], shape[0]), (thumb.shape[1], thumb.shape[0])

    def directories(at: list[int]) -> list[tags.Tags]:
        """The four directories, once the offsets of `_places` are known."""
        exif_at, raw_dir, preview_dir, thumb_at, jpeg_at, raw_at = at
        layout = _layout(shape, tiles, raw_at)
        return [
            tags.first(meta, thumb_size, exif_at, (raw_dir, preview_dir), (thumb_at, thumb.nbytes)),
            tags.exif(meta),
            tags.raw(size, 1 if tiles is None else 7, layout),
            tags.preview((preview[1], preview[0]), (jpeg_at, len(jpeg))),
        ]

    at, starts = _places(directories, thumb.nbytes, len(jpeg))
    parts = [struct.pack("<2sHI", b"II", 42, 8)]
    parts += [directory(d, start) for d, start in zip(directories(at), starts, strict=True)]
    body = b"".join([*parts, thumb.tobytes(), jpeg])
    return body.ljust(at[-1], b"\0"), at[-1]


def _places(directories: Callable[[list[int]], list[tags.Tags]], thumb: int, jpeg: int) -> tuple[list[int], list[int]]:
    """Offsets of (Exif, raw directory, preview directory, thumbnail, JPEG, raw), and of the four directories."""
    starts, end = [], 8
    for entries in directories([0] * 6):
        starts.append(end)
        end += directory_size(entries)
    raw_at = -(-(end + thumb + jpeg) // _ALIGN) * _ALIGN
    return [*starts[1:], end, end + thumb, raw_at], starts


def _layout(shape: tuple[int, ...], tiles: Tiles | None, raw_at: int) -> tags.Tags:
    """Where the raw picture's data lies: one strip, or tiles one after another."""
    if tiles is None:
        return {273: (LONG, [raw_at]), 278: (LONG, [shape[0]]), 279: (LONG, [shape[0] * shape[1] * 2])}
    lengths = [len(d) for d in tiles.data]
    offsets = [raw_at + n for n in np.cumsum([0, *[n + (n & 1) for n in lengths[:-1]]]).tolist()]
    return {
        322: (LONG, [tiles.width]),
        323: (LONG, [tiles.height]),
        324: (LONG, offsets),
        325: (LONG, lengths),
    }


def _assemble(head: bytes, raw_at: int, mosaic: NDArray[np.uint16], tiles: Tiles | None) -> memoryview:
    """Head and raw picture in one block; the uncompressed picture is copied once."""
    size = mosaic.nbytes if tiles is None else sum(len(d) + (len(d) & 1) for d in tiles.data)
    block = np.empty(raw_at + size, np.uint8)
    block[:raw_at] = np.frombuffer(head, np.uint8)
    if tiles is None:
        block[raw_at:].view("<u2").reshape(mosaic.shape)[:] = mosaic
        return block.data
    at = raw_at
    for data in tiles.data:
        block[at : at + len(data)] = np.frombuffer(data, np.uint8)
        if len(data) & 1:
            block[at + len(data)] = 0
        at += len(data) + (len(data) & 1)
    return block.data


def _jpeg(picture: NDArray[np.uint8]) -> bytes:
    done, data = cv2.imencode(".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 85])
    if not done:
        raise ValueError("the preview could not be made a JPEG")
    return data.tobytes()


def _thumbnail(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    height = round(_THUMB_WIDTH * picture.shape[0] / picture.shape[1])
    return cv2.resize(picture, (_THUMB_WIDTH, height), interpolation=cv2.INTER_AREA)  # type: ignore[return-value]
