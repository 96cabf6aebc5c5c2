"""Histories that could happen: every whole number chooses one of the events that are legal at that moment."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st
from tests.unit.model.histories_later import second_thoughts

from rigd.model import events as ev
from rigd.model.reduce import reduce
from rigd.model.state import FrameState, RollState, State
from rigd.model.values import CardFile, Exposure, Frame, Job, Roll, Setup, Strip, Take, Verdict
from rigd.model.words import Colour, Decision, Film, Purpose, Quality, Stage, Tone

START = datetime(2031, 3, 9, 20, 0, tzinfo=UTC)
WANT = Exposure(1 / 60, "1/60", 8.0, 100)

Choice = Callable[[int], ev.AnyEvent]

# Lengths are drawn evenly: lists of free length are mostly so short that no take ever comes to its end.
histories = (
    st.integers(0, 120)
    .flatmap(lambda size: st.lists(st.integers(0, 1 << 20), min_size=size, max_size=size))
    .map(lambda numbers: history(numbers))
)


def history(numbers: Iterable[int]) -> list[ev.Committed]:
    """The events that the numbers choose, one each, after the opening of a job."""
    committed = [ev.Committed(1, START, ev.JobOpened(Job("j-1", "Harbour office, survey negatives")))]
    state = reduce(State(), committed[0])
    for number in numbers:
        choices = _choices(state)
        event = choices[number % len(choices)](number // len(choices))
        committed.append(ev.Committed(state.seq + 1, START + timedelta(seconds=7 * state.seq), event))
        state = reduce(state, committed[-1])
    return committed


def _choices(state: State) -> list[Choice]:
    takes = [*state.loose.values(), *(t for r in state.rolls.values() for t in r.takes.values())]
    found = [*_about_rig(state), *_about_rolls(state), *_about_frames(state), *_about_exposures(state)]
    found += second_thoughts(state)
    for take in takes[-3:]:
        # More than once: else most takes would never come to their end.
        found += 3 * _about_take(take)
    return found


def _about_rig(state: State) -> list[Choice]:
    said = (
        ev.SetupDescribed(Setup(f"u-{state.seq % 3}")), ev.Paused("page"), ev.Resumed("page"), ev.TroubleOver(),
        ev.Armed("page"), ev.Disarmed("rigd", "why"),
        ev.CameraJoined("Body", "1"), ev.Troubled("disk-full", "what", "why", "remedy"),
        ev.LampMeasured("u-0", (1.0, 2.0, 3.0), 8.0, 100),
    )  # fmt: skip
    return [lambda n: said[n % len(said)], lambda n: ev.Unclaimed(f"unclaimed/{n % 4}", "a", 1, "why")]


def _about_rolls(state: State) -> list[Choice]:
    known = list(state.rolls.values())
    found: list[Choice] = []
    if len(known) < 4:
        found.append(lambda n: ev.RollPlanned(_roll(f"r-{state.roll_count + 1}", n)))
    if known:
        found.append(lambda n: ev.RollChanged(_roll(known[n % len(known)].roll.roll_id, n // 4)))
        found.append(lambda n: ev.RollOpened(known[n % len(known)].roll.roll_id))
        found.append(lambda n: ev.RollClosed(known[n % len(known)].roll.roll_id))
    if known and state.roll is None:
        found += 4 * [lambda n: ev.RollOpened(known[n % len(known)].roll.roll_id)]
    if state.roll is not None:
        roll = state.roll
        found += (1 if state.strip else 4) * [lambda n: ev.StripLoaded(_strip(state, roll, n))]
    return found


def _about_frames(state: State) -> list[Choice]:
    known = [frame for roll in state.rolls.values() for frame in roll.frames.values()]
    found: list[Choice] = []
    if state.strip is not None:
        strip = state.strip
        found += 4 * [
            lambda n: ev.FramePlaced(Frame(f"f-{state.frame_count + 1}", strip.roll_id, strip.strip_id, n % 6 + 1))
        ]
    if known:

        def pick(n: int) -> FrameState:
            return known[n % len(known)]

        found += [
            lambda n: ev.FrameRecalled(pick(n).frame.frame_id),
            lambda n: ev.FrameMarked(pick(n).frame.frame_id, (*Film, None)[n // 16 % 5], "operator"),
            lambda n: ev.FrameSkipped(pick(n).frame.frame_id),
            lambda n: ev.KeeperChosen(
                pick(n).frame.frame_id, pick(n).takes[: n // 16 % 3], (Film.PICTURE, *Film)[n // 64 % 5]
            ),
            lambda n: ev.MoveIntended(pick(n).frame.frame_id, 38.0),
            lambda n: (ev.Moved(None, 38.0), ev.FilmEnded(pick(n).frame.strip_id, n % 6 + 1))[n // 16 % 2],
            lambda n: ev.Advanced(pick(n).frame.frame_id, n % 6 or None),
        ]
    return found


def _about_exposures(state: State) -> list[Choice]:
    take_id = f"t-{state.take_count + 1}"
    current = state.frame.frame.frame_id if state.frame else None
    loose = (Purpose.FLAT, Purpose.DARK, Purpose.BASE)
    return [
        lambda n: (ev.Triggered(current, "pedal"), ev.Settled(current, 0.5))[n % 2],
        lambda n: ev.ExposureIntended(take_id, None, loose[n % 3], 1, WANT),
        *(6 if current else 0) * [lambda n: ev.ExposureIntended(take_id, current, Purpose.WHOLE, n % 4 + 1, WANT)],
    ]


def _about_take(take: Take) -> list[Choice]:
    match take.stage:
        case Stage.INTENDED:
            step: Choice = lambda n: ev.Exposed(take.take_id, 0.3, (CardFile("/DCIM", f"IMG_{n % 9999:04d}.DNG", n),))  # noqa: E731
        case Stage.EXPOSED:
            step = lambda n: ev.Fetched(take.take_id, f"roll/.{take.take_id}.part", n)  # noqa: E731
        case Stage.FETCHED:
            step = lambda n: ev.Stored(take.take_id, f"roll/{take.take_id}.dng", f"{n:064x}", n)  # noqa: E731
        case Stage.STORED | Stage.JUDGED:
            return [
                lambda n: ev.Judged(take.take_id, _verdict(n), tuple(Decision)[n // 64 % 4], "why", n % 7 / 60 or None),
                lambda n: (ev.Verified(take.take_id), ev.Damaged(take.take_id, "why"))[n % 2],
            ]
        case Stage.LOST:
            return []
    return [step, lambda n: ev.TakeLost(take.take_id, "why") if n % 4 == 0 else step(n)]


def _roll(roll_id: str, n: int) -> Roll:
    expected = (None, (1, 1), (3, 4), (36, 37))[n % 4]
    return Roll(roll_id, f"Pier {roll_id}", f"Pier_{roll_id}", "135", Tone.NEGATIVE, Colour.MONO, expected)


def _strip(state: State, roll: RollState, n: int) -> Strip:
    again = n % 4 == 0 and roll.strips
    strip_id = next(iter(roll.strips)) if again else f"s-{state.strip_count + 1}"
    return Strip(strip_id, roll.roll.roll_id, len(roll.strips) + 1, 6)


def _verdict(n: int) -> Verdict:
    return Verdict((*Film, None)[n % 5], tuple(Quality)[n // 8 % 9], "why", numbers={"n": float(n % 100)})
