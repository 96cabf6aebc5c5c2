"""Long tables in portions that a daemon takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, TypeVar

import msgspec

T = TypeVar("T")

# A daemon takes bodies of 64 KiB.
_BODY = 48 << 10


def portions(lines: Iterable[T]) -> Iterator[tuple[T, ...]]:
    """The lines, so many at a time that each portion fits into one request."""
    part: list[T] = []
    size = 0
    for line in lines:
        more = len(msgspec.json.encode(line)) + 1
        if part and size + more > _BODY:
            yield tuple(part)
            part, size = [], 0
        part.append(line)
        size += more
    if part:
        yield tuple(part)


def summed(kind: type[Any], results: Iterable[Any]) -> Any:
    """The sums of results whose fields are numbers."""
    some = list(results)
    return kind(*(sum(getattr(one, name) for one in some) for name in kind.__struct_fields__))
