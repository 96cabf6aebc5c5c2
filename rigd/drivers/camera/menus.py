"""A camera's menu labels as numbers: seconds, f-numbers, ISO."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from math import log2

from rigd.ports import Choice

Parse = Callable[[str], float | None]

# Nominal times miss the true thirds of a stop by up to 0.0931 stop, so entries nearer than this are the same step.
SAME_STOPS = 0.10

# The nominal shutter times in thirds of a stop, 30 s to 1/8000 s. Values from memory, common practice.
_LONG = "30 25 20 15 13 10 8 6 5 4 3.2 2.5 2 1.6 1.3 1 0.8 0.6 0.5 0.4 0.3"
_SHORT = (
    "4 5 6 8 10 13 15 20 25 30 40 50 60 80 100 125 160 200 250 320 400 500 640 800 "
    "1000 1250 1600 2000 2500 3200 4000 5000 6400 8000"
)
NOMINAL_S: tuple[float, ...] = (*map(float, _LONG.split()), *(1 / int(part) for part in _SHORT.split()))

_FRACTION = re.compile(r"(\d+(?:\.\d+)?)\s*/\s*(\d+(?:\.\d+)?)\s*(?:s|sec)?")
_DECIMAL = re.compile(r"(\d+)(?:\.(\d+))?\s*(?:s|sec|\")?")
_F_NUMBER = re.compile(r"(?:f\s*/?\s*)?(\d+(?:\.\d+)?)", re.IGNORECASE)
_ISO = re.compile(r"(?:iso\s*)?(\d+)", re.IGNORECASE)


def seconds(label: str) -> float | None:
    """Seconds of a shutter label (`1/125`, `0.0080s`, `30`, `1.3"`); None for bulb, time, flash sync and the like.

    A label in decimals is rounded: where a nominal time lies within its last digit, that time is meant
    (`0.0167s` is 1/60 s).
    """
    text = label.strip()
    if match := _FRACTION.fullmatch(text):
        numerator, denominator = map(float, match.groups())
        return numerator / denominator if numerator and denominator else None
    if match := _DECIMAL.fullmatch(text):
        whole, part = match.groups(default="")
        value = float(f"{whole}.{part or 0}")
        return _nominal(value, 10.0 ** -len(part)) if part else value or None
    return None


def _nominal(value: float, step: float) -> float | None:
    near = [time for time in NOMINAL_S if abs(time - value) < step * 1.001]
    if not value:
        return None
    return min(near, key=lambda time: abs(log2(time / value)), default=value)


def f_number(label: str) -> float | None:
    """The f-number of a label (`f/8`, `F5.6`, `11`); None where the camera does not know it."""
    match = _F_NUMBER.fullmatch(label.strip())
    return float(match[1]) or None if match else None


def iso(label: str) -> float | None:
    """The sensitivity of a label (`100`, `ISO 200`); None for automatic and for steps without a number."""
    match = _ISO.fullmatch(label.strip())
    return float(match[1]) or None if match else None


def percent(label: str) -> int | None:
    """A battery label as a whole percentage (`50%`, `100`); None for words."""
    match = re.fullmatch(r"(\d{1,3})\s*%?", label.strip())
    return min(100, int(match[1])) if match else None


def choices(labels: Iterable[str], parse: Parse) -> tuple[Choice, ...]:
    """The entries that have a number, in the camera's own order, each label once."""
    parsed = {label: parse(label) for label in labels}
    return tuple(Choice(label, value) for label, value in parsed.items() if value is not None)


def find(menu: Sequence[Choice], value: float, label: str = "", doubling: float = 1.0) -> Choice | None:
    """The entry that means `value`: the one of this `label` where it does, else the nearest; None if none is near.

    doubling: stops for a factor of two (1 for times and ISO, 2 for f-numbers).
    """

    def off(choice: Choice) -> float:
        return abs(doubling * log2(choice.value / value))

    same = [choice for choice in menu if off(choice) <= SAME_STOPS]
    named = [choice for choice in same if choice.label == label]
    return named[0] if named else min(same, key=off, default=None)
