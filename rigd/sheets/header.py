"""What stands above and below the strips: the roll, what is told about it, whether it comes out even, and the page."""

from __future__ import annotations

from rigd.sheets.letters import MM_PER_PT, fitted, width_mm, wrapped
from rigd.sheets.paper import Mark, Paper, Text
from rigd.sheets.values import Contact

MARGIN_MM = 12.0
FOOT_MM = 14.0
_TITLE_PT, _SMALL_PT, _FACT_PT = 17.0, 8.0, 8.0
_NAME_MM, _GAP_MM = 21.0, 5.0
_ROW_MM = _FACT_PT * MM_PER_PT * 1.3
_LINES = 3


def head(contact: Contact, paper: Paper) -> tuple[list[Mark], float]:
    """The marks above the strips of the first page, and where the strips begin."""
    room = paper.width_mm - 2 * MARGIN_MM
    y = MARGIN_MM - _TITLE_PT * MM_PER_PT * 0.15
    marks: list[Mark] = []
    for line in wrapped(contact.title, _TITLE_PT, room, 2, bold=True):
        y += _TITLE_PT * MM_PER_PT * 1.15
        marks.append(Text(MARGIN_MM, y, line, _TITLE_PT, bold=True))
    for text, size in ((contact.job, 10.0), (contact.sum, 9.0)):
        for line in wrapped(text, size, room, 2):
            y += size * MM_PER_PT * 1.35
            marks.append(Text(MARGIN_MM, y, line, size))
    facts, y = _facts(contact, room, y + 2.5)
    return [*marks, *facts], y + 4.0


def _facts(contact: Contact, room: float, y: float) -> tuple[list[Mark], float]:
    """Names and values in two columns: the first half on the left, the others beside it."""
    column = (room - _GAP_MM) / 2
    half = (len(contact.facts) + 1) // 2
    marks: list[Mark] = []
    lowest = y
    for side, some in enumerate((contact.facts[:half], contact.facts[half:])):
        x, row = MARGIN_MM + side * (column + _GAP_MM), y
        for name, value in some:
            marks.append(Text(x, row + _ROW_MM, name, _FACT_PT, grey=0.35))
            for line in wrapped(value, _FACT_PT, column - _NAME_MM, _LINES):
                row += _ROW_MM
                marks.append(Text(x + _NAME_MM, row, line, _FACT_PT))
        lowest = max(lowest, row)
    return marks, lowest


def short_head(contact: Contact, paper: Paper) -> tuple[list[Mark], float]:
    """The same for every further page: the roll alone."""
    room = paper.width_mm - 2 * MARGIN_MM
    y = MARGIN_MM + 11.0 * MM_PER_PT
    title = fitted(contact.title, 11.0, room * 0.6, bold=True)
    rest = fitted(contact.job, _SMALL_PT, room - width_mm(title, 11.0, bold=True) - _GAP_MM)
    right = MARGIN_MM + room
    return [
        Text(MARGIN_MM, y, title, 11.0, bold=True), Text(right, y, rest, _SMALL_PT, side="right", grey=0.35),
    ], y + 5.0  # fmt: skip


def foot(contact: Contact, paper: Paper, page: int, pages: int) -> list[Mark]:
    """The line at the bottom: how to read the numbers, how old this is, and the page."""
    y, right = paper.height_mm - MARGIN_MM + 2.0, paper.width_mm - MARGIN_MM
    how = f"Below each picture: its number on the roll, and on the right its edge mark. {contact.note}."
    return [
        Text(MARGIN_MM, y, how, 6.5, grey=0.35),
        Text(right, y, f"{page} of {pages}", 6.5, side="right", grey=0.35),
    ]
