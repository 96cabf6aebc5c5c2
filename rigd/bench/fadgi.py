"""The film tables of FADGI 2016, row by row: what four, three, two stars and one ask for.

Federal Agencies Digital Guidelines Initiative, Technical Guidelines for Digitizing Cultural Heritage Materials,
September 2016, "Photographic Transparencies" and "Photographic Negatives", 35 mm to 4 x 5 inch (pages 36 and 40; both
tables are alike). Public domain. There is no row for tone response, white balance, colour accuracy or noise of film:
those are "not defined for film". A newer edition replaces this module and `EDITION`.
"""

from __future__ import annotations

from msgspec import Struct

EDITION = "FADGI 2016"
UNDEFINED = "not defined for film"
STARS = (4, 3, 2, 1)


class Row(Struct, frozen=True):
    """One parameter: the bounds for four, three, two stars and one. A measured value must lie within (low, high); a
    bound that is None is not asked for. `within`: the bound itself is good enough."""

    what: str
    unit: str
    bounds: tuple[tuple[float | None, float | None], ...]
    within: bool = False


def _under(what: str, unit: str, *highs: float) -> Row:
    return Row(what, unit, tuple((None, high) for high in highs))


def _over(what: str, unit: str, *lows: float, within: bool = False) -> Row:
    return Row(what, unit, tuple((low, None) for low in lows), within)


ROWS: dict[str, Row] = {
    "resolution": _over("Resolution", "ppi", 4000, 3000, 2000, 1000, within=True),
    "bits": _over("Bit depth", "bit", 16, 16, 8, 8, within=True),
    "range": _over("Dynamic range", "D", 4.0, 3.9, 3.8, 3.5, within=True),
    "evenness": _under("Illuminance non-uniformity", "%", 1, 3, 5, 8),
    "registration": _under("Colour channel misregistration", "px", 0.33, 0.50, 0.80, 1.2),
    "efficiency": _over("Sampling efficiency (SFR10)", "%", 90, 80, 70, 60),
    "sfr_half": _under("SFR at half the sampling frequency", "", 0.2, 0.3, 0.4, 0.4),
    "sfr50": Row("SFR50, of half the sampling frequency", "%", ((40, 65), (35, 75), (30, 85), (25, 95)), within=True),
    "scale": _under("Reproduction scale error", "%", 1, 2, 3, 3),
    "sharpening": Row("Sharpening (greatest SFR)", "", ((None, 1.0), (None, 1.1), (None, 1.2), (None, 1.3)), True),
}


def stars(row: str, value: float) -> int:
    """Stars that a measured value earns in a row of the table: 4 to 1, 0 for none. Raises KeyError for no such row."""
    found = ROWS[row]
    for given, (low, high) in zip(STARS, found.bounds, strict=True):
        # Of the sharpening row only the four-star bound may itself be reached; the others read "less than".
        closed = found.within and (row != "sharpening" or given == 4)
        if _over_low(value, low, closed) and _under_high(value, high, closed):
            return given
    return 0


def _over_low(value: float, low: float | None, closed: bool) -> bool:
    return low is None or (value >= low if closed else value > low)


def _under_high(value: float, high: float | None, closed: bool) -> bool:
    return high is None or (value <= high if closed else value < high)


def grade(row: str | None, value: float) -> str:
    """In words: `FADGI 2016: three stars`, or that there is no such row for film."""
    if row is None:
        return f"{EDITION}: {UNDEFINED}"
    words = ("under one star", "one star", "two stars", "three stars", "four stars")
    return f"{EDITION}: {words[stars(row, value)]}"
