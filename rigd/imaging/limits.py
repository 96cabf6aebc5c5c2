"""What may be set of the judgement, and what is asked of one."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct

from rigd.imaging.signature import Signature
from rigd.model.values import Exposure
from rigd.model.words import Colour, Tone

Three = tuple[float, float, float]


class Limits(Struct, frozen=True):
    """Limits in stops, of the definition of exposure.

    `ceiling` and `over_pct`: at most so many per cent of the picture's pixels, in any channel, may lie above it.
    `centre`: where the middle between the dark and the light point shall sit (the middle of an sRGB-encoded scale,
    linear 0.216). `base`: where the base of a held roll shall sit. `range_stops`: what still can be centred.
    `high`, `low`: how far off makes a retake. `noise`: a level under which shadows drown: at -10 stops a 14-bit file
    has about 16 units, four to eight times a usual read noise (common practice, no source).
    Of the place: `cut_pct` of the picture may lie out of sight, it may be turned by `turn_deg`, and a picture with a
    hidden side may lie `off_mm` (or 4 % of its size) off the middle."""

    ceiling: float = -0.15
    over_pct: float = 0.1
    centre: float = -2.2
    base: float = -0.5
    high: float = 1 / 3
    low: float = 2 / 3
    noise: float = -10.0
    cut_pct: float = 0.3
    turn_deg: float = 2.0
    off_mm: float = 1.5


class Asked(Struct, frozen=True):
    """What a take is judged against.

    `exposure` is what the camera was told. `lamp_1s` the bare lamp and `base_1s` the film's base, as L for 1 s at the
    same aperture and ISO, where they are known. `along_x`: whether the film runs along the sensor's rows (True) or
    columns, where that is known. `second`: it is the longer exposure of two, for the dark end alone. `between`: from
    when to when the camera's clock can have stood in its file, where that is known. `last_good` holds the signatures of
    takes that came before and show other frames: the same picture again is stale."""

    film_format: str
    tone: Tone
    colour: Colour
    exposure: Exposure
    px_per_mm: float | None = None
    lamp_1s: Three | None = None
    base_1s: Three | None = None
    aim: str = "centre"
    along_x: bool | None = None
    second: bool = False
    between: tuple[datetime, datetime] | None = None
    last_good: tuple[Signature, ...] = ()
    limits: Limits = Limits()
