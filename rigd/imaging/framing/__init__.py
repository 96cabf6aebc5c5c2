"""Where the picture lies in what the camera sees."""

from rigd.imaging.framing.corners import Corners
from rigd.imaging.framing.find import Framed, find_frame

__all__ = ["Corners", "Framed", "find_frame"]
