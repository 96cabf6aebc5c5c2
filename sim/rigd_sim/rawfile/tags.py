"""The tags of a DNG file: which directory says what (DNG 1.4, Exif 2.3, TIFF 6.0)."""

from __future__ import annotations

from fractions import Fraction

from rigd_sim.rawfile.meta import ShotMeta
from rigd_sim.rawfile.tiff import ASCII, BYTE, LONG, RATIONAL, SHORT, SRATIONAL, UNDEFINED, Entry
from rigd_sim.scene.sensor import BLACK, CFA, WHITE

NEUTRAL = tuple(Fraction(share).limit_denominator(100) for share in CFA)
"""The light table's white as the sensor sees it (R, G, B)."""
_MATRIX = tuple(Fraction(n, 10000) for n in (7657, -2847, -607, -4083, 11966, 2389, -684, 1418, 5844))
"""XYZ to camera: a made-up but plausible sensor; nothing is measured with it."""

Tags = dict[int, Entry]


def first(
    meta: ShotMeta, thumb: tuple[int, int], exif_at: int, sub_ifds: tuple[int, int], data: tuple[int, int]
) -> Tags:
    """Directory 0: an 8-bit RGB thumbnail (width, height) at data = (offset, length), and what holds for the file."""
    width, height = thumb
    return {
        254: (LONG, [1]),
        256: (LONG, [width]),
        257: (LONG, [height]),
        258: (SHORT, [8, 8, 8]),
        259: (SHORT, [1]),
        262: (SHORT, [2]),
        271: (ASCII, meta.maker),
        272: (ASCII, meta.model),
        273: (LONG, [data[0]]),
        274: (SHORT, [1]),
        277: (SHORT, [3]),
        278: (LONG, [height]),
        279: (LONG, [data[1]]),
        282: (RATIONAL, [Fraction(72)]),
        283: (RATIONAL, [Fraction(72)]),
        284: (SHORT, [1]),
        296: (SHORT, [2]),
        305: (ASCII, "1.0"),
        306: (ASCII, meta.taken.strftime("%Y:%m:%d %H:%M:%S")),
        330: (LONG, list(sub_ifds)),
        34665: (LONG, [exif_at]),
        50706: (BYTE, bytes((1, 4, 0, 0))),
        50707: (BYTE, bytes((1, 1, 0, 0))),
        50708: (ASCII, f"{meta.maker} {meta.model}"),
        50721: (SRATIONAL, _MATRIX),
        50728: (RATIONAL, NEUTRAL),
        50735: (ASCII, meta.serial),
        50778: (SHORT, [23]),  # D50
    }


def raw(size: tuple[int, int], compression: int, layout: Tags) -> Tags:
    """The raw picture's directory; `layout` says where its strips or tiles lie."""
    width, height = size
    return {
        254: (LONG, [0]),
        256: (LONG, [width]),
        257: (LONG, [height]),
        258: (SHORT, [16]),
        259: (SHORT, [compression]),
        262: (SHORT, [32803]),
        277: (SHORT, [1]),
        284: (SHORT, [1]),
        33421: (SHORT, [2, 2]),
        33422: (BYTE, bytes((0, 1, 1, 2))),
        50710: (BYTE, bytes((0, 1, 2))),
        50711: (SHORT, [1]),
        50713: (SHORT, [1, 1]),
        50714: (SHORT, [BLACK]),
        50717: (LONG, [WHITE]),
        50719: (LONG, [0, 0]),
        50720: (LONG, [width, height]),
        50829: (LONG, [0, 0, height, width]),
        **layout,
    }


def preview(size: tuple[int, int], data: tuple[int, int]) -> Tags:
    """The embedded JPEG's directory: (width, height), data = (offset, length)."""
    width, height = size
    return {
        254: (LONG, [1]),
        256: (LONG, [width]),
        257: (LONG, [height]),
        258: (SHORT, [8, 8, 8]),
        259: (SHORT, [7]),
        262: (SHORT, [6]),
        273: (LONG, [data[0]]),
        277: (SHORT, [3]),
        278: (LONG, [height]),
        279: (LONG, [data[1]]),
        284: (SHORT, [1]),
        530: (SHORT, [2, 2]),
    }


def exif(meta: ShotMeta) -> Tags:
    """The Exif directory."""
    when = meta.taken.strftime("%Y:%m:%d %H:%M:%S")
    fraction = f"{meta.taken.microsecond // 1000:03d}"
    tags: Tags = {
        33434: (RATIONAL, [meta.exposure]),
        33437: (RATIONAL, [Fraction(meta.f_number).limit_denominator(10)]),
        34850: (SHORT, [1]),
        34855: (SHORT, [meta.iso]),
        36864: (UNDEFINED, b"0230"),
        36867: (ASCII, when),
        36868: (ASCII, when),
        37386: (RATIONAL, [Fraction(60)]),
        37521: (ASCII, fraction),
        37522: (ASCII, fraction),
        42033: (ASCII, meta.serial),
        42036: (ASCII, meta.lens),
        37393: (LONG, [meta.number]),
    }
    zone = meta.taken.strftime("%z")
    if zone:
        tags[36881] = (ASCII, f"{zone[:3]}:{zone[3:5]}")
    return tags
