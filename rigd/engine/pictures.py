"""Small pictures of the last takes for the page: made once from the decoded raw, kept in memory, bounded."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Sequence
from pathlib import Path

from rigd.imaging import encode_jpeg, open_raw, preview
from rigd.imaging.framing import Corners
from rigd.imaging.levels import drawn, histogram
from rigd.imaging.planes import Box
from rigd.imaging.preview import RGB8
from rigd.imaging.raw import Raw
from rigd.model.words import Colour, Tone

# Counts of R, G, B in sixths of a stop, from -12 stops to saturation.
Counts = tuple[tuple[int, ...], ...]
Pair = dict[str, bytes]

# One pair is about 0.3 MB: a roll of twelve is at hand at once, and what is older is read from disk again.
_KEPT = 12
# The definition of exposure leaves out so much at each side: there lies the gate's shadow.
_TRIM = 0.03


Looks = tuple[Pair, Counts]


class Pictures:
    """JPEG pairs (as it lies on the light table, and as a positive) and histograms by take id; the oldest go first."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, asyncio.Future[Looks]] = OrderedDict()

    async def of(self, take_id: str) -> Looks | None:
        """Pictures and histogram of a take, also while they are being drawn; None if nobody draws them."""
        drawing = self._kept.get(take_id)
        if drawing is None:
            return None
        try:
            return await asyncio.shield(drawing)
        except Exception:
            # Whoever drew has told of it; the caller draws from the file and hears of it there.
            self._kept.pop(take_id, None)
            return None

    def draw(self, take_id: str, work: Callable[[], Looks]) -> asyncio.Future[Looks]:
        """Draw in a thread, beside everything else."""
        task = asyncio.create_task(asyncio.to_thread(work), name=f"draw {take_id}")
        self._kept[take_id] = task
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        return task

    async def done(self) -> None:
        """Wait for what is being drawn."""
        await asyncio.gather(*self._kept.values(), return_exceptions=True)


def make_pair(raw: Raw, tone: Tone, colour: Colour, corners: Corners | None = None) -> Pair:
    """Both pictures of a decoded raw; the positive is cut to the picture where its corners are known: the holder's
    black would be a glaring white. Blocking; run it in a thread."""
    seen, positive = preview(raw, tone, colour, corners)
    return {"negative": encode_jpeg(seen), "positive": encode_jpeg(_cut(positive, corners, raw.mosaic.shape[1]))}


def _cut(picture: RGB8, corners: Corners | None, width_px: int) -> RGB8:
    if corners is None:
        return picture
    scale = picture.shape[1] / width_px
    xs, ys = [x * scale for x, _ in corners], [y * scale for _, y in corners]
    left, top = max(0, int(min(xs))), max(0, int(min(ys)))
    found = picture[top : int(max(ys)) + 1, left : int(max(xs)) + 1]
    return found if found.size else picture


def looks_of_file(path: Path, tone: Tone, colour: Colour, corners: Sequence[tuple[float, float]]) -> Looks:
    """Pictures of a stored raw file, and its histogram: inside the picture where its four corners are given (shares of
    the sensor), else of the whole sensor. Blocking.

    Raises:
        RawUnreadable: it cannot be decoded.
    """
    raw = open_raw(path)
    height, width = raw.mosaic.shape
    pixels = None
    if len(corners) == 4:
        a, b, c, d = ((x * width, y * height) for x, y in corners)
        pixels = (a, b, c, d)
    box = _inside(pixels) if pixels else (0, 0, width, height)
    return make_pair(raw, tone, colour, pixels), drawn(histogram(raw, box))


def _inside(corners: Corners) -> Box:
    """The picture without its edges, as it is judged."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    trim_x, trim_y = _TRIM * (max(xs) - min(xs)), _TRIM * (max(ys) - min(ys))
    return int(min(xs) + trim_x), int(min(ys) + trim_y), int(max(xs) - trim_x), int(max(ys) - trim_y)
