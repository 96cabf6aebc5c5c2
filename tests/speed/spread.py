"""Median and spread of a series."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median


def spread(values: Sequence[float], digits: int = 3) -> dict[str, float | int]:
    """Median, smallest and largest of the values, and how many there are."""
    low, high = min(values), max(values)
    figures = {"median": median(values), "min": low, "max": high}
    return {**{name: round(value, digits) for name, value in figures.items()}, "runs": len(values)}
