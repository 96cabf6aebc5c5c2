"""One take judged: where the picture lies, what the film shows, how the exposure sits. Everything from one decoding."""

from __future__ import annotations

import time

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from rigd.imaging.base import base_beside
from rigd.imaging.filmstate import FilmSeen, film_state
from rigd.imaging.findings import Facts, find, late_by
from rigd.imaging.fine import Fine, fine_detail
from rigd.imaging.framing import Corners, Framed, find_frame
from rigd.imaging.framing.kinds import soft, soft_levels
from rigd.imaging.levels import Histogram, Three, drawn, enough, histogram, stops_of
from rigd.imaging.limits import Asked
from rigd.imaging.metering import USUAL, Metered, meter
from rigd.imaging.notes import Notes, notes_of
from rigd.imaging.placement import Placement, placement
from rigd.imaging.planes import Box, Reduced, even_box, for_judging
from rigd.imaging.raw import Raw
from rigd.imaging.signature import Signature, signature
from rigd.imaging.soft import Softness, softness
from rigd.imaging.specks import SPECK_MM2, counts_in, spots
from rigd.imaging.texture import Texture, texture
from rigd.model.formats import FilmFormat, film_format
from rigd.model.values import Exposure, Verdict
from rigd.model.words import Film, Quality, Tone

# Judge inside the picture only: its edges are the gate's shadow (definition of exposure).
_TRIM = 0.03
# Block means carry less noise than pixels: levels down to here still tell black from blacker.
_FLOOR = 2.0**-13
# So many earlier takes make the rule of how sharp the film's grain is.
_REMEMBERED = 12
# Under this black level, in raw units, zeros are not told from noise.
_TOLD_BLACK = 32
# A block this near to saturation tells nothing of the film.
_FULL = -0.05


class Judgement(Struct, frozen=True):
    """`verdict` for the ledger. `correction_stops`: what to add to reach the aim, 0.0 within the limits. `corners` in
    sensor pixels, None where no edges were found. `base_1s`: the film's base as L for 1 s, where it was seen.
    `bracket_stops`: how much longer a second exposure for the dark end must be (0.0: none). `histogram`: counts of R,
    G, B in sixths of a stop from -12 to 0."""

    verdict: Verdict
    correction_stops: float
    corners: Corners | None
    base_1s: Three | None
    signature: Signature
    bracket_stops: float = 0.0
    histogram: tuple[tuple[int, ...], ...] = ()


def judge(raw: Raw, asked: Asked, small: Reduced | None = None) -> Judgement:
    """Judge one exposure. `small`: the reduced copy, if the caller has it already (previews use the same)."""
    began = time.perf_counter()
    film = film_format(asked.film_format)
    small = small if small is not None else for_judging(raw)
    levels = stops_of(small.linear, _FLOOR)
    seconds = raw.seconds or asked.exposure.shutter_s
    lamp, base = _now(asked.lamp_1s, seconds), _now(asked.base_1s, seconds)
    # A held roll's base is looked for anew in each take: it may have drifted.
    known = None if asked.aim == "base" else base
    place = find_frame(small, film, asked.tone, asked.px_per_mm, known, lamp, asked.along_x)
    base = base or (place.base if asked.tone is Tone.NEGATIVE else None)
    box = _trimmed(place.box, raw)
    found = _clean_histogram(raw, levels, small.step, box, _scale(asked, place, film))
    beside = _beside(small, asked, place)
    base_now, brightest = _base_to_meter(asked, beside, base), _brightest(asked, base, lamp)
    metered = meter(found, asked.limits, asked.aim, base_now, brightest, USUAL[asked.tone])
    seen = _seen(small, box, asked.tone, (base, lamp), place, film.loose)
    lies = _lies(place, raw)
    sign = signature(raw, levels[:, :, 1])
    grain = _texture(raw, box, (seconds, asked.px_per_mm or place.px_per_mm), seen, metered)
    soft = _softness(grain, asked, place, lies) if grain is not None else None
    notes = Notes() if metered.blind else notes_of(raw, levels[:, :, 1], small.step, box, place, seen.film, asked.tone)
    measured = (_empty(raw, small), sign, place, lies, metered, seen, soft, notes.words)
    facts = Facts(asked, film, raw.seconds, raw.taken, *measured)
    take, why = find(facts)
    if grain is not None and take in (Quality.GOOD, Quality.EXCEEDS):
        sign = replace(sign, texture=grain[1])
    base_1s = _base_1s(asked, place, seconds)
    numbers = {"relief": seen.relief, "seconds": seconds, "correction": metered.correction}
    numbers |= _base_numbers(base_1s, asked, place) | _beside_numbers(beside, seconds) | notes.numbers
    numbers |= _over_numbers(found, asked) | _fact_numbers(facts)
    verdict = Verdict(seen.film, take, why, metered.level, numbers, 1e3 * (time.perf_counter() - began))
    adds = metered.correction if not asked.second and take in (Quality.CLIPPED, Quality.HIGH, Quality.LOW) else 0.0
    return Judgement(verdict, adds, place.corners, base_1s, sign, metered.bracket, drawn(found))


