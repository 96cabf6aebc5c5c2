"""Live pictures: what moves, where the frame lies in the gate, and whether it has been seen before."""

from rigd.imaging.live.look import Look, look, unreadable_live
from rigd.imaging.live.shift import Shift, shift_between

__all__ = [
    "Bed",
    "Likeness",
    "Look",
    "Lying",
    "Shift",
    "alike",
    "frame_in",
    "look",
    "nominal_scale",
    "shift_between",
    "unreadable_live",
]
