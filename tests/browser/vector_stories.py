"""Stories told in events, for the vectors that hold the page's fold equal to rigd/model/reduce.py.

`python tests/browser/vector_stories.py` writes them anew into tests/data/vectors after a change of the fold.
"""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.reduce import reduce
from rigd.model.state import State
from rigd.model.tally import tally
from rigd.model.values import About, CardFile, Exposure, Frame, Job, Level, Roll, Setup, Strip, Take, Verdict
from rigd.model.words import BaseType, Colour, Decision, Emulsion, Film, Purpose, Quality, Stage, Tone

VECTORS = Path(__file__).parent.parent / "data" / "vectors"
START = datetime(2031, 3, 4, 8, 15, tzinfo=UTC)
WANT = Exposure(1 / 15, "1/15", 8.0, 100)
EVERY = 7  # the state is compared after every seventh event, and at the end


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


def troubled_day() -> list[ev.AnyEvent]:
    """A second roll with all that goes wrong: lost shot, no answer, a question, a skip, a blank, a recall."""
    return [
        *first_strip(),
        ev.RollPlanned(roll(2, tone=Tone.POSITIVE, colour=Colour.COLOUR, expected=None, strip_places=None)),
        ev.RollChanged(roll(2, tone=Tone.POSITIVE, colour=Colour.COLOUR, expected=(9, 12), where="box 2")),
        ev.RollChanged(roll(9)),
        ev.RollOpened("r-0002"),
        ev.StripLoaded(Strip("s-0002", "r-0002", 1, None, Emulsion.UP, 180)),
        ev.FramePlaced(Frame("f-00003", "r-0002", "s-0002", 1)),
        *exposed(5, "f-00003")[:3],
        ev.Troubled("camera-lost", "The camera went away.", "No answer.", "Press Recover.", "f-00003"),
        ev.TakeLost("t-000005", "The shutter never opened."),
        ev.TroubleOver(),
        *exposed(6, "f-00003", 2),
        ev.Judged("t-000006", verdict(Quality.CLIPPED, off=1.2), Decision.ASK, "3 takes were made."),
        ev.KeeperChosen("f-00003", ("t-000006",), Film.PICTURE),
        ev.Paused("page"),
        ev.Resumed("page"),
        ev.Advanced("f-00003", 2),
        ev.FramePlaced(Frame("f-00004", "r-0002", "s-0002", 2)),
        ev.FrameSkipped("f-00004", "by page"),
        ev.Advanced("f-00004", 3),
        ev.FramePlaced(Frame("f-00005", "r-0002", "s-0002", 3)),
        *exposed(7, "f-00005"),
        *kept(7, "f-00005", 4, Film.UNEXPOSED),
        ev.FrameMarked("f-00005", Film.FOGGED, "page"),
        ev.Unclaimed("unclaimed/IMG99.DNG", "IMG99.DNG", 24_000_000, "It arrived without a trigger."),
        ev.FrameRecalled("f-00002"),
        ev.MoveIntended("f-00002", 63.0),
        *exposed(8, "f-00002", 3),
        *kept(8, "f-00002", None),
        ev.Verified("t-000004"),
        ev.Damaged("t-000002", "Bytes are not those that were stored."),
        ev.RollClosed("r-0001"),
        ev.RollOpened("r-0001"),
        ev.RollClosed("r-0002"),
        ev.SetupDescribed(Setup("u-0002", "film holder", "90 mm macro", 11.0)),
        ev.FrameMarked("f-00005", None, "page"),
        ev.Armed("page"),
        ev.Disarmed("page"),
        ev.Armed("pedal"),
        ev.Disarmed("rigd", "The film moved too fast to be followed."),
        ev.Armed("page"),
        *_fed_by_motor(),
    ]


def _fed_by_motor() -> list[ev.AnyEvent]:
    """A strip drawn in by the advancer: gear, stop, an end that comes early; film that moves while a file is stored."""
    return [
        ev.StripLoaded(Strip("s-0003", "r-0002", 2, None)),
        ev.MoveIntended(None, 81.0, "s-0003", 1, 0.0),
        ev.Moved(None, 81.2, "done", 1, 0.04, 1),
        ev.GearLearned("u-0002", -0.995, 28.0),
        ev.GearLearned("u-0001", 0.5, 28.0),
        ev.FramePlaced(Frame("f-00006", "r-0002", "s-0003", 1)),
        *exposed(9, "f-00006")[:5],
        ev.MoveIntended("f-00006", 62.0, "s-0003", 2, 81.2),
        *exposed(9, "f-00006")[5:],
        *kept(9, "f-00006", 2),
        ev.FilmStopped("page"),
        ev.StopCleared("page"),
        ev.Moved("f-00006", 31.0, "stop"),
        ev.FilmEnded("s-0003", 1, "No film follows."),
        ev.FilmEnded("s-9999", 1),
        ev.FilmStopped("board"),
        ev.SetupDescribed(Setup("u-0003", "film holder", "90 mm macro", 11.0)),
    ]


