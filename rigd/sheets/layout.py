"""Where everything stands on the pages of a contact sheet."""

from __future__ import annotations

from dataclasses import dataclass

from rigd.sheets.bands import Block, blocks_of
from rigd.sheets.header import FOOT_MM, MARGIN_MM, foot, head, short_head
from rigd.sheets.paper import Box, Mark, Paper, Picture, Text
from rigd.sheets.values import Contact

_BETWEEN_MM = 3.0


@dataclass(frozen=True)
class Page:
    """One sheet of paper with its marks, in the order in which they are drawn and read."""

    paper: Paper
    marks: tuple[Mark, ...]


def lay_out(contact: Contact, paper: Paper) -> list[Page]:
    """The pages, at least one. Strips keep their order; a short one stands beside the one before it."""
    room = paper.width_mm - 2 * MARGIN_MM
    top, y = head(contact, paper)
    pages: list[list[Mark]] = [top]
    x, row = 0.0, 0.0
    for block in blocks_of(contact, room):
        if x > 0 and x + block.width > room + 0.01:
            x, y, row = 0.0, y + row, 0.0
        if y + block.height > paper.height_mm - FOOT_MM:
            marks, y = short_head(contact, paper)
            pages.append(marks)
            x, row = 0.0, 0.0
        pages[-1] += _moved(block, MARGIN_MM + x, y)
        x, row = x + block.width + _BETWEEN_MM, max(row, block.height)
    return [Page(paper, (*marks, *foot(contact, paper, n, len(pages)))) for n, marks in enumerate(pages, 1)]


def _moved(block: Block, x: float, y: float) -> list[Mark]:
    found: list[Mark] = []
    for mark in block.marks:
        match mark:
            case Text():
                moved: Mark = Text(mark.x + x, mark.y + y, mark.text, mark.size_pt, mark.bold, mark.side, mark.grey)
            case Box():
                moved = Box(mark.x + x, mark.y + y, mark.width, mark.height, mark.fill)
            case Picture():
                moved = Picture(mark.x + x, mark.y + y, mark.width, mark.height, mark.pixels)
        found.append(moved)
    return found
