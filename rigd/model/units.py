"""Numbers as the trade writes them."""

from __future__ import annotations

# The camera trade writes times from a third of a second up as decimals, shorter ones as fractions (common practice,
# no source).
_FRACTIONS_UNDER_S = 0.3


def shutter_words(seconds: float) -> str:
    """A shutter time: `1/60 s`, `0.8 s`, `4 s`; `-` for none."""
    if seconds <= 0:
        return "-"
    return f"{seconds:g} s" if seconds >= _FRACTIONS_UNDER_S else f"1/{round(1 / seconds)} s"
