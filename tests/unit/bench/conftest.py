"""A simulated rig for the bench: takes of a scene whose truth is known."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from rigd.imaging import Raw
from rigd_sim.scene import Scene, SceneSpec
from rigd_sim.scene.sensor import BLACK, WHITE


class Rig:
    """One scene; `take` exposes it, each time ten seconds later than the last."""

    def __init__(self, scene: Scene, now: list[float]) -> None:
        self.scene = scene
        self.now = now

    def take(self, seconds: float) -> Raw:
        self.now[0] += 10.0
        mosaic = self.scene.expose(self.now[0], seconds, 8.0, 100)
        return Raw(mosaic, (0, 1, 1, 2), (float(BLACK),) * 4, float(WHITE), False, seconds, 8.0, 100.0, None)


@contextmanager
def rig(**spec: object) -> Iterator[Rig]:
    now = [0.0]
    with Scene(SceneSpec(megapixels=2, **spec), lambda: now[0]) as scene:
        scene.lay(None)
        yield Rig(scene, now)


@pytest.fixture
def a_rig() -> Callable[..., object]:
    return rig
