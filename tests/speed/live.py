"""`live`: one live picture of a frame metered, from the JPEG to its levels; 960 px wide as bodies commonly give."""

from __future__ import annotations

import time
from typing import Any

import cv2
import numpy as np
from spread import spread

from rigd.engine.foresight import read
from rigd.engine.watch_sight import Asked, Seen, Sight
from rigd.model.formats import film_format
from rigd.model.words import Tone
from rigd_sim.scene import Scene, SceneSpec

RUNS = 101
SECONDS = 1 / 30


def measure() -> dict[str, Any]:
    """`metering_ms`, median of a hundred; reach 5."""
    film = film_format("120-6x6")
    sight, jpegs = Sight(Asked(film, Tone.NEGATIVE)), _jpegs()
    seen = [sight.see(number, number / 10, jpeg) for number, jpeg in enumerate(jpegs, 1)][-1]
    assert seen.bed is not None
    took = [_one(jpegs[number % len(jpegs)], seen) for number in range(RUNS + 1)][1:]
    wall, processor = zip(*took, strict=True)
    return {"metering_ms": spread(wall)["median"], "spread": spread(wall), "processor_ms": spread(processor)}


def _one(jpeg: bytes, seen: Seen) -> tuple[float, float]:
    """Milliseconds by the clock, and of this thread's processor time: a busy machine shows in the difference."""
    began, used = time.perf_counter(), time.thread_time()
    read(jpeg, seen, film_format("120-6x6"), SECONDS, True, True)
    return 1e3 * (time.perf_counter() - began), 1e3 * (time.thread_time() - used)


def _jpegs() -> list[bytes]:
    """Live pictures of a frame at rest, one differing from the other by its noise."""
    now = 0.0
    with Scene(SceneSpec(megapixels=2), lambda: now) as scene:
        scene.lay(1)
        scene.prepare()
        shown = [scene.preview(10.0 + n / 10, 960, seconds=SECONDS) for n in range(8)]
    return [cv2.imencode(".jpg", np.ascontiguousarray(one[:, :, ::-1]))[1].tobytes() for one in shown]