def _fact_numbers(facts: Facts) -> dict[str, float]:
    bracket = {"bracket": facts.metered.bracket} if facts.metered.bracket else {}
    return _place_numbers(facts.place, facts.lies) | late_by(facts) | bracket | _soft_numbers(facts.soft)


def _base_1s(asked: Asked, place: Framed, seconds: float) -> Three | None:
    """The base of a negative for 1 s, if it was seen beside the picture and is not saturated."""
    if asked.tone is Tone.POSITIVE or place.base is None or _full(place.base):
        return None
    return _per_second(place.base, seconds)


def _base_numbers(base_1s: Three | None, asked: Asked, place: Framed) -> dict[str, float]:
    """`base_full`: a base was seen, and burnt out."""
    if base_1s is not None:
        return {f"base_1s_{name}": v for name, v in zip("rgb", base_1s, strict=True)}
    return {"base_full": 1.0} if asked.tone is Tone.NEGATIVE and place.base is not None else {}


def _beside(small: Reduced, asked: Asked, place: Framed) -> Three | None:
    """The base as it is now, beside the picture of a negative."""
    if asked.tone is not Tone.NEGATIVE or place.corners is None:
        return None
    return base_beside(small, place.corners, asked.px_per_mm or place.px_per_mm, place.along_x)


def _beside_numbers(beside: Three | None, seconds: float) -> dict[str, float]:
    """`beside_1s`: the same as L for 1 s, measured anew in each take: what a held shutter is watched by."""
    if beside is None:
        return {}
    return {f"beside_1s_{name}": v for name, v in zip("rgb", _per_second(beside, seconds), strict=True)}


def _base_to_meter(asked: Asked, beside: Three | None, known: Three | None) -> Three | None:
    """A held roll's base as it is now; where it does not show, as it was known before."""
    return beside if asked.aim == "base" and beside is not None else known


def _over_numbers(found: Histogram, asked: Asked) -> dict[str, float]:
    """By channel the share of the picture's pixels over the ceiling, in per cent."""
    return {f"over_pct_{name}": 100 * found.share_over(c, asked.limits.ceiling) for c, name in enumerate("rgb")}


def _lies(place: Framed, raw: Raw) -> Placement | None:
    height, width = raw.mosaic.shape
    return placement(place.corners, (width, height), place.px_per_mm) if place.corners is not None else None


def _place_numbers(place: Framed, lies: Placement | None) -> dict[str, float]:
    numbers = {"px_per_mm": place.px_per_mm, "sides": float(place.sides_seen)}
    if place.by_perforations:
        numbers["px_per_mm_perforations"] = place.by_perforations
    if lies is not None:
        numbers |= {"offset_x_mm": lies.offset_mm[0], "offset_y_mm": lies.offset_mm[1]}
        numbers |= {"turn_deg": lies.turn_deg, "cut_pct": lies.cut_pct, "along_x": float(place.along_x)}
    return numbers


def _texture(
    raw: Raw, box: Box, about: tuple[float, float], seen: FilmSeen, metered: Metered
) -> tuple[Fine, Texture] | None:
    """The texture of a picture that is not saturated; `about`: seconds, pixels a millimetre."""
    if seen.film is not Film.PICTURE or metered.blind:
        return None
    fine = fine_detail(raw, box)
    return (fine, texture(fine, *about)) if fine is not None else None


def _softness(grain: tuple[Fine, Texture], asked: Asked, place: Framed, lies: Placement | None) -> Softness:
    others = [s.texture for s in asked.last_good if s.texture is not None][-_REMEMBERED:]
    film_deg = (0.0 if place.along_x else 90.0) + (lies.turn_deg if lies else 0.0)
    return softness(*grain, others, asked.px_per_mm or place.px_per_mm, film_deg)


