"""Edge marks: the numbers that are printed beside the pictures, `00`, `0`, `1` ... and half steps such as `12A`.

A mark is a label on a frame with an id of its own: it may be missing, come twice, or say nothing that can be counted.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from rigd.errors import InputError

_COUNTED = re.compile(r"(00|\d{1,3})(A?)")


def order_of(mark: str) -> float | None:
    """Where a mark stands on the film: `00` is -1, `0` is 0, `12A` is 12.5; None for one that cannot be counted."""
    match = _COUNTED.fullmatch(mark.strip().upper())
    if match is None:
        return None
    number = -1 if match[1] == "00" else int(match[1])
    return number + (0.5 if match[2] else 0.0)


def series(first: str, count: int) -> tuple[str, ...]:
    """`count` marks from `first` on, one a frame. Raises InputError where `first` cannot be counted."""
    start = order_of(first)
    if start is None:
        raise InputError(f"{first!r} cannot be counted on from.", "", "Use a mark such as 00, 0, 1 or 12A.")
    return tuple(_written(start + n) for n in range(count))


def direction(marks: Sequence[str]) -> int | None:
    """1 if the marks rise along the film, -1 if they fall, None where they do not tell."""
    known = [place for mark in marks if (place := order_of(mark)) is not None]
    steps = [b - a for a, b in pairwise(known)]
    if not steps or 0 in steps:
        return None
    return 1 if min(steps) > 0 else -1 if max(steps) < 0 else None


def _written(order: float) -> str:
    whole = int(order // 1)
    number = "00" if whole == -1 else str(whole)
    return number + ("A" if order != whole else "")
