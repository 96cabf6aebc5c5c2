"""Append-only events with one owner: numbered schema, rows for totals, checkpoints of the fold."""

from __future__ import annotations

from rigd.ledger.hand import things_of
from rigd.ledger.ledger import Ledger
from rigd.ledger.looking import Looking
from rigd.ledger.runfile import RunFile, read_run_file, remove_run_file, write_run_file
from rigd.ledger.standing import JobTotals
from rigd.ledger.view import FrameToSee, RollTotals

__all__ = [
    "FrameToSee", "JobTotals", "Ledger", "Looking", "RollTotals", "RunFile", "read_run_file", "remove_run_file",
    "things_of", "write_run_file",
]  # fmt: skip
