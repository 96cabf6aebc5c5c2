"""From what was measured to one word and one plain sentence. The gravest finding wins."""

from __future__ import annotations

from datetime import datetime
from math import log2

from msgspec import Struct

from rigd.imaging.filmstate import FilmSeen
from rigd.imaging.framing import Framed
from rigd.imaging.limits import Asked
from rigd.imaging.metering import Metered
from rigd.imaging.placement import Placement
from rigd.imaging.signature import Signature, same_file, same_spot
from rigd.imaging.soft import Softness
from rigd.model.formats import FilmFormat
from rigd.model.words import Film, Quality

Found = tuple[Quality, str]

# A camera's labels for its shutter times are up to a tenth of a stop off the times themselves (1/60 is 1/64).
_OTHER_SHUTTER = 0.2
# A dark end that lies so little under the limit, in stops, is as good as on it.
_UNDER_NOISE = 0.2


class Facts(Struct, frozen=True):
    """Everything that was measured of one take. `seconds`, `taken`: what the file says (0.0, None: nothing); `empty`:
    a part of the file holds no data; `lies` None where no picture was found; `soft` None where it was not looked
    for; `notes`: plain sentences to add."""

    asked: Asked
    film: FilmFormat
    seconds: float
    taken: datetime | None
    empty: bool
    sign: Signature
    place: Framed
    lies: Placement | None
    metered: Metered
    seen: FilmSeen
    soft: Softness | None = None
    notes: tuple[str, ...] = ()


def find(facts: Facts) -> Found:
    """The word for the take and the sentence for it."""
    first = (_file, _stale, _nothing, _exposure, _place, _sharpness, _doubt)
    for look in (_file, _stale, _sharpness, _drowned) if facts.asked.second else first:
        found = look(facts)
        if found is not None:
            return found[0], _sentences(found[1], *facts.notes)
    if facts.asked.second:
        return Quality.GOOD, "The longer exposure: the dark end is held."
    if facts.metered.take is Quality.EXCEEDS:
        return Quality.EXCEEDS, _sentences(_exceeds(facts.metered), *facts.notes)
    return Quality.GOOD, _sentences("Well exposed.", facts.seen.why, *facts.notes)


def _sentences(*parts: str) -> str:
    return " ".join(part for part in parts if part)


def _file(facts: Facts) -> Found | None:
    if facts.empty:
        return Quality.SUSPECT, "A part of the file holds no data."
    return None


def _stale(facts: Facts) -> Found | None:
    wanted = facts.asked.exposure.shutter_s
    if any(same_file(facts.sign, before) for before in facts.asked.last_good):
        return Quality.STALE, "The camera returned a picture that it had given before."
    if facts.seconds and wanted and abs(log2(facts.seconds / wanted)) > _OTHER_SHUTTER:
        return Quality.STALE, f"The file says {facts.seconds:.4g} s, the camera was set to {wanted:.4g} s."
    if late := late_by(facts).get("late_s"):
        side = "after" if late > 0 else "before"
        return Quality.STALE, f"By its own time the file was taken {_span(abs(late))} {side} the shutter was released."
    if facts.seen.film is Film.PICTURE and any(same_spot(facts.sign, before) for before in facts.asked.last_good):
        return Quality.STALE, "The same picture as on an earlier frame: the film has not moved, or an old one came."
    return None


def late_by(facts: Facts) -> dict[str, float]:
    """`late_s`: how far outside the time of the shot the file's own time lies, seconds (negative: before). Empty where
    it fits, or where one of the two is not known."""
    if facts.taken is None or facts.asked.between is None:
        return {}
    earliest, latest = facts.asked.between
    outside = min(0.0, (facts.taken - earliest).total_seconds()) + max(0.0, (facts.taken - latest).total_seconds())
    return {"late_s": outside} if outside else {}


def _span(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} minutes" if seconds < 5400 else f"{seconds / 3600:.1f} hours"


def _drowned(facts: Facts) -> Found | None:
    under = facts.asked.limits.noise - facts.metered.level.dark[facts.metered.lead]
    if under <= _UNDER_NOISE:
        return None
    return Quality.LOW, f"Even the longer exposure leaves its dark end {under:.1f} stops under the noise."


def _nothing(facts: Facts) -> Found | None:
    if facts.seen.film in (Film.UNEXPOSED, Film.NO_FILM):
        return (Quality.GOOD if facts.seen.sure else Quality.SUSPECT), facts.seen.why
    return None


def _exposure(facts: Facts) -> Found | None:
    metered = facts.metered
    off = abs(metered.correction)
    if metered.take is Quality.CLIPPED:
        about = "about " if metered.blind else ""
        over = metered.level.clipped_pct
        return Quality.CLIPPED, f"{over:.1f} % of the picture is over the ceiling; {about}{off:.1f} stops less."
    if metered.take is Quality.HIGH:
        return Quality.HIGH, f"{off:.1f} stops too much light."
    if metered.take is Quality.LOW:
        return Quality.LOW, f"{off:.1f} stops too little light."
    return None


def _exceeds(metered: Metered) -> str:
    return f"The picture's range is too long: its dark end needs {metered.bracket:.1f} stops more."


def _place(facts: Facts) -> Found | None:
    limits, lies = facts.asked.limits, facts.lies
    if facts.place.split:
        return Quality.MISPLACED, "A gap between two pictures runs through the middle."
    if lies is None:
        return None
    if lies.cut_pct > limits.cut_pct:
        return Quality.MISPLACED, f"{lies.cut_pct:.1f} % of the picture lies outside the camera's sight."
    if abs(lies.turn_deg) > limits.turn_deg:
        return Quality.MISPLACED, f"The picture is turned by {abs(lies.turn_deg):.1f} degrees."
    return _hidden(facts, lies)


def _hidden(facts: Facts, lies: Placement) -> Found | None:
    """A side that cannot be seen, with the picture far from the middle: it lies under the holder."""
    left, top, right, bottom = (support == 0 for support in facts.place.sides)
    for axis, (first, last), names in ((0, (left, right), ("left", "right")), (1, (top, bottom), ("upper", "lower"))):
        far = max(facts.asked.limits.off_mm, 0.04 * lies.size_mm[axis])
        if (first and lies.offset_mm[axis] < -far) or (last and lies.offset_mm[axis] > far):
            name, off = names[0] if first else names[1], abs(lies.offset_mm[axis])
            return Quality.MISPLACED, f"The picture's {name} side is hidden; it lies {off:.0f} mm off."
    return None


def _sharpness(facts: Facts) -> Found | None:
    return (Quality.SOFT, facts.soft.why) if facts.soft is not None and facts.soft.soft else None


def _doubt(facts: Facts) -> Found | None:
    if facts.seen.film is None or not facts.seen.sure:
        return Quality.SUSPECT, facts.seen.why
    return None
