"""One take judged: where the picture lies, what the film shows, how the exposure sits. Everything from one decoding."""

from __future__ import annotations

import time

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from rigd.imaging.filmstate import FilmSeen, film_state
from rigd.imaging.framing import Corners, Framed, find_frame
from rigd.imaging.framing.kinds import soft, soft_levels
from rigd.imaging.levels import Histogram, Three, drawn, enough, histogram, stops_of
from rigd.imaging.limits import Asked
from rigd.imaging.metering import USUAL, Metered, meter
from rigd.imaging.placement import placement
from rigd.imaging.planes import Box, Reduced, even_box, reduce
from rigd.imaging.raw import Raw
from rigd.imaging.signature import Signature, same_file, signature
from rigd.imaging.specks import SPECK_MM2, counts_in, spots
from rigd.model.formats import FilmFormat, film_format
from rigd.model.values import Exposure, Verdict
from rigd.model.words import Film, Quality, Tone

# Judge inside the picture only: its edges are the gate's shadow (definition of exposure).
_TRIM = 0.03
# Block means carry less noise than pixels: levels down to here still tell black from blacker.
_FLOOR = 2.0**-13
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
    small = small if small is not None else reduce(raw)
    levels = stops_of(small.linear, _FLOOR)
    seconds = raw.seconds or asked.exposure.shutter_s
    lamp, base = _now(asked.lamp_1s, seconds), _now(asked.base_1s, seconds)
    place = find_frame(small, film, asked.tone, asked.px_per_mm, base, lamp)
    base = base or (place.base if asked.tone is Tone.NEGATIVE else None)
    box = _trimmed(place.box, raw)
    found = _clean_histogram(raw, levels, small.step, box, _scale(asked, place, film))
    metered = meter(found, asked.limits, asked.aim, base, _brightest(asked, base, lamp), USUAL[asked.tone])
    seen = _seen(small, box, asked.tone, base, lamp, place)
    sign = signature(raw, levels[:, :, 1])
    take, why = _take(raw, asked, place, metered, seen, sign)
    base_1s = _base_1s(asked, place, seconds)
    numbers = {"relief": seen.relief, "seconds": seconds, "correction": metered.correction}
    numbers |= _place_numbers(place, raw) | _base_numbers(base_1s)
    verdict = Verdict(seen.film, take, why, metered.level, numbers, 1e3 * (time.perf_counter() - began))
    adds = metered.correction if take in (Quality.CLIPPED, Quality.HIGH, Quality.LOW) else 0.0
    return Judgement(verdict, adds, place.corners, base_1s, sign, metered.bracket, drawn(found))


def _base_1s(asked: Asked, place: Framed, seconds: float) -> Three | None:
    """The base of a negative for 1 s, if it was seen beside the picture and is not saturated."""
    if asked.tone is Tone.POSITIVE or place.base is None or _full(place.base):
        return None
    return _per_second(place.base, seconds)


def _base_numbers(base_1s: Three | None) -> dict[str, float]:
    return {} if base_1s is None else {f"base_1s_{name}": v for name, v in zip("rgb", base_1s, strict=True)}


def _place_numbers(place: Framed, raw: Raw) -> dict[str, float]:
    numbers = {"px_per_mm": place.px_per_mm, "sides": float(place.sides_seen)}
    if place.corners is not None:
        height, width = raw.mosaic.shape
        lies = placement(place.corners, (width, height), place.px_per_mm)
        numbers |= {"offset_x_mm": lies.offset_mm[0], "offset_y_mm": lies.offset_mm[1]}
        numbers |= {"turn_deg": lies.turn_deg, "cut_pct": lies.cut_pct}
    return numbers


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


def _seen(small: Reduced, box: Box, tone: Tone, base: Three | None, lamp: Three | None, place: Framed) -> FilmSeen:
    rows, columns = _blocks(box, small.step)
    inside = soft_levels(small.linear[rows, columns])
    if np.median(inside[:, :, 1]) > _FULL:
        return FilmSeen(None, False, "Saturated: it says nothing about the film.", 0.0)
    known = [None if level is None else soft(level) for level in (base, lamp)]
    return film_state(inside, tone, known[0], known[1], place.sides_seen)


def _take(
    raw: Raw, asked: Asked, place: Framed, metered: Metered, seen: FilmSeen, sign: Signature
) -> tuple[Quality, str]:
    """The word for the take and the sentence for it; the gravest finding wins."""
    if any(same_file(sign, before) for before in asked.last_good):
        return Quality.STALE, "The camera returned a picture that it had given before."
    if raw.seconds and asked.exposure.shutter_s and abs(np.log2(raw.seconds / asked.exposure.shutter_s)) > 0.2:
        said = f"The file says {raw.seconds:.4g} s, the camera was set to {asked.exposure.shutter_s:.4g} s."
        return Quality.STALE, said
    if seen.film in (Film.UNEXPOSED, Film.NO_FILM):
        return (Quality.GOOD if seen.sure else Quality.SUSPECT), seen.why
    if metered.take is not Quality.GOOD:
        return metered.take, _exposure_words(metered)
    if not place.found:
        return Quality.SUSPECT, "The edges of the picture were not found; the exposure was judged in the middle."
    return Quality.GOOD, seen.why or "Well exposed."


def _exposure_words(metered: Metered) -> str:
    off, level = abs(metered.correction), metered.level
    about = "at least " if metered.blind else ""
    if metered.take is Quality.CLIPPED:
        return f"{level.clipped_pct:.1f} % of the picture is over the ceiling; take {about}{off:.1f} stops off."
    if metered.take is Quality.HIGH:
        return f"{off:.1f} stops too much light."
    if metered.take is Quality.LOW:
        return f"{off:.1f} stops too little light."
    return f"The picture's range is too long: its dark end needs {metered.bracket:.1f} stops more."
