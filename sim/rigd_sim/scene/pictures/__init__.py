"""What is on the film: the harbour office's survey, drawn from a seed at any size."""

from rigd_sim.scene.pictures.album import draw_picture

__all__ = ["draw_picture"]
