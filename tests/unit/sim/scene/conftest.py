"""Scenes on a clock that the test moves."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest

from rigd_sim.scene import Scene, SceneSpec


@dataclass
class Clock:
    """Time as the test sets it, seconds."""

    t: float = 0.0

    def __call__(self) -> float:
        return self.t


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def open_scene(clock: Clock) -> Iterator[Callable[..., Scene]]:
    """Opens scenes (2 MP unless told otherwise) on the test's clock, and closes them."""
    opened: list[Scene] = []

    def opener(**options: object) -> Scene:
        scene = Scene(SceneSpec(**({"megapixels": 2} | options)), now=clock)  # type: ignore[arg-type]
        opened.append(scene)
        return scene

    yield opener
    for scene in opened:
        scene.close()
