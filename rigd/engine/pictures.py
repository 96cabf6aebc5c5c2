"""Small pictures of the last takes for the page: made once from the decoded raw, kept in memory, bounded."""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path

from rigd.imaging import encode_jpeg, open_raw, preview
from rigd.imaging.levels import drawn, histogram
from rigd.imaging.raw import Raw
from rigd.model.words import Colour, Tone

# Counts of R, G, B in sixths of a stop, from -12 stops to saturation.
Counts = tuple[tuple[int, ...], ...]
Pair = dict[str, bytes]

# One pair is about 0.3 MB: 64 of them are more than a roll, and bounded.
_KEPT = 64


class Pictures:
    """JPEG pairs (as it lies on the light table, and as a positive) and histograms by take id; the oldest go first."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, tuple[Pair, Counts]] = OrderedDict()

    def known(self, take_id: str) -> tuple[Pair, Counts] | None:
        """Pictures and histogram of a take if they are still in memory."""
        return self._kept.get(take_id)

    def keep(self, take_id: str, pair: Pair, counts: Counts) -> None:
        self._kept[take_id] = (pair, counts)
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)


def make_pair(raw: Raw, tone: Tone, colour: Colour) -> Pair:
    """Both pictures of a decoded raw. Blocking; run it in a thread."""
    seen, positive = preview(raw, tone, colour)
    return {"negative": encode_jpeg(seen), "positive": encode_jpeg(positive)}


def pair_from_file(path: Path, tone: Tone, colour: Colour) -> tuple[Pair, Counts]:
    """Pictures and whole-frame histogram of a stored raw file. Blocking. Raises RawUnreadable."""
    raw = open_raw(path)
    height, width = raw.mosaic.shape
    return make_pair(raw, tone, colour), drawn(histogram(raw, (0, 0, width, height)))
