"""One strip as a band: what stands above it, its pictures on the film's own proportions, what stands below each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from rigd.sheets.letters import MM_PER_PT, fitted, wrapped
from rigd.sheets.paper import Box, Mark, Picture, Text
from rigd.sheets.values import Cell, Contact, Piece

# Larger than on film would show nothing more on paper; sheets are made smaller, so that a page holds six.
_TALLEST_MM = 60.0
# A picture that is less high shows nothing: a longer strip goes on in another band.
_LEAST_MM = 15.0
_EDGE_MM = 1.2
_HEADING_PT, _NUMBER_PT, _WORDS_PT = 7.5, 7.5, 6.0
_LINE = 1.25
_FILM, _WORD_LINES = 0.12, 2
# Under it two captions would run into each other.
_LEAST_CELL_MM = 11.0


@dataclass(frozen=True)
class Block:
    """A band with its own marks, from its upper left corner."""

    width: float
    height: float
    marks: tuple[Mark, ...]


def blocks_of(contact: Contact, room_mm: float) -> Iterator[Block]:
    """The bands of all strips, none wider than the room; all pictures at one scale."""
    scale, most = _scale(contact, room_mm - 2 * _EDGE_MM)
    pitch = max(contact.pitch_mm * scale, _LEAST_CELL_MM)
    for piece in contact.pieces:
        for start in range(0, max(1, len(piece.cells)), most):
            heading = piece.heading if start == 0 else f"{piece.heading}  (goes on)"
            yield _band(contact, Piece(heading, piece.cells[start : start + most]), scale, pitch)


def _scale(contact: Contact, room: float) -> tuple[float, int]:
    """The scale, and how many cells stand in one band: as on film where that fits; the longest strip in one band, if
    its pictures are high enough then; else in as few bands of like length as make them so."""
    longest = max((len(piece.cells) for piece in contact.pieces), default=1) or 1
    least = min(_LEAST_MM / contact.across_mm, room / contact.pitch_mm)
    fit = max(1, int(room / max(contact.pitch_mm * least, _LEAST_CELL_MM) + 0.001))
    most = ceil(longest / ceil(longest / fit))
    return min(1.0, _TALLEST_MM / contact.across_mm, room / (most * contact.pitch_mm)), most


def _band(contact: Contact, piece: Piece, scale: float, pitch: float) -> Block:
    height = contact.across_mm * scale
    top = _HEADING_PT * MM_PER_PT * _LINE
    width = len(piece.cells) * pitch + 2 * _EDGE_MM
    heading = fitted(piece.heading, _HEADING_PT, max(width, 2 * pitch))
    marks: list[Mark] = [
        Text(0, top - 0.9, heading, _HEADING_PT, grey=0.25),
        Box(0, top, width, height + 2 * _EDGE_MM, _FILM),
    ]
    frame = (contact.along_mm * scale, height)
    for place, cell in enumerate(piece.cells):
        left = _EDGE_MM + place * pitch
        marks += _picture(cell, left + (pitch - frame[0]) / 2, top + _EDGE_MM, frame)
        room = max(frame[0], _LEAST_CELL_MM - 1.0)
        marks += _caption(cell, left + (pitch - room) / 2, top + height + 2 * _EDGE_MM, room)
    below = (_NUMBER_PT + _WORD_LINES * _WORDS_PT) * MM_PER_PT * _LINE
    return Block(width, top + height + 2 * _EDGE_MM + below + 1.5, tuple(marks))


def _picture(cell: Cell, left: float, top: float, frame: tuple[float, float]) -> list[Mark]:
    width, height = frame
    if cell.picture is None:
        return [Box(left, top, width, height, 1.0), Box(left + 0.4, top + 0.4, width - 0.8, height - 0.8)]
    rows, columns = cell.picture.shape[:2]
    fit = min(width / columns, height / rows)
    w, h = columns * fit, rows * fit
    return [Picture(left + (width - w) / 2, top + (height - h) / 2, w, h, cell.picture)]


def _caption(cell: Cell, left: float, top: float, room: float) -> list[Mark]:
    """Left the number on the roll, right the edge mark; below it what is to be said."""
    first = top + _NUMBER_PT * MM_PER_PT * 1.1
    marks: list[Mark] = [Text(left, first, str(cell.number or "–"), _NUMBER_PT, bold=True)]
    if cell.mark:
        mark = fitted(cell.mark, _NUMBER_PT, room / 2)
        marks.append(Text(left + room, first, mark, _NUMBER_PT, side="right", grey=0.25))
    lines = wrapped(", ".join(cell.words), _WORDS_PT, room, _WORD_LINES)
    for number, line in enumerate(lines, 1):
        marks.append(Text(left, first + number * _WORDS_PT * MM_PER_PT * _LINE, line, _WORDS_PT, bold=cell.loud))
    return marks
