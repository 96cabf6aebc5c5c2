"""A page as a PNG."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

from rigd.sheets.layout import Page
from rigd.sheets.letters import MM_PER_PT, font_file
from rigd.sheets.paper import Box, Mark, Picture, Text

# Six-point letters are read easily at this (common practice, no source); an A4 page has 4 million pixels.
DPI = 200
_PX_PER_MM = DPI / 25.4
_ANCHORS = {"left": "ls", "right": "rs"}


def draw_png(page: Page) -> bytes:
    """The PNG of one page, at 200 pixels an inch, which stands in the file."""
    size = (round(page.paper.width_mm * _PX_PER_MM), round(page.paper.height_mm * _PX_PER_MM))
    image = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(image)
    for mark in page.marks:
        _draw(image, pen, mark)
    file = BytesIO()
    image.save(file, "PNG", dpi=(DPI, DPI), compress_level=6)
    return file.getvalue()


def _draw(image: Image.Image, pen: ImageDraw.ImageDraw, mark: Mark) -> None:
    x, y = mark.x * _PX_PER_MM, mark.y * _PX_PER_MM
    match mark:
        case Text():
            font = ImageFont.truetype(font_file(mark.bold), mark.size_pt * MM_PER_PT * _PX_PER_MM,
                                      layout_engine=ImageFont.Layout.BASIC)  # fmt: skip
            pen.text((x, y), mark.text, fill=_grey(mark.grey), font=font, anchor=_ANCHORS[mark.side])
        case Box():
            _box(pen, mark, x, y)
        case Picture():
            place = (round(x), round(y))
            size = (max(1, round(mark.width * _PX_PER_MM)), max(1, round(mark.height * _PX_PER_MM)))
            image.paste(Image.fromarray(mark.pixels).resize(size, Image.Resampling.LANCZOS), place)


def _box(pen: ImageDraw.ImageDraw, box: Box, x: float, y: float) -> None:
    right, low = x + box.width * _PX_PER_MM, y + box.height * _PX_PER_MM
    if box.fill is not None:
        pen.rectangle((x, y, right, low), fill=_grey(box.fill))
        return
    for ends in (((x, y), (right, y)), ((right, y), (right, low)), ((right, low), (x, low)), ((x, low), (x, y))):
        _broken(pen, *ends)


def _broken(pen: ImageDraw.ImageDraw, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A broken line, one millimetre drawn and 0.7 left out."""
    (x, y), (right, low) = start, end
    length = max(abs(right - x), abs(low - y))
    steps = max(1, int(length / (1.7 * _PX_PER_MM)))
    for step in range(steps):
        ends = [(x + part * (right - x), y + part * (low - y)) for part in (step / steps, (step + 0.6) / steps)]
        pen.line(ends, fill=_grey(0.3), width=2)


def _grey(share: float) -> tuple[int, int, int]:
    value = round(share * 255)
    return value, value, value
