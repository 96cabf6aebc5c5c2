"""Sheets of paper, and what can be drawn on them. Millimetres from the upper left corner; letters in points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rigd.sheets.values import RGB8


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, upright."""

    name: str
    width_mm: float
    height_mm: float


# ISO 216 and ANSI/ASME Y14.1 (8.5 by 11 inches).
PAPERS = {p.name: p for p in (Paper("A4", 210.0, 297.0), Paper("Letter", 215.9, 279.4))}


@dataclass(frozen=True)
class Text:
    """A line of text on the base line `y`. `grey`: 0 is black."""

    x: float
    y: float
    text: str
    size_pt: float
    bold: bool = False
    side: Literal["left", "right"] = "left"
    grey: float = 0.0


@dataclass(frozen=True)
class Box:
    """A rectangle: filled with `fill` (0 is black), or with a broken outline where that is None."""

    x: float
    y: float
    width: float
    height: float
    fill: float | None = None


@dataclass(frozen=True)
class Picture:
    """A picture in a rectangle of its own shape."""

    x: float
    y: float
    width: float
    height: float
    pixels: RGB8


Mark = Text | Box | Picture
