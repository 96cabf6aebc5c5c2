"""The verb that plans rolls from a spreadsheet's table as it is, for whoever has only its text."""

from __future__ import annotations

from rigd.operations.desk import Desk
from rigd.operations.plan_table import read
from rigd.operations.plans import Table, TakenOver, take_over
from rigd.operations.verb import Args, Verb


class TableText(Args, frozen=True):
    """`text`: comma-separated, the first line names the columns. `check`: only look whether it fits."""

    text: str
    check: bool = False


async def take_over_text(desk: Desk, args: TableText, by: str) -> TakenOver:
    """Plan and change the rolls of a table that a spreadsheet wrote: all lines, or none if one does not fit."""
    return await take_over(desk, Table(tuple(read(args.text)), args.check), by)


_TABLE = "label,format\nNorth quay 3,135\n"

TEXT = Verb("plan/text", TableText, TakenOver, take_over_text, TableText(_TABLE, check=True))

VERBS = (TEXT,)