def second_thoughts() -> list[ev.AnyEvent]:
    """What is found out later: strips of another roll, label takes, and where the film goes on after a recall."""
    label = ev.ExposureIntended("t-000005", None, Purpose.LABEL, 1, WANT, "r-0001", "s-0001")
    first, second = Strip("s-0001", "r-0001", 1, 2), Strip("s-0002", "r-0001", 2, 4)
    return [
        *first_strip(),
        label,
        *exposed(5, None)[3:],
        ev.RollPlanned(roll(2)),
        ev.RollPlanned(roll(3)),
        late.RollDropped("r-0003", "planned twice", "page"),
        late.RollDropped("r-0001", "it has frames", "page"),
        late.BaseHeeded("r-0002", "reads SAFETY on its edge", "page"),
        ev.StripLoaded(second),
        ev.FramePlaced(Frame("f-00003", "r-0001", "s-0002", 1)),
        *exposed(6, "f-00003"),
        ev.FrameRecalled("f-00001"),
        ev.FrameRecalled("f-00002"),
        ev.Advanced("f-00002", None),
        *kept(6, "f-00003", 2),
        ev.FrameRecalled("f-00001"),
        ev.FrameRecalled("f-00003"),
        ev.Advanced("f-00003", 2),
        ev.StripLoaded(first),
        ev.StripLoaded(second),
        ev.FrameRecalled("f-00002"),
        late.StripsChanged((Strip("s-0002", "r-0002", 1, 4, Emulsion.UP, 180),), (second,), "other film", "page"),
        late.StripsChanged((Strip("s-0003", "r-0001", 2, 4, tone=Tone.POSITIVE, sleeve="B"),)),
        late.FramesMoved((Frame("f-00002", "r-0001", "s-0003", 1, "8"),), (Frame("f-00002", "r-0001", "s-0001", 2),)),
        late.FramesMoved((Frame("f-00001", "r-0002", "s-0002", 2),), (Frame("f-00001", "r-0001", "s-0001", 1),)),
        late.StripsChanged((Strip("s-0001", "r-0002", 2, 2),), (first,)),
        ev.Advanced("f-00002", None),
        *_after_all(),
    ]


def _after_all() -> list[ev.AnyEvent]:
    """Marks and their undoing, doubts, files that found their frame, copies."""
    stray = Take("t-000007", "f-00003", Purpose.WHOLE, 1, WANT, Stage.STORED, path="a/b.dng", sha256="0" * 64, bytes=9)
    return [
        late.EdgesRead({"f-00001": "12A", "f-00003": "13", "f-99999": "14"}, "page"),
        late.FramesMarked(("f-00001", "f-00002"), Film.FOGGED, "page"),
        ev.FrameMarked("f-00001", Film.UNEXPOSED, "page"),
        late.MarkUndone("f-00001", "page"),
        late.MarkUndone("f-99999", "page"),
        ev.FrameMarked("f-00002", None, "page"),
        late.FramesDoubted(("f-00001", "f-00003", "f-99999"), "the rig had drifted"),
        late.FramesAccepted(("f-00003",), "page"),
        late.FramesWanted(("f-00001", "f-00002"), "soft at 100 %", "page"),
        late.FramesWanted(("f-00002",), "", "page"),
        late.FramesDescribed({"f-00001": About(title="Quay 4", keywords=("crane", "quay")), "f-9": About()}, "page"),
        late.SetupChecked(True, "level"),
        late.SetupChecked(False, "focus", "drifted by 40 um"),
        ev.Unclaimed("unclaimed/IMG99.DNG", "IMG99.DNG", 9, "It arrived without a trigger."),
        ev.Unclaimed("unclaimed/IMG98.DNG", "IMG98.DNG", 9, "It arrived without a trigger."),
        late.StrayAssigned("unclaimed/IMG99.DNG", stray, "page"),
        late.StrayDismissed("unclaimed/IMG98.DNG", "a test", "page"),
        late.Copied("t-000006", "/media/second"),
        late.Copied("t-000006", "/media/second"),
        late.Copied("t-000006", "/media/third"),
        late.CardCleared("t-000006", "IMG6.DNG", "page"),
        late.Rebuilt(3, "the disk was lost"),
    ]


def wandering(seed: int = 20310304, steps: int = 240) -> list[ev.AnyEvent]:
    """Events in any order that the fold allows, from a fixed seed: what no story would think of."""
    dice = random.Random(seed)
    told: list[ev.AnyEvent] = [*first_strip()]
    state = State()
    for number, event in enumerate(told, 1):
        state = reduce(state, ev.Committed(number, START, event))
    for _ in range(steps):
        event = _any_event(dice, state)
        told.append(event)
        state = reduce(state, ev.Committed(len(told), START, event))
    return told


