"""What the judge is told about a take: its film, its set-up, and what is known of its roll. Pure."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from msgspec.structs import replace

from rigd.errors import RawUnreadable
from rigd.imaging import Asked, Judgement, judge, open_raw
from rigd.imaging import Limits as Metering
from rigd.imaging.raw import Raw
from rigd.imaging.signature import Signature
from rigd.model.formats import film_format
from rigd.model.order import film_kind
from rigd.model.state import RollState, State
from rigd.model.values import Take, Verdict
from rigd.model.words import Purpose, Quality, Tone

# The camera writes whole seconds, its clock was compared once, and it drifts by a second a day or so.
_CLOCK_S = 3.0
# Sides that differ by less than this share are taken for one another.
_SQUARE = 0.1
# From the closed shutter until the file was announced: slow cards write a 60 MP raw in 2 s.
_WRITING_S = 8.0


def asked_of(
    state: State, take: Take, roll: RollState, aim: str, metering: Metering, last_good: tuple[Signature, ...] = (),
    offset_s: float | None = None,
) -> Asked:  # fmt: skip
    """What the judge is told about a take of a frame of `roll`. `offset_s`: the camera's clock less ours, if known."""
    tone, colour = film_kind(roll, take.frame_id)
    return Asked(
        film_format=roll.roll.film_format,
        tone=tone,
        colour=colour,
        exposure=take.want,
        px_per_mm=state.setup.px_per_mm if state.setup else None,
        lamp_1s=state.lamp.level_1s if state.lamp else None,
        base_1s=roll.held.base_1s if roll.held and aim == "base" else base_so_far(roll),
        aim=aim if tone is Tone.NEGATIVE else "centre",
        along_x=along_x_so_far(roll),
        second=take.purpose is Purpose.BRACKET,
        between=_between(take, offset_s),
        limits=metering,
        last_good=last_good,
    )


def _between(take: Take, offset_s: float | None) -> tuple[datetime, datetime] | None:
    """From when to when the camera's clock can have stood in the file of a take."""
    if take.at is None or offset_s is None:
        return None
    there = take.at.replace(tzinfo=None) + timedelta(seconds=offset_s)
    before = take.want.shutter_s + _WRITING_S + _CLOCK_S
    return there - timedelta(seconds=before), there + timedelta(seconds=_CLOCK_S)


def along_x_so_far(roll: RollState) -> bool | None:
    """How the film of this roll runs over the sensor, by the last take that showed all four sides of a picture; None
    where none did, or where the picture is as long as it is wide: nothing tells then."""
    film = film_format(roll.roll.film_format)
    if abs(film.along_mm / film.across_mm - 1.0) < _SQUARE:
        return None
    newest = sorted((t for t in roll.takes.values() if t.verdict), key=lambda t: t.take_id, reverse=True)
    for take in newest:
        numbers = take.verdict.numbers if take.verdict else {}
        if "along_x" in numbers and numbers.get("sides", 0.0) >= 4:
            return bool(numbers["along_x"])
    return None


def looked_at(path: Path, asked: Asked) -> tuple[Raw, Judgement]:
    """Decode and judge one stored file. Blocking. Raises RawUnreadable, OSError."""
    raw = open_raw(path)
    return raw, judge(raw, asked)


def with_corners(judgement: Judgement, raw: Raw) -> Verdict:
    """The verdict with the picture's corners as shares of the sensor."""
    height, width = raw.mosaic.shape
    corners = tuple((round(x / width, 5), round(y / height, 5)) for x, y in judgement.corners or ())
    return replace(judgement.verdict, corners=corners)


def unreadable(error: RawUnreadable) -> Verdict:
    """The verdict of a file that cannot be decoded."""
    return Verdict(None, Quality.SUSPECT, f"{error.what} {error.why}".strip())


def base_so_far(roll: RollState) -> tuple[float, float, float] | None:
    """The clearest base seen on this roll, for 1 s, from the numbers of its verdicts."""
    found = [
        (n["base_1s_r"], n["base_1s_g"], n["base_1s_b"])
        for t in roll.takes.values()
        if t.verdict and "base_1s_g" in (n := t.verdict.numbers)
    ]
    return sorted(found, key=lambda b: b[1])[len(found) // 2] if found else None
