"""Raw files as a camera writes them: DNG."""

from rigd_sim.rawfile.dng import encode_dng
from rigd_sim.rawfile.meta import ShotMeta

__all__ = ["ShotMeta", "encode_dng"]
