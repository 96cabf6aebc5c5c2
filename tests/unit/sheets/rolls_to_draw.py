"""Rolls with made-up pictures, for drawing: folded from events, so that they are rolls a ledger could hold."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import cv2
import numpy as np
from numpy.typing import NDArray

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model import values as v
from rigd.model.reduce import fold
from rigd.model.state import RollState, State
from rigd.model.words import Colour, Decision, Film, Purpose, Quality, Tone

START = datetime(2031, 3, 9, 20, 0, tzinfo=UTC)
JOB = v.Job("j-1", "Port of Vessling, harbour office: survey negatives", about=v.About(rights="Vessling town archive"))
WANT = v.Exposure(1 / 30, "1/30", 8.0, 100)


def roll_of(
    film_format: str,
    strips: tuple[int, ...],
    *,
    label: str = "HO 1957-031",
    expected: tuple[int, int] | None = None,
    left_out: tuple[tuple[int, int], ...] = (),
    later: tuple[ev.AnyEvent, ...] = (),
    turned: tuple[int, ...] = (),
) -> RollState:
    """A roll with so many places on each strip; `left_out` are the (strip, place) where nothing was taken."""
    about = v.About(
        title="Quay 4 before the storm", place="Vessling, north mole", dates="1957-05", photographer="E. Harnack",
        camera="folding camera", reference="VTA 12/1957/31",
    )  # fmt: skip
    roll = v.Roll(
        "r-0001", label, "HO_1957-031", film_format, Tone.NEGATIVE, Colour.MONO, expected, None, stock="pan 100",
        process="fine grain", where="cabinet 4, drawer 2", about=about,
    )  # fmt: skip
    told = [ev.JobOpened(JOB), ev.RollPlanned(roll), ev.RollOpened("r-0001")]
    told += _taken(strips, left_out, turned)
    return state_of([*told, *later]).rolls["r-0001"]


def state_of(events: list[ev.AnyEvent]) -> State:
    return fold(ev.Committed(n, START + timedelta(seconds=n), event) for n, event in enumerate(events, 1))


def _taken(
    strips: tuple[int, ...], left_out: tuple[tuple[int, int], ...], turned: tuple[int, ...]
) -> Iterator[ev.AnyEvent]:
    count = 0
    for strip, places in enumerate(strips, 1):
        yield ev.StripLoaded(v.Strip(f"s-{strip}", "r-0001", strip, places, turn=180 if strip in turned else 0))
        for place in range(1, places + 1):
            if (strip, place) in left_out:
                continue
            count += 1
            yield ev.FramePlaced(v.Frame(f"f-{count}", "r-0001", f"s-{strip}", place))
            yield from take(f"t-{count}", f"f-{count}")
            yield ev.KeeperChosen(f"f-{count}", (f"t-{count}",), Film.PICTURE)


def take(take_id: str, frame_id: str, quality: Quality = Quality.GOOD) -> list[ev.AnyEvent]:
    return [
        ev.ExposureIntended(take_id, frame_id, Purpose.WHOLE, 1, WANT),
        ev.Exposed(take_id, 0.1, ()),
        ev.Stored(take_id, f"HO_1957-031/{take_id}.dng", "0" * 64, 9),
        ev.Judged(take_id, v.Verdict(Film.PICTURE, quality, "Why."), Decision.KEEP),
    ]


def mixed() -> tuple[ev.AnyEvent, ...]:
    """Second thoughts on frames 2 to 6: unexposed, in doubt, to be taken again, retaken, with edge marks."""
    return (
        ev.FrameMarked("f-2", Film.UNEXPOSED, "operator"),
        *take("t-102", "f-3", Quality.SOFT),
        ev.KeeperChosen("f-3", ("t-102",), Film.PICTURE),
        late.FramesWanted(("f-4",), "a hair on it", "operator"),
        *take("t-103", "f-5"),
        ev.KeeperChosen("f-5", ("t-103",), Film.PICTURE),
        late.EdgesRead({f"f-{n}": mark for n, mark in enumerate(("00", "0", "1", "1A", "2", "2A"), 1)}, "operator"),
    )


def pictures_for(roll: RollState, aspect: float = 1.5) -> dict[str, NDArray[np.uint8]]:
    """A grey ramp with the frame's id for each frame: as high as 400 pixels, as wide as `aspect` times that."""
    return {frame_id: _picture(frame_id, aspect) for frame_id in roll.frames}


def _picture(text: str, aspect: float) -> NDArray[np.uint8]:
    height, width = 400, round(400 * aspect)
    ramp = np.linspace(40, 230, width, dtype=np.float32)[None, :, None] * np.linspace(1, 0.5, height)[:, None, None]
    picture = np.ascontiguousarray(np.repeat(ramp, 3, axis=2).astype(np.uint8))
    cv2.putText(picture, text, (width // 5, height // 2), cv2.FONT_HERSHEY_SIMPLEX, 1.6, (255, 255, 255), 3)
    return picture
