"""What the judge is told about a take: its film, its set-up, and what is known of its roll. Pure."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from rigd.errors import RawUnreadable
from rigd.imaging import Asked, Judgement, judge, open_raw
from rigd.imaging import Limits as Metering
from rigd.imaging.raw import Raw
from rigd.imaging.signature import Signature
from rigd.model.order import film_kind
from rigd.model.state import RollState, State
from rigd.model.values import Take, Verdict
from rigd.model.words import Quality


def asked_of(
    state: State, take: Take, roll: RollState, aim: str, metering: Metering, last_good: tuple[Signature, ...] = ()
) -> Asked:
    """What the judge is told about a take of a frame of `roll`."""
    tone, colour = film_kind(roll, take.frame_id)
    return Asked(
        film_format=roll.roll.film_format,
        tone=tone,
        colour=colour,
        exposure=take.want,
        px_per_mm=state.setup.px_per_mm if state.setup else None,
        lamp_1s=state.lamp.level_1s if state.lamp else None,
        base_1s=base_so_far(roll),
        aim=aim,
        limits=metering,
        last_good=last_good,
    )


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