def _any_event(dice: random.Random, state: State) -> ev.AnyEvent:
    """One event about something there is, or (now and then) about something there is not."""
    roll_id = dice.choice(list(state.rolls))
    found = state.rolls[roll_id]
    frame = dice.choice([*found.frames, "f-99999"])
    takes = [*state.loose, *(t for r in state.rolls.values() for t in r.takes)]
    take = dice.choice([*takes, "t-999999"])
    strip = dice.choice([*found.strips, f"s-{state.strip_count + 1:04d}"])
    fresh_take, fresh_frame = f"t-{state.take_count + 1:06d}", f"f-{state.frame_count + 1:05d}"
    quality, film = dice.choice(list(Quality)), dice.choice([None, *Film])
    makers: list[ev.AnyEvent] = [
        ev.RollPlanned(roll(len(state.rolls) + 1)) if len(state.rolls) < 4 else ev.RollChanged(roll(2, where="box 5")),
        ev.RollOpened(roll_id),
        ev.RollClosed(roll_id),
        ev.StripLoaded(Strip(strip, roll_id, 1 + len(found.strips), dice.choice([None, 4, 6]), assumed=True)),
        ev.FramePlaced(Frame(fresh_frame, roll_id, strip, dice.randint(1, 6))),
        ev.FrameRecalled(frame),
        *exposed(state.take_count + 1, dice.choice([frame, None]), dice.randint(1, 3))[2:3],
        *exposed(int(take[2:]), frame)[3:],
        ev.Judged(take, verdict(quality, film), dice.choice(list(Decision)), "", dice.choice([None, 0.125])),
        ev.TakeLost(take, "Its file is on the card no more."),
        ev.KeeperChosen(frame, (take, fresh_take), film or Film.PICTURE, "page"),
        ev.FrameMarked(frame, film, "page"),
        ev.FrameSkipped(frame),
        dice.choice([ev.MoveIntended(frame, 38.0), ev.Moved(frame, 38.0), ev.FilmEnded(strip, 3)]),
        ev.Advanced(frame, dice.choice([None, 2, 5])),
        ev.Verified(take),
        ev.Damaged(take, "changed"),
        ev.Paused("page"),
        *_second_thought(dice, state, roll_id, frame, take, strip, film),
    ]
    return dice.choice(makers)


def _second_thought(
    dice: random.Random, state: State, roll_id: str, frame: str, take: str, strip: str, film: Film | None
) -> list[ev.AnyEvent]:
    other = dice.choice(list(state.rolls))
    there = dice.choice([*state.rolls[other].strips, strip])
    moved = late.FramesMoved((Frame(frame, other, there, dice.randint(1, 6)),))
    return [
        late.StripsChanged((Strip(strip, other, dice.randint(1, 9), dice.choice([None, 4])),)),
        moved if there in state.rolls[other].strips else ev.Resumed("page"),
        late.FramesMarked((frame, "f-00001"), film, "page"),
        late.MarkUndone(frame, "page"),
        dice.choice([late.FramesDoubted((frame,), "drift"), late.FramesAccepted((frame,), "page")]),
        late.FramesWanted((frame,), dice.choice(["soft", ""]), "page"),
        late.RollDropped(roll_id),
        late.Copied(take, dice.choice(["/media/a", "/media/b"])),
        ev.Unclaimed(f"unclaimed/{dice.randint(1, 3)}", "IMG", 9, "why"),
        late.StrayDismissed(f"unclaimed/{dice.randint(1, 3)}", "a test", "page"),
    ]


STORIES = {
    "first_strip": first_strip, "troubled_day": troubled_day, "second_thoughts": second_thoughts,
    "wandering": wandering,
}  # fmt: skip


def committed(name: str) -> list[ev.Committed]:
    """A story as the ledger would hold it, an event every four seconds."""
    return [ev.Committed(n, START + timedelta(seconds=4 * n), e) for n, e in enumerate(STORIES[name](), 1)]


def vector(name: str) -> bytes:
    """The JSON of one vector: the events, and after some of them the state and the tally of the current roll."""
    told = committed(name)
    state, after = State(), []
    for one in told:
        state = reduce(state, one)
        if one.seq % EVERY == 0 or one.seq == len(told):
            count = tally(state.roll) if state.roll else None
            after.append({"seq": one.seq, "state": state, "tally": count})
    text = msgspec.json.encode({"events": told, "after": after if name != "wandering" else after[-6:]})
    return msgspec.json.format(text, indent=0) + b"\n"


if __name__ == "__main__":
    VECTORS.mkdir(parents=True, exist_ok=True)
    for story in STORIES:
        (VECTORS / f"{story}.json").write_bytes(vector(story))