def _soft_numbers(soft: Softness | None) -> dict[str, float]:
    if soft is None:
        return {}
    numbers = {} if soft.sharpness is None else {"sharpness": soft.sharpness}
    if soft.soft:
        numbers |= {"moved_px": soft.moved_px, "moved_deg": soft.moved_deg, "defocus_px": soft.sigma_px}
    return numbers


def _empty(raw: Raw, small: Reduced) -> bool:
    """True if a whole block lies far under black: no sensor writes that, a hole in the file does."""
    black = min(raw.black)
    return black >= _TOLD_BLACK and float(small.linear[:, :, 1].min()) < -0.9 * black / (raw.white - black)


def open_gate(raw: Raw, exposure: Exposure) -> Three | None:
    """The bare lamp's level of R, G, B for 1 s, from a take through the open gate: the median of the middle ninth of
    the sensor's sight. None where it is saturated or lost in black: another shutter must be tried."""
    height, width = raw.mosaic.shape
    found = histogram(raw, (width // 3, height // 3, width - width // 3, height - height // 3))
    level = (found.point(0, 0.5), found.point(1, 0.5), found.point(2, 0.5))
    if _full(level) or max(level) < -9:
        return None
    return _per_second(level, raw.seconds or exposure.shutter_s)


def _now(one_second: Three | None, seconds: float) -> Three | None:
    if one_second is None:
        return None
    red, green, blue = (value + float(np.log2(seconds)) for value in one_second)
    return red, green, blue


def _per_second(level: Three, seconds: float) -> Three:
    red, green, blue = (value - float(np.log2(seconds)) for value in level)
    return red, green, blue


def _full(level: Three) -> bool:
    return max(level) > _FULL


def _trimmed(box: Box, raw: Raw) -> Box:
    left, top, right, bottom = box
    x, y = _TRIM * (right - left), _TRIM * (bottom - top)
    return even_box((int(left + x), int(top + y), int(right - x), int(bottom - y)), raw)


def _scale(asked: Asked, place: Framed, film: FilmFormat) -> float:
    """Pixels a millimetre: measured with the set-up, else as good as the format's nominal size tells."""
    if asked.px_per_mm:
        return asked.px_per_mm
    left, top, right, bottom = place.box
    return float(np.sqrt((right - left) * (bottom - top) / (film.along_mm * film.across_mm)))


def _blocks(box: Box, step: int) -> tuple[slice, slice]:
    """The whole blocks inside a box, as (rows, columns)."""
    left, top, right, bottom = box
    return slice(-(-top // step), bottom // step), slice(-(-left // step), right // step)


def _clean_histogram(raw: Raw, levels: NDArray[np.float32], step: int, box: Box, px_per_mm: float) -> Histogram:
    """The picture's histogram without specks and pinholes, which are looked for in the channel that leads."""
    found = histogram(raw, box)
    lead = max(range(3), key=lambda c: found.point(c, 0.995))
    rows, columns = _blocks(box, step)
    limit = SPECK_MM2 * px_per_mm**2 / step**2
    dirt = spots(levels[rows, columns, lead], found.point(lead, 0.005), found.point(lead, 0.995), limit)
    if not dirt.any():
        return found
    corner = (columns.start * step, rows.start * step)
    return found.without(counts_in(raw, dirt, corner, step, box[1], enough(box)))


def _brightest(asked: Asked, base: Three | None, lamp: Three | None) -> float | None:
    """What nothing in the picture can exceed in this take, if it was measured before and lies over saturation."""
    known = base if asked.base_1s and asked.tone is Tone.NEGATIVE else lamp
    return max(known) if known is not None else None


def _seen(
    small: Reduced, box: Box, tone: Tone, levels: tuple[Three | None, Three | None], place: Framed, loose: bool
) -> FilmSeen:
    rows, columns = _blocks(box, small.step)
    inside = soft_levels(small.linear[rows, columns])
    if np.median(inside[:, :, 1]) > _FULL:
        return FilmSeen(None, False, "Saturated: it says nothing about the film.", 0.0)
    known = [None if level is None else soft(level) for level in levels]
    # A mount's aperture has four sides whatever lies in it.
    sides = 0 if loose else place.sides_seen
    return film_state(inside, tone, known[0], known[1], sides)
