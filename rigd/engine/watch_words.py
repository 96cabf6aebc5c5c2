"""What the watch sees, in words for the page and for a voice: short, and what to do."""

from __future__ import annotations

from msgspec import Struct

from rigd.engine.arming_values import Found, Wanted, What
from rigd.engine.watch_sight import Seen

# Nobody slides film to a tenth of a millimetre by hand, and a voice that says another number each time is no help.
_FINE_MM = 10.0


class Said(Struct, frozen=True):
    """`watch` one word, `where` a sentence or nothing, `nudge_mm` as `Vitals` has it."""

    watch: str
    where: str = ""
    nudge_mm: float | None = None


def told(found: Found, seen: Seen, wanted: Wanted, along_x: bool, waited_s: float, deadline_s: float) -> Said:
    """What is to be said of one look at film that can be taken."""
    nudge = _rounded(found.slide_mm)
    slide = _slide(nudge, along_x)
    if seen.dark:
        return Said("dark", "The gate is dark: is the lamp on?")
    if seen.open:
        return Said("open", "Lay the next strip." if wanted.place == 1 else "Lay the strip back.")
    if seen.hand:
        return Said("hand", "Something lies over the gate.")
    if found.what is What.WANTED and seen.rest is None and waited_s > deadline_s:
        return Said("moving", f"Still moving after {waited_s:.0f} s, {seen.swing_um:.0f} um: check the table.")
    if found.what is What.WANTED:
        return Said("ready" if seen.rest else "moving")
    return Said(found.what.value, _sentence(found, wanted, slide), nudge)


def _sentence(found: Found, wanted: Wanted, slide: str) -> str:
    if found.what is What.TAKEN and found.slide_mm is None:
        return "All of this strip is done: lay the next one."
    if found.what is What.BEYOND:
        return f"Frame {wanted.place} was passed over: {slide or 'slide back'}."
    if found.what is What.BEFORE:
        return f"This lies before frame {wanted.place}: {slide or 'slide on'}, or say that the strip lies turned."
    if found.what is What.UNSURE:
        return "Nobody knows which frame this is."
    return f"{slide[:1].upper()}{slide[1:]}." if slide else ""


def _rounded(slide_mm: float | None) -> float | None:
    if slide_mm is None:
        return None
    return float(round(slide_mm)) if abs(slide_mm) >= _FINE_MM else round(2 * slide_mm) / 2


def _slide(nudge: float | None, along_x: bool) -> str:
    """`slide 3 mm to the left`; nothing where there is nothing to slide. Film that runs from top to bottom of the
    picture runs to and from whoever stands before the rig."""
    if nudge is None or nudge == 0:
        return ""
    ways = ("to the right", "to the left") if along_x else ("towards you", "away from you")
    return f"slide {abs(nudge):g} mm {ways[nudge < 0]}"
