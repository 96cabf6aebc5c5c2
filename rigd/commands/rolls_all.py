"""`rigd rolls` with all of its commands."""

from __future__ import annotations

from rigd.commands import rolls_about, rolls_files, rolls_fix, rolls_plan, rolls_sheet, rolls_tally
from rigd.commands.rolls import rolls

__all__ = ["rolls", "rolls_about", "rolls_files", "rolls_fix", "rolls_plan", "rolls_sheet", "rolls_tally"]
