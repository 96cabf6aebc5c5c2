"""The bar target of MIL-STD-150A (USAF 1951): what its groups and elements stand for, and which may be credited."""

from __future__ import annotations


def line_pairs(group: int, element: int) -> float:
    """Line pairs a millimetre of an element (1 to 6) of a group: 2^(group + (element - 1) / 6)."""
    if not 1 <= element <= 6:
        raise ValueError(f"a group has elements 1 to 6, not {element}")
    return float(2.0 ** (group + (element - 1) / 6))


def bar_um(group: int, element: int) -> float:
    """Width of one bar in micrometres."""
    return 500.0 / line_pairs(group, element)


def limit(px_per_mm: float) -> float:
    """The finest line pairs a millimetre that a sampling can hold: two pixels each. What seems resolved beyond is
    aliasing and must not be credited."""
    return px_per_mm / 2


def may_count(group: int, element: int, px_per_mm: float) -> bool:
    """True if an element lies within what the sampling can hold."""
    return line_pairs(group, element) <= limit(px_per_mm)
