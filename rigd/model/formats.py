"""Film formats: nominal picture sizes, pitches, frame counts and the usual ways to cut a film.

Sizes and counts from published tables (encyclopaedic texts and the BKSTS dictionary, app. C; 35 mm pitch of
38.00 mm = 8 perforations of 4.75 mm). Real camera gates differ from them by a few per cent: never a ruler.
"""

from __future__ import annotations

from msgspec import Struct

from rigd.errors import InputError


class FilmFormat(Struct, frozen=True):
    """One format. `along_mm` is measured along the film, `across_mm` across it; `pitch_mm` from frame to frame
    (None where frames are loose). `counts` are the usual numbers of frames on one roll, `cut` frames to a strip;
    `spare`: how many more than its box says a roll often holds (135: a 36 exposure film has 36 to 39 frames, common
    practice, no source)."""

    name: str
    along_mm: float
    across_mm: float
    pitch_mm: float | None
    counts: tuple[int, ...]
    cut: tuple[int, ...]
    perforated: bool = False
    spare: int = 0

    @property
    def loose(self) -> bool:
        """True where frames come one by one: mounts and sheets."""
        return self.pitch_mm is None


def _roll120(name: str, along: float, counts: tuple[int, ...], cut: tuple[int, ...]) -> FilmFormat:
    # The pitch on 120 depends on the camera; about 7 mm over the picture (a 63 mm pitch for 56 mm) is common practice.
    return FilmFormat(name, along, 56.0, along + 7.0, counts, cut)


FORMATS: dict[str, FilmFormat] = {
    f.name: f
    for f in (
        FilmFormat("135", 36.0, 24.0, 38.0, (24, 36), (6, 5, 4), perforated=True, spare=3),
        FilmFormat("135-half", 18.0, 24.0, 19.0, (48, 72), (12, 10, 8), perforated=True, spare=6),
        FilmFormat("135-24x65", 65.0, 24.0, 66.5, (13, 20), (3, 4), perforated=True, spare=1),
        _roll120("120-6x4.5", 41.5, (15, 16), (4, 5)),
        _roll120("120-6x6", 56.0, (12, 13), (4, 3)),
        _roll120("120-6x7", 70.0, (10,), (3, 2)),
        _roll120("120-6x8", 77.0, (9,), (3,)),
        _roll120("120-6x9", 84.0, (8,), (2, 3)),
        _roll120("120-6x12", 118.0, (6,), (2,)),
        _roll120("120-6x17", 168.0, (4,), (1, 2)),
        FilmFormat("mount", 34.3, 22.5, None, (), (1,)),
        FilmFormat("sheet-4x5", 127.0, 101.6, None, (), (1,)),
    )
}


def film_format(name: str) -> FilmFormat:
    """The format of that name.

    Raises:
        InputError: there is none; the remedy lists those there are.
    """
    try:
        return FORMATS[name]
    except KeyError:
        raise InputError(
            f"There is no film format {name!r}.",
            "A roll needs one of the known formats.",
            f"Use one of: {', '.join(FORMATS)}.",
        ) from None
