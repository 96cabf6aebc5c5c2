"""Contact sheets: positives by strip with what is told about them, laid out on paper, drawn as PDF or PNG.

Pure functions on arrays and frozen values; no ledger, no device, no file but what the caller writes.
"""

from __future__ import annotations

from rigd.sheets.content import as_seen, contact
from rigd.sheets.layout import Page, lay_out
from rigd.sheets.paper import PAPERS, Paper
from rigd.sheets.pdf import draw_pdf
from rigd.sheets.png import draw_png
from rigd.sheets.values import PICTURE_PX, Cell, Contact, Piece

__all__ = [
    "PAPERS", "PICTURE_PX", "Cell", "Contact", "Page", "Paper", "Piece", "as_seen", "contact", "draw_pdf", "draw_png",
    "lay_out",
]  # fmt: skip
