"""What frames look like that were taken before anybody watched: from their files."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

import cv2
import numpy as np

from rigd.engine.pictures import Looks, looks_of_file
from rigd.engine.rig import Rig
from rigd.engine.watch_sight import Seen, Sight
from rigd.errors import RigdError
from rigd.imaging.live import Likeness, look_of
from rigd.model.state import FrameState
from rigd.model.values import Take
from rigd.model.words import Colour, Tone


async def looks_of_past(
    rig: Rig, sight: Sight, seen: Seen, frames: Sequence[FrameState]
) -> list[tuple[int, Likeness]]:
    """(place, likeness) of each frame whose keeper can be decoded and tells where the picture lies."""
    found: list[tuple[int, Likeness]] = []
    for frame in frames:
        take = rig.state.take(frame.keeper[0])
        if take is None or take.verdict is None or len(take.verdict.corners) != 4:
            continue
        try:
            looks = await rig.pictures.of(take.take_id)
            if looks is None:
                looks = await asyncio.to_thread(_from_file, rig, take)
        except RigdError:
            continue
        found.append((frame.frame.place, _likeness(looks, take, sight, seen)))
    return found


def _from_file(rig: Rig, take: Take) -> Looks:
    assert take.verdict is not None
    return looks_of_file(rig.store.root / take.path, Tone.NEGATIVE, Colour.MONO, take.verdict.corners)


def _likeness(looks: Looks, take: Take, sight: Sight, seen: Seen) -> Likeness:
    """As the live picture would have shown it: the preview is of the whole sight, as it lies on the light table."""
    assert take.verdict is not None
    assert seen.bed is not None
    width, height = seen.look.size
    size = (width, height) if sight.along_x else (height, width)
    grey = cv2.imdecode(np.frombuffer(looks[0]["negative"], np.uint8), cv2.IMREAD_GRAYSCALE)
    if grey is None:
        return Likeness(b"")
    small = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)
    shares = sorted((x if sight.along_x else y) for x, y in take.verdict.corners)
    left, right = (seen.bed.mm((a + b) / 2 * width) for a, b in (shares[:2], shares[2:]))
    shown = look_of(small if sight.along_x else np.ascontiguousarray(small.T))
    return sight.likeness(Seen(0, 0.0, shown, seen.bed), left, right)
