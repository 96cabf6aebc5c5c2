"""What is told about frames as a table: one frame a line (RFC 4180), with where it lies on the film."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from rigd.model.metadata import FIELDS
from rigd.operations.describing import AboutFrame, FrameLine
from rigd.operations.plan_table import about_changes, refuse, rows, told

_WHERE = ("frame", "number", "strip", "place on strip", "mark")
COLUMNS = (*_WHERE, *FIELDS)


def written(frames: Iterable[AboutFrame]) -> str:
    """The table of these frames. What is inherited is empty; `-` says that nothing is known."""
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerow(COLUMNS)
    for one in frames:
        where = (one.frame_id, one.number, one.strip, one.place, one.mark)
        table.writerow((*where, *(told(getattr(one.own, name)) for name in FIELDS)))
    return text.getvalue()


def read(text: str) -> list[FrameLine]:
    """The lines of a table. Raises InputError with every line that cannot be read, and why."""
    found, wrong = [], []
    for number, cells in rows(text, COLUMNS, ("frame",)):
        if cells["frame"]:
            found.append(FrameLine(number, cells["frame"], about_changes(cells, FIELDS)))
        else:
            wrong.append(f"line {number}: it names no frame")
    refuse(wrong)
    return found
