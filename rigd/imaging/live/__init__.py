"""Live pictures: what moves, where the frame lies in the gate, whether it was seen before, and what is in the way."""

from rigd.imaging.live.bed import Bed, Lightest, bed_of, is_open, lies_turned
from rigd.imaging.live.cover import covered
from rigd.imaging.live.far import Likely
from rigd.imaging.live.frames import Edge, End, Lying, edges_in, end_in, frame_in, lamp_beside, rebate_share
from rigd.imaging.live.likeness import ALIKE, Likeness, alike, likeness
from rigd.imaging.live.look import Look, band_range, look, look_of
from rigd.imaging.live.shift import Area, Shift, shift_between

__all__ = [
    "ALIKE",
    "Area",
    "Bed",
    "Edge",
    "End",
    "Lightest",
    "Likely",
    "Likeness",
    "Look",
    "Lying",
    "Shift",
    "alike",
    "band_range",
    "bed_of",
    "covered",
    "edges_in",
    "end_in",
    "frame_in",
    "is_open",
    "lamp_beside",
    "lies_turned",
    "likeness",
    "look",
    "look_of",
    "rebate_share",
    "shift_between",
]
