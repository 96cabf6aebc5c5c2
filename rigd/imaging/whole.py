"""Whether a raw file has all its bytes: what its own directories point at must lie inside it.

LibRaw fills what it cannot read with nothing, and does not always say so. The layout is that of TIFF 6.0, which DNG
and most makers' raws share; other containers are left to the decoder.
"""

from __future__ import annotations

import os
import struct
from pathlib import Path

# Tag numbers of TIFF 6.0 and DNG: where the parts of a picture lie, and how long they are.
_PARTS = ((273, 279), (324, 325), (513, 514))
_SUB_DIRECTORIES = 330
# Whole numbers: two or four bytes each.
_SIZES = {3: 2, 4: 4, 13: 4}
_CODES = {3: "H", 4: "I", 13: "I"}
# A raw has a handful of directories; a file that leads in circles must not keep us.
_MOST = 40

Tags = dict[int, tuple[int, ...]]


def is_cut_short(path: Path) -> bool:
    """True if a directory of this TIFF-like file points beyond its end. False for whole files and other containers."""
    size = path.stat().st_size
    with path.open("rb", buffering=0) as file:
        number = file.fileno()
        head = os.pread(number, 8, 0)
        if len(head) < 8 or head[:2] not in (b"II", b"MM"):
            return False
        order = "<" if head[:2] == b"II" else ">"
        if struct.unpack(order + "H", head[2:4])[0] != 42:
            return False
        try:
            return _beyond(number, order, struct.unpack(order + "I", head[4:])[0], size)
        except struct.error:
            return True


def _beyond(file: int, order: str, first: int, size: int) -> bool:
    waiting, seen = [first], set[int]()
    while waiting and len(seen) < _MOST:
        at = waiting.pop()
        if at == 0 or at in seen:
            continue
        seen.add(at)
        tags, following = _directory(file, order, at)
        waiting += [following, *tags.get(_SUB_DIRECTORIES, ())]
        for starts, lengths in _PARTS:
            pairs = zip(tags.get(starts, ()), tags.get(lengths, ()), strict=False)
            if any(start + length > size for start, length in pairs):
                return True
    return False


def _directory(file: int, order: str, at: int) -> tuple[Tags, int]:
    """The whole-number tags of one directory that matter here, and where the next begins (0: none)."""
    count = struct.unpack(order + "H", os.pread(file, 2, at))[0]
    body = os.pread(file, 12 * count + 4, at + 2)
    wanted = {_SUB_DIRECTORIES, *(tag for pair in _PARTS for tag in pair)}
    tags: Tags = {}
    for i in range(count):
        tag, kind, many = struct.unpack(order + "HHI", body[12 * i : 12 * i + 8])
        if tag in wanted and kind in _CODES:
            tags[tag] = _values(file, order, kind, many, body[12 * i + 8 : 12 * i + 12])
    return tags, struct.unpack(order + "I", body[12 * count : 12 * count + 4])[0]


def _values(file: int, order: str, kind: int, many: int, field: bytes) -> tuple[int, ...]:
    length = _SIZES[kind] * many
    data = field[:length] if length <= 4 else os.pread(file, length, struct.unpack(order + "I", field)[0])
    return struct.unpack(f"{order}{many}{_CODES[kind]}", data)
