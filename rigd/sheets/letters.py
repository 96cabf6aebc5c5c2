"""The letters of a contact sheet: the same font on paper and in pictures, whatever the machine has."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path

from PIL import ImageFont

MM_PER_PT = 25.4 / 72
# Widths are read at this size and scaled: large enough that rounding to pixels does not matter.
_SIZE = 200


def font_file(bold: bool) -> Path:
    """The TrueType file."""
    return Path(str(files("font_source_sans_pro") / "files" / f"SourceSansPro-{'Bold' if bold else 'Regular'}.ttf"))


@cache
def _font(bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_file(bold), _SIZE, layout_engine=ImageFont.Layout.BASIC)


def width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """How wide a line of text is."""
    return float(_font(bold).getlength(text)) / _SIZE * size_pt * MM_PER_PT


def fitted(text: str, size_pt: float, room_mm: float, bold: bool = False) -> str:
    """The text, cut with an ellipsis where it is too wide."""
    if width_mm(text, size_pt, bold) <= room_mm:
        return text
    kept = text
    while kept and width_mm(kept.rstrip() + "…", size_pt, bold) > room_mm:
        kept = kept[:-1]
    return kept.rstrip() + "…" if kept else ""


def wrapped(text: str, size_pt: float, room_mm: float, most: int, bold: bool = False) -> list[str]:
    """At most that many lines; a word that is too long is broken, what does not fit ends in an ellipsis."""
    lines: list[str] = []
    rest = text.strip()
    while rest:
        if len(lines) == most - 1:
            return [*lines, fitted(rest, size_pt, room_mm, bold)]
        line = _line(rest, size_pt, room_mm, bold)
        lines.append(line.rstrip())
        rest = rest[len(line) :].lstrip()
    return lines


def _line(text: str, size_pt: float, room_mm: float, bold: bool) -> str:
    """As much of the beginning as fits, to the end of a word if one ends there."""
    if width_mm(text, size_pt, bold) <= room_mm:
        return text
    fits = 1
    while fits < len(text) and width_mm(text[: fits + 1], size_pt, bold) <= room_mm:
        fits += 1
    blank = text.rfind(" ", 0, fits + 1)
    return text[: blank + 1] if blank > 0 else text[:fits]
