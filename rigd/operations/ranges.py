"""Saying which strips and frames are meant: `31-` is strip 31 and all after it, `3-5,8` are four strips."""

from __future__ import annotations

import re

from rigd.errors import InputError, NotFound
from rigd.model.order import in_order, numbers, strips_in_order
from rigd.model.state import FrameState, RollState
from rigd.model.values import Strip

_PART = re.compile(r"(\d+)(-(\d*))?")


def meant(text: str, known: list[int], what: str) -> list[int]:
    """The numbers that `text` names, of those that are known, in their order.

    Raises:
        InputError: it is no range. NotFound: it names a single number that nobody knows.
    """
    found: set[int] = set()
    for part in text.replace(" ", "").split(","):
        match = _PART.fullmatch(part)
        if match is None:
            raise InputError(f"{text!r} names no {what}s.", "", "Write numbers: 3, 3-5, 3-, or several with commas.")
        first = int(match[1])
        if match[2] is None and first not in known:
            raise NotFound(f"There is no {what} {first}.", f"Known: {_some(known)}.", "Use one of these.")
        last = int(match[3]) if match[3] else max(known, default=0) if match[2] else first
        found.update(number for number in known if first <= number <= last)
    return [number for number in known if number in found]


def strips_meant(roll: RollState, text: str) -> list[Strip]:
    """The strips of a roll that `text` names by number. Raises InputError, NotFound."""
    strips = strips_in_order(roll)
    wanted = set(meant(text, sorted({s.number for s in strips}), "strip"))
    found = [strip for strip in strips if strip.number in wanted]
    if not found:
        raise NotFound(f"Roll {roll.roll.label} has no strip in {text!r}.", "", "See: rigd rolls tally --by strip.")
    return found


def frames_meant(roll: RollState, strips: str, frames: str) -> list[FrameState]:
    """Frames of a roll in the order of the film: those on the strips that are named, those named by their number on the
    roll, or all. Raises InputError, NotFound."""
    if strips and frames:
        raise InputError("Strips and frames were named both.", "", "Name one of them.")
    order = in_order(roll)
    if strips:
        ids = {strip.strip_id for strip in strips_meant(roll, strips)}
        order = [f for f in order if f.frame.strip_id in ids]
    if frames:
        number = numbers(roll)
        wanted = set(meant(frames, sorted(number.values()), "frame"))
        order = [f for f in order if number[f.frame.frame_id] in wanted]
    if not order:
        raise NotFound(f"Roll {roll.roll.label} has no frame there.", "", "See: rigd rolls tally --by frame.")
    return order


def _some(known: list[int]) -> str:
    if not known:
        return "none yet"
    return f"{known[0]} to {known[-1]}" if len(known) > 6 else ", ".join(map(str, known))
