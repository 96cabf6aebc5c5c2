"""What a simulated camera writes into a raw file besides the pixels."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction


@dataclass(frozen=True)
class ShotMeta:
    """One shot's facts.

    seconds  exposure time, as a fraction (or its text, "1/60"): files say 1/60, not 0.016667.
    taken    the camera's own clock at the exposure; a zone, if it has one, is written too.
    number   the file's number on the camera, from 1.
    """

    seconds: Fraction | str
    f_number: float
    iso: int
    taken: datetime
    serial: str
    model: str = "Simulated Body"
    lens: str = "Copy 60 mm"
    number: int = 1
    maker: str = "Simulated"

    @property
    def exposure(self) -> Fraction:
        """Exposure time in seconds; denominators beyond Exif's 32 bits are rounded."""
        return Fraction(self.seconds).limit_denominator(1_000_000)
