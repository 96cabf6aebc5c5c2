"""The order of frames on the film: by strip, then by place; a strip that was turned runs the other way."""

from __future__ import annotations

from rigd.model.state import FrameState, RollState
from rigd.model.values import Strip
from rigd.model.words import Colour, Tone


def strips_in_order(roll: RollState) -> list[Strip]:
    """The strips as they lie on the roll."""
    return sorted(roll.strips.values(), key=lambda s: (s.number, s.strip_id))


def frames_of(roll: RollState, strip: Strip) -> list[FrameState]:
    """The frames of one strip as they lie on the film."""
    frames = [f for f in roll.frames.values() if f.frame.strip_id == strip.strip_id]
    return sorted(frames, key=lambda f: (f.frame.place, f.frame.frame_id), reverse=strip.turn == 180)


def in_order(roll: RollState) -> list[FrameState]:
    """All frames as they lie on the film."""
    return [frame for strip in strips_in_order(roll) for frame in frames_of(roll, strip)]


def numbers(roll: RollState) -> dict[str, int]:
    """The number of each frame on its roll, from 1, in the order of the film."""
    return {frame.frame.frame_id: n for n, frame in enumerate(in_order(roll), 1)}


def places_of(roll: RollState, strip: Strip) -> int | None:
    """How many frames a strip should hold: as it was loaded, as it was counted beforehand, or as is usual; None if
    nobody knows."""
    if strip.places is not None:
        return strip.places
    cuts = roll.roll.cuts
    return cuts[strip.number - 1] if 0 < strip.number <= len(cuts) else roll.roll.strip_places


def film_kind(roll: RollState, frame_id: str | None) -> tuple[Tone, Colour]:
    """Tone and colour of a frame's film: those of its strip where it differs from its roll."""
    frame = roll.frames.get(frame_id or "")
    strip = roll.strips.get(frame.frame.strip_id) if frame else None
    tone = strip.tone if strip and strip.tone else roll.roll.tone
    return tone, strip.colour if strip and strip.colour else roll.roll.colour
