"""Stories told in events, for the vectors that hold the page's fold equal to rigd/model/reduce.py.

`python -m tests.browser.vector_stories` writes them anew into tests/data/vectors after a change of the fold.
"""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

import msgspec
from tests.browser.vector_later import any_second_thought, second_thoughts
from tests.browser.vector_parts import START, exposed, first_strip, kept, roll, verdict

from rigd.model import events as ev
from rigd.model.reduce import reduce
from rigd.model.state import State
from rigd.model.tally import tally
from rigd.model.values import Frame, Setup, Strip
from rigd.model.words import Colour, Decision, Emulsion, Film, Quality, Tone

VECTORS = Path(__file__).parent.parent / "data" / "vectors"
EVERY = 7  # the state is compared after every seventh event, and at the end


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
        *_armed(),
        *_fed_by_motor(),
    ]


def _armed() -> list[ev.AnyEvent]:
    """Files read back, rolls closed and opened, another set-up, and triggering by itself on and off."""
    return [
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
        *any_second_thought(dice, state, roll_id, frame, take, strip, film),
    ]
    return dice.choice(makers)


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
