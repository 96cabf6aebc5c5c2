"""Parts of stories told in events: rolls, takes, and the strip that every story begins with."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from rigd.model import events as ev
from rigd.model.values import CardFile, Exposure, Frame, Job, Level, Roll, Setup, Strip, Verdict
from rigd.model.words import BaseType, Colour, Decision, Film, Purpose, Quality, Tone

START = datetime(2031, 3, 4, 8, 15, tzinfo=UTC)
WANT = Exposure(1 / 15, "1/15", 8.0, 100)


def roll(number: int, **changes: Any) -> Roll:
    """A roll of the harbour office's survey."""
    fields: dict[str, Any] = {
        "roll_id": f"r-{number:04d}", "label": f"North quay {number}", "folder": f"north-quay-{number}",
        "film_format": "120-6x6", "tone": Tone.NEGATIVE, "colour": Colour.MONO, "expected": (12, 12),
        "strip_places": 4, "base_type": BaseType.SAFETY,
    }  # fmt: skip
    return Roll(**{**fields, **changes})


def verdict(take: Quality = Quality.GOOD, film: Film | None = Film.PICTURE, off: float = 0.1) -> Verdict:
    level = Level((-5.0, -4.9, -5.2), (-0.9, -0.8, -1.1), -2.85, 0.02, off)
    why = "It sits at the aim." if take is Quality.GOOD else "It is off."
    return Verdict(film, take, why, level, {"px": 8.25}, 25.5)


def exposed(take: int, frame: str | None, number: int = 1, purpose: Purpose = Purpose.WHOLE) -> list[ev.AnyEvent]:
    """From the trigger to the stored file."""
    name = f"t-{take:06d}"
    return [
        ev.Triggered(frame, "page", purpose, f"nonce-{take}"),
        ev.Settled(frame, 0.5),
        ev.ExposureIntended(name, frame, purpose, number, WANT),
        ev.Exposed(name, 0.31, (CardFile("/store/100", f"IMG{take}.DNG", 24_000_000, "2031-03-04T09:15:02"),)),
        ev.Fetched(name, f"part-{take}", 24_000_000),
        ev.Stored(name, f"north-quay-1/{name}.dng", f"{take:064x}", 24_000_000),
    ]


def kept(take: int, frame: str, place: int | None, film: Film = Film.PICTURE) -> list[ev.AnyEvent]:
    name = f"t-{take:06d}"
    return [
        ev.Judged(name, verdict(film=film), Decision.KEEP, "It sits at the aim.", 1 / 15),
        ev.KeeperChosen(frame, (name,), film),
        ev.Advanced(frame, place),
    ]


def first_strip() -> list[ev.AnyEvent]:
    """A job from its start to the end of one strip of two: kept, then taken twice."""
    return [
        ev.JobOpened(Job("8c1f", "Harbour office, survey of the quays", BaseType.SAFETY)),
        ev.SetupDescribed(Setup("u-0001", "film holder", "105 mm macro")),
        ev.CameraJoined("PTP/IP Camera", "0001", 0.25),
        *exposed(1, None, purpose=Purpose.FLAT),
        ev.LampMeasured("u-0001", (0.4, 0.6, 0.1), 8.0, 100),
        ev.RollPlanned(roll(1)),
        ev.RollOpened("r-0001"),
        ev.StripLoaded(Strip("s-0001", "r-0001", 1, 2)),
        ev.FramePlaced(Frame("f-00001", "r-0001", "s-0001", 1, "12A")),
        *exposed(2, "f-00001"),
        *kept(2, "f-00001", 2),
        ev.FramePlaced(Frame("f-00002", "r-0001", "s-0001", 2)),
        *exposed(3, "f-00002"),
        ev.Judged("t-000003", verdict(Quality.LOW, off=-1.3), Decision.RETAKE, "Too low; again at 1/6.", 1 / 6),
        *exposed(4, "f-00002", 2),
        *kept(4, "f-00002", None),
    ]
