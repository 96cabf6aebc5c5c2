"""Second thoughts that are legal at a moment: corrections, flags, files that found their frame, copies."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.state import FrameState, State
from rigd.model.values import About, Exposure, Frame, Strip, Take
from rigd.model.words import Emulsion, Film, Purpose, Stage, Tone

Choice = Callable[[int], ev.AnyEvent]


def second_thoughts(state: State) -> list[Choice]:
    """What somebody may find out now."""
    frames = [frame for roll in state.rolls.values() for frame in roll.frames.values()]
    found = [*_about_places(state, frames), *_about_rolls(state), *_about_files(state, frames)]
    if frames:
        found += _about_frames(frames)
    return found


def _about_places(state: State, frames: list[FrameState]) -> list[Choice]:
    rolls = list(state.rolls)
    strips = [strip for roll in state.rolls.values() for strip in roll.strips.values()]
    if not strips:
        return []

    def changed(n: int) -> Strip:
        kind = (None, Tone.POSITIVE)[n // 64 % 2]
        side = tuple(Emulsion)[n // 8 % 2]
        other = rolls[n // 128 % len(rolls)]
        return replace(strips[n % len(strips)], roll_id=other, number=n // 16 % 9, emulsion=side, tone=kind)

    def moved(n: int) -> Frame:
        strip = strips[n % len(strips)]
        frame = frames[n // 8 % len(frames)].frame
        return replace(frame, roll_id=strip.roll_id, strip_id=strip.strip_id, place=n // 64 % 6 + 1)

    fresh = f"s-{state.strip_count + 1}"
    found: list[Choice] = [
        lambda n: late.StripsChanged((changed(n),)),
        lambda n: late.StripsChanged((changed(n), changed(n // 3)), why="other film", by="operator"),
        lambda n: late.StripsChanged((Strip(fresh, rolls[n % len(rolls)], 9, None),)),
    ]
    if frames:
        found += [lambda n: late.FramesMoved((moved(n),)), lambda n: late.FramesMoved((moved(n), moved(n // 5)))]
    return found


def _about_frames(frames: list[FrameState]) -> list[Choice]:
    def some(n: int) -> tuple[str, ...]:
        return tuple(sorted({frames[(n // m) % len(frames)].frame.frame_id for m in (1, 7, 31)}))

    return [
        lambda n: late.FramesMarked(some(n), (*Film, None)[n // 16 % 5], "operator"),
        lambda n: late.MarkUndone(some(n)[0], "operator"),
        lambda n: late.FramesDoubted(some(n), "the rig had drifted"),
        lambda n: late.FramesAccepted(some(n), "operator"),
        lambda n: late.FramesWanted(some(n), ("soft", "")[n // 16 % 2], "operator"),
        lambda n: late.EdgesRead(dict.fromkeys(some(n), f"{n % 37}A"), "operator"),
        lambda n: late.FramesDescribed(dict.fromkeys(some(n), About(title=f"Quay {n % 9}")), "operator"),
    ]


def _about_rolls(state: State) -> list[Choice]:
    rolls = list(state.rolls)
    if not rolls:
        return []
    return [
        lambda n: late.RollDropped(rolls[n % len(rolls)]),
        lambda n: late.BaseHeeded(rolls[n % len(rolls)], "SAFETY on its edge", "operator"),
    ]


def _about_files(state: State, frames: list[FrameState]) -> list[Choice]:
    takes = [*state.loose, *(take for roll in state.rolls.values() for take in roll.takes)]
    found: list[Choice] = [lambda n: late.SetupChecked(n % 2 == 0, "focus")]
    if state.strays:
        paths = list(state.strays)
        found.append(lambda n: late.StrayDismissed(paths[n % len(paths)], "a test", "operator"))
        if frames:
            found.append(lambda n: late.StrayAssigned(paths[n % len(paths)], _stray(state, frames, n), "operator"))
    if takes:
        found += [
            lambda n: late.Copied(takes[n % len(takes)], ("second", "third")[n // 64 % 2]),
            lambda n: late.CardCleared(takes[n % len(takes)], "IMG", "operator"),
        ]
    if state.strip is not None:
        label = (f"t-{state.take_count + 1}", None, Purpose.LABEL, 1, Exposure(1.0, "1"))
        found.append(lambda n: ev.ExposureIntended(*label, roll_id=state.roll_id, strip_id=state.strip_id))
    return found


def _stray(state: State, frames: list[FrameState], n: int) -> Take:
    frame_id = frames[n // 16 % len(frames)].frame.frame_id
    return Take(f"t-{state.take_count + 1}", frame_id, Purpose.WHOLE, 9, Exposure(0.1, ""), Stage.STORED, path=f"a/{n}")
