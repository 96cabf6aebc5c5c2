"""Judge frames again from their stored raws: after a correction, or with what has been learned since."""

from __future__ import annotations

import asyncio
from pathlib import Path

from msgspec import Struct

from rigd.engine.asking import asked_of, looked_at, unreadable, with_corners
from rigd.errors import RawUnreadable
from rigd.imaging import Asked
from rigd.imaging import Limits as Metering
from rigd.model.events import AnyEvent, Judged, KeeperChosen
from rigd.model.state import FrameState, RollState
from rigd.model.values import Take, Verdict
from rigd.model.words import Aim, Decision, Film, Purpose, Quality, Stage
from rigd.operations.desk import Desk
from rigd.operations.finding import between_frames, known_frame
from rigd.operations.flagging import Some, frame_ids
from rigd.operations.verb import Verb

# A keeper that is not good gives way to a take that is better by this order.
_ORDER = {Quality.GOOD: 0, Quality.EXCEEDS: 1, Quality.LOW: 2, Quality.HIGH: 3, Quality.SUSPECT: 4, Quality.CLIPPED: 6}
# 60 MP take a quarter of a second each; a roll of 36 with retakes, on a slow disk.
_PATIENCE_S = 1800.0


class Again(Struct, frozen=True):
    """How many takes were judged again, on how many verdicts something else came out, and the frames whose keeper
    changed."""

    takes: int
    differ: int
    frames: tuple[str, ...]


async def judge_again(desk: Desk, args: Some, by: str) -> Again:
    """Judge the stored raws of frames again. What the operator said of the film stays; a keeper that rigd chose gives
    way to a better take."""
    between_frames(desk)
    takes, differ, changed = 0, 0, []
    for frame_id in await frame_ids(desk, args):
        roll, frame = await known_frame(desk, frame_id)
        found = [(take, await _verdict(desk, roll, take)) for take in _stored(roll, frame)]
        events: list[AnyEvent] = [Judged(t.take_id, v, Decision.KEEP, f"judged again: {v.why}") for t, v in found]
        keeper = _keeper(frame, {t.take_id: v for t, v in found})
        if keeper is not None:
            events.append(keeper)
            changed.append(frame_id)
        if events:
            await desk.hub.append(*events)
        takes += len(found)
        differ += sum(t.verdict is None or (v.take, v.film) != (t.verdict.take, t.verdict.film) for t, v in found)
    return Again(takes, differ, tuple(changed))


def _stored(roll: RollState, frame: FrameState) -> list[Take]:
    takes = [roll.takes[t] for t in frame.takes if t in roll.takes]
    return [t for t in takes if t.stage in (Stage.STORED, Stage.JUDGED) and t.purpose is Purpose.WHOLE]


async def _verdict(desk: Desk, roll: RollState, take: Take) -> Verdict:
    rig = desk.runner.rig if desk.runner else None
    aim = rig.rules(roll).aim if rig else None
    asked = asked_of(desk.state, take, roll, aim or Aim.CENTRE, rig.metering if rig else Metering())
    return await asyncio.to_thread(_judged, desk.root / take.path, asked)


def _judged(path: Path, asked: Asked) -> Verdict:
    try:
        raw, judgement = looked_at(path, asked)
    except RawUnreadable as error:
        return unreadable(error)
    except OSError as error:
        return unreadable(_gone(path, error))
    return with_corners(judgement, raw)


def _gone(path: Path, error: OSError) -> RawUnreadable:
    return RawUnreadable(f"{path.name} could not be opened.", f"{error.strerror}.", "Look for it: rigd verify.")


def _keeper(frame: FrameState, found: dict[str, Verdict]) -> KeeperChosen | None:
    """Another keeper, or another word on its film; None where all stays as it is. What a person chose is left alone."""
    if not found or frame.accepted or frame.marks or len(frame.keeper) > 1:
        return None
    held = frame.keeper[0] if frame.keeper else None
    best = min(found, key=lambda t: (_ORDER.get(found[t].take, 5), t != held))
    film = found[best].film or frame.film or Film.PICTURE
    if best == held and film == frame.film:
        return None
    return KeeperChosen(frame.frame.frame_id, (best,), film)


_EXAMPLE = Some(roll="r-0001", strips="31-")
JUDGE_AGAIN = Verb("frames/judge-again", Some, Again, judge_again, _EXAMPLE, patience_s=_PATIENCE_S)

VERBS = (JUDGE_AGAIN,)
