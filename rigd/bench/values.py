"""What a check of the set-up tells."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

Passed = Literal["yes", "no", "no limit"]


class Figure(Struct, frozen=True):
    """One measured number: what it is of, its unit ("" for none), and one standard uncertainty, where it is known."""

    what: str
    value: float
    unit: str = ""
    uncertainty: float | None = None


class Limit(Struct, frozen=True):
    """What a figure should not exceed (or, `at_least`, not fall short of), and who says so."""

    value: float
    unit: str
    source: str
    at_least: bool = False


class Finding(Struct, frozen=True):
    """One check: the figure that decides, the others, the limit, whether it is kept, the grade of a published table
    where one exists ("" where none does), and what to do about it in one plain sentence."""

    check: str
    figure: Figure
    others: tuple[Figure, ...] = ()
    limit: Limit | None = None
    passed: Passed = "no limit"
    grade: str = ""
    advice: str = ""


def judged(
    check: str, figure: Figure, limit: Limit | None, advice: str, others: tuple[Figure, ...] = (), grade: str = ""
) -> Finding:
    """A finding with its verdict; the advice is given only where the limit is not kept."""
    if limit is None:
        return Finding(check, figure, others, None, "no limit", grade, advice)
    kept = figure.value >= limit.value if limit.at_least else figure.value <= limit.value
    return Finding(check, figure, others, limit, "yes" if kept else "no", grade, "" if kept else advice)
