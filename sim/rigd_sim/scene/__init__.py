"""The shared scene: film on a light table under a copy camera."""

from rigd_sim.scene.scene import Scene
from rigd_sim.scene.spec import FrameSpec, SceneSpec

__all__ = ["FrameSpec", "Scene", "SceneSpec"]
