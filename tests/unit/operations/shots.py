"""Raw files of a simulated roll, for tests that look at pictures."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from functools import cache

from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene import Scene, SceneSpec


@cache
def raw_files(count: int) -> tuple[bytes, ...]:
    """That many frames of a strip of 6x6, 2 MP each; four at most."""
    now = 0.0
    meta = ShotMeta(Fraction(1, 30), 8.0, 100, datetime(2026, 3, 1, 12), "RS0000001")
    found: list[bytes] = []
    with Scene(SceneSpec(megapixels=2, script="plain"), lambda: now) as scene:
        scene.lay(1)
        for place in range(1, count + 1):
            scene.slide(frame=place, seconds=0.0)
            scene.prepare()
            now += 30.0
            found.append(encode_dng(scene.expose(now, 1 / 30, 8.0, 100), meta, scene.preview(now), "none"))
    return tuple(found)
