"""Film formats: what a camera leaves on film, in millimetres.

`along` is the direction in which the film runs, `across` is square to it. The image sizes of 135 and 120 are those of
the published tables (135: 36.0 x 24.0 mm, one frame every 8 perforations of 4.75 mm; 120: 56 mm across).
The gaps of 120 are common practice, no source: they follow from the frames that fit a roll.
"""

from __future__ import annotations

from dataclasses import dataclass

PERFORATION_PITCH_MM = 4.75
"""Long pitch of KS perforations (0.1870 in)."""


@dataclass(frozen=True)
class FilmFormat:
    """One format. All lengths in mm.

    `gap` is the nominal clear length between two frames, `gap_spread` how unevenly a worn camera leaves it (one
    standard deviation), `film` the width of the film across, `opening` how far the holder's gate opens beyond the
    image (along beyond the gap, across). `window` is a mount's aperture (along, across), which hides part of the image.
    """

    name: str
    along: float
    across: float
    gap: float
    gap_spread: float
    film: float
    opening: tuple[float, float]
    strip: int
    perforated: bool = False
    window: tuple[float, float] | None = None
    single: bool = False

    @property
    def pitch(self) -> float:
        """Nominal distance from one frame to the next, mm."""
        return self.along + self.gap


_FILM_135 = 34.98
_FILM_120 = 61.0


def _f135(name: str, along: float, gap: float, strip: int) -> FilmFormat:
    return FilmFormat(name, along, 24.0, gap, 0.06, _FILM_135, (0.7, 1.7), strip, perforated=True)


def _f120(name: str, along: float, gap: float, strip: int) -> FilmFormat:
    return FilmFormat(name, along, 56.0, gap, 0.4, _FILM_120, (1.2, 1.9), strip)


FORMATS: dict[str, FilmFormat] = {
    f.name: f
    for f in (
        _f135("135", 36.0, 2.0, 6),
        _f135("135-half", 18.0, 1.0, 6),
        _f135("135-24x65", 65.0, 6.25, 3),
        _f120("120-6x4.5", 41.5, 4.5, 4),
        _f120("120-6x6", 56.0, 6.0, 4),
        _f120("120-6x7", 70.0, 4.5, 3),
        _f120("120-6x8", 77.0, 5.5, 3),
        _f120("120-6x9", 84.0, 6.0, 2),
        _f120("120-6x12", 118.0, 6.5, 2),
        _f120("120-6x17", 168.0, 8.0, 1),
        # The camera leaves 36 x 24; the mount's aperture is 34.3 x 22.5 mm (SMPTE 96M, second-hand).
        FilmFormat("mount", 36.0, 24.0, 2.0, 0.0, _FILM_135, (1.0, 1.0), 1, True, (34.3, 22.5), single=True),
        # Nominal 127.0 x 101.6 mm; the film is a little smaller, and both the taking camera's and our holder mask its
        # edges (values from memory).
        FilmFormat("sheet-4x5", 121.0, 95.5, 5.0, 0.0, 100.8, (-2.8, 2.2), 1, single=True),
    )
}


def format_named(name: str) -> FilmFormat:
    """The format of that name. Raises ValueError with the known names."""
    try:
        return FORMATS[name]
    except KeyError:
        raise ValueError(f"unknown film format {name!r}; known: {', '.join(FORMATS)}") from None
