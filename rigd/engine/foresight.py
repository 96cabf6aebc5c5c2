"""The first shutter of a frame: measured in live view where that tells the light, else from the frames before.

Whether this body's live view follows the shutter is found out by itself, once: two looks at the same film with two
shutters. What each source is worth is found out by how well it would have foretold the frames so far.
"""

from __future__ import annotations

import asyncio
from math import log2

from rigd.engine.foresight_past import last_word, lessons_of
from rigd.engine.live import LiveFeed
from rigd.engine.policy import first_exposure
from rigd.engine.rig import Rig
from rigd.engine.steps import Placed, Still
from rigd.engine.watch_eyes import Eyes
from rigd.engine.watch_sight import Seen
from rigd.errors import CameraError, RawUnreadable
from rigd.imaging.forecast import Forecast, Reading, Source, forecast, slope
from rigd.imaging.predict import Box, live_level, live_rgb
from rigd.model.formats import FilmFormat, film_format
from rigd.model.order import film_kind
from rigd.model.values import Exposure
from rigd.model.words import Tone

# A live view that changes by so much of what the shutter did follows it; one behind an automatic gain hardly moves.
_FOLLOWS = 0.6
# Two looks this far apart in shutter are told from noise and from the display's own curve.
_PROBE_STOPS = 2.0
# From six stops too much it takes four of them to leave the end of the scale, and one more to compare.
_PROBES = 5
# A light end this far down, in stops, is looked at with a longer shutter instead of a shorter one.
_LOW = -4.0
# Where a forecast changes the shutter by more, the live picture was far from its middle: look again with it.
_FAR_STOPS = 1.0
# So much of the picture at the end of the scale, in per cent, and its light end is not known.
_OVER_PCT = 0.5
# Down so far for another look where the light end is lost.
_DOWN_STOPS = 3.0
_LOOKS = 3
# Two pictures after a setting was changed: the first may have been under way already.
_PICTURES = 2
_PATIENCE_S = 1.5
# Inside the picture only: its edges are the gate's shadow (definition of exposure).
_TRIM = 0.03
# From, to: so far beside a frame's edge lies base on every format, clear of the edge's blur (gaps are 2 mm and more).
_BASE_MM = (0.4, 1.1)

Found = tuple[Exposure, dict[str, float]]


class Foresight:
    """`first` gives the first exposure of a frame, and the numbers that led to it."""

    def __init__(self, rig: Rig, live: LiveFeed, eyes: Eyes) -> None:
        self._rig = rig
        self._live = live
        self._eyes = eyes
        self._serial = ""
        self._slope: float | None = None

    async def first(self, placed: Placed, still: Still) -> Found:
        """What to expose the frame in the gate with. It never fails for want of a look: what is wrong with the camera
        shows in the exposure, which has its own way back."""
        held = self._rig.held
        if held is not None:
            return Exposure(held.shutter_s, held.shutter, self._rig.f_number, self._rig.iso), {}
        seen = still.seen
        if seen is not None and seen.bed is not None and not seen.open and self._eyes.can_see:
            try:
                async with self._live.watch(self._rig.stilling.pace_s):
                    return await self._looked(placed, seen)
            except CameraError:
                self._rig.in_force = None
        return self._taken(self._forecast(None, False), None, None)

    async def _looked(self, placed: Placed, seen: Seen) -> Found:
        """Look, and look again with the shutter that was foretold where that is far from the first."""
        if self._rig.in_force is None:
            await self._set(self._rig.state.next_shutter_s)
        reading = await self._read(placed, seen)
        follows = await self._follows(placed, seen, reading)
        if follows and reading is not None and reading.over:
            reading = await self._read(placed, seen)
        found = self._forecast(reading, follows)
        for _ in range(_LOOKS):
            if not follows or reading is None or found.source is not Source.LIVE or found.seconds is None:
                break
            if reading.over:
                await self._set(reading.seconds * 2.0**-_DOWN_STOPS)
            elif abs(log2(found.seconds / reading.seconds)) > _FAR_STOPS:
                await self._set(found.seconds)
            else:
                break
            again = await self._read(placed, seen)
            if again is None or abs(log2(again.seconds / reading.seconds)) < 0.1:
                break
            reading = again
            found = self._forecast(reading, follows)
        return self._taken(found, reading, follows)

    def _forecast(self, reading: Reading | None, follows: bool) -> Forecast:
        rig = self._rig
        lessons = lessons_of(rig.state)
        return forecast(lessons, reading, follows, rig.state.next_shutter_s, rig.metering)

    def _taken(self, found: Forecast, reading: Reading | None, follows: bool | None) -> Found:
        numbers = {"foretold_by": float(list(Source).index(found.source))}
        if found.seconds is not None:
            numbers["foretold_s"] = round(found.seconds, 6)
        if reading is not None:
            numbers |= {"live_s": reading.seconds, "live_dark": round(reading.dark, 3),
                        "live_light": round(reading.light, 3), "live_top": round(reading.top, 3),
                        "live_over": float(reading.over)}  # fmt: skip
            if reading.base is not None:
                numbers["live_base"] = round(reading.base, 3)
        if follows is not None and self._slope is not None:
            numbers["live_slope"] = round(self._slope, 3)
        return self._exposure(found.seconds), numbers

    def _exposure(self, seconds: float | None) -> Exposure:
        rig = self._rig
        menu, bounds = rig.joined().shutters, rig.bounds()
        return first_exposure(seconds, rig.first_s, menu, bounds, rig.f_number, rig.iso)

    # -- live view -----------------------------------------------------------------------------------------------

    async def _follows(self, placed: Placed, seen: Seen, reading: Reading | None) -> bool:
        """Whether this body's live view follows the shutter: known from before, or found out now."""
        serial = self._rig.state.serial
        if self._slope is None or serial != self._serial:
            known = last_word(self._rig.state)
            self._slope = known if known is not None else await self._probed(placed, seen, reading)
            self._serial = serial
        return self._slope is not None and self._slope > _FOLLOWS

    async def _probed(self, placed: Placed, seen: Seen, reading: Reading | None) -> float | None:
        """Two looks at the same film with two shutters; None where all lie at an end of the scale."""
        for _ in range(_PROBES):
            if reading is None:
                return None
            down = reading.over or reading.light > _LOW
            await self._set(reading.seconds * 2.0 ** (-_PROBE_STOPS if down else _PROBE_STOPS))
            other = await self._read(placed, seen)
            found = slope(reading, other) if other is not None else None
            if found is not None:
                return found
            reading = other
        return None

    async def _set(self, seconds: float | None) -> None:
        """Set the shutter and wait for a live picture that can show it."""
        async with self._live.between():
            self._rig.in_force = await self._rig.camera.apply(self._exposure(seconds))
        number = self._live.last[0]
        try:
            async with asyncio.timeout(_PATIENCE_S):
                for _ in range(_PICTURES):
                    number, _ = await self._live.next_picture(number)
        except TimeoutError:
            return

    async def _read(self, placed: Placed, seen: Seen) -> Reading | None:
        """The newest live picture, measured; None where it cannot be."""
        in_force = self._rig.in_force
        _, jpeg = self._live.last
        if in_force is None or seen.bed is None:
            return None
        film = film_format(placed.roll.film_format)
        roll = self._rig.state.rolls.get(placed.roll.roll_id)
        negative = roll is not None and film_kind(roll, placed.frame.frame_id)[0] == Tone.NEGATIVE
        along_x, bend = self._eyes.sight().along_x, self._slope or 1.0
        bend = bend if bend > _FOLLOWS else 1.0
        try:
            return await asyncio.to_thread(read, jpeg, seen, film, in_force.shutter_s, along_x, negative, bend)
        except (RawUnreadable, ValueError):
            return None


