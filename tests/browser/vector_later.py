"""Stories of second thoughts: corrections over a range, marks and their undoing, files that found their frame."""

from __future__ import annotations

import random

from tests.browser.vector_parts import WANT, exposed, first_strip, kept, roll

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.events_exposing import ShutterHeld, ShutterReleased
from rigd.model.state import State
from rigd.model.values import About, Frame, Held, Setup, Strip, Take
from rigd.model.words import Emulsion, Film, Purpose, Stage, Tone


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
        late.Rebuilt(3, "the disk was lost", takes=900, frames=2, strips=70, rolls=1),
        ShutterHeld("r-0002", Held(1 / 20, "1/20", (3.8, 2.4, 1.5), "rebate", "t-000006")),
        ShutterHeld("r-0001", Held(1 / 25, "1/25", (4.1, 2.7, 1.8), "base take", "t-000008", "It ends there."), "page"),
        ShutterReleased("r-0002", "page"),
        ShutterReleased("r-0099", "page"),
        ev.SetupDescribed(Setup("u-0003", "another holder", "90 mm macro")),
    ]


def any_second_thought(
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