def read(
    jpeg: bytes, seen: Seen, film: FilmFormat, seconds: float, along_x: bool, negative: bool, bend: float = 1.0
) -> Reading:
    """Measure one live picture of a frame. Blocking, under 5 ms.

    Args:
        seen: a look at the same film, that tells where the frame lies.
        seconds: the shutter in force.
        negative: what lies beside the picture is the film's base.
        bend: stops that the live picture shows for one stop of light.

    Raises:
        RawUnreadable, ValueError: it is no picture, or the frame lies outside.
    """
    rgb, step = live_rgb(jpeg, along_x)
    level = live_level(rgb, picture_box(seen, film, step), base_boxes(seen, film, step) if negative else ())
    base = level.base / bend if level.base is not None else None
    over = level.over_pct > _OVER_PCT
    return Reading(seconds, level.dark / bend, level.light / bend, level.top / bend, base, over)


def picture_box(seen: Seen, film: FilmFormat, step: int) -> Box:
    """Where the frame lies in the live picture reduced by `step`, trimmed."""
    bed = seen.bed
    assert bed is not None, "whoever measures has seen the gate"
    left, top, right, bottom = bed.picture(film)
    half = film.along_mm / 2
    first, last = (seen.frame.left_mm, seen.frame.right_mm) if seen.frame else (-half, half)
    left, right = max(left, bed.middle + first * bed.px_per_mm), min(right, bed.middle + last * bed.px_per_mm)
    x, y = _TRIM * (right - left), _TRIM * (bottom - top)
    return int((left + x) / step), int((top + y) / step), int((right - x) / step), int((bottom - y) / step)


def base_boxes(seen: Seen, film: FilmFormat, step: int) -> list[Box]:
    """Film close beside the frame, on either side, as far as it lies in the gate. Close, because the next picture or
    the film's end, with the bare lamp behind it, may be near."""
    bed, frame = seen.bed, seen.frame
    if bed is None or frame is None:
        return []
    left, top, right, bottom = bed.picture(film)
    spans = [(frame.left_mm - _BASE_MM[1], frame.left_mm - _BASE_MM[0]),
             (frame.right_mm + _BASE_MM[0], frame.right_mm + _BASE_MM[1])]  # fmt: skip
    places = [(bed.middle + a * bed.px_per_mm, bed.middle + b * bed.px_per_mm) for a, b in spans]
    return [(int(a / step), int(top / step), int(b / step), int(bottom / step))
            for a, b in places if a >= left and b <= right and b - a >= 2 * step]  # fmt: skip
