"""Pages as a PDF: vector letters that can be searched, pictures as JPEG. The same pages give the same bytes."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from PIL import Image

from rigd.sheets.layout import Page
from rigd.sheets.letters import MM_PER_PT, font_file
from rigd.sheets.paper import Box, Mark, Picture, Text
from rigd.sheets.values import RGB8

if TYPE_CHECKING:
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

_NAMES = {False: "rigd-plain", True: "rigd-bold"}
# Sharp on paper at a third of the bytes of 95 (common practice, no source).
_QUALITY = 85


def draw_pdf(pages: Sequence[Page], title: str, subject: str) -> bytes:
    """The PDF of these pages."""
    # Here, because it takes a quarter of a second, which no other command should wait for.
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    for bold, name in _NAMES.items():
        pdfmetrics.registerFont(TTFont(name, str(font_file(bold))))
    file = BytesIO()
    canvas = Canvas(file, pageCompression=1, invariant=True)
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setCreator("rigd")
    for page in pages:
        canvas.setPageSize((page.paper.width_mm / MM_PER_PT, page.paper.height_mm / MM_PER_PT))
        for mark in page.marks:
            _draw(canvas, mark, page.paper.height_mm)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, mark: Mark, height_mm: float) -> None:
    x, y = mark.x / MM_PER_PT, (height_mm - mark.y) / MM_PER_PT
    match mark:
        case Text():
            canvas.setFont(_NAMES[mark.bold], mark.size_pt)
            canvas.setFillGray(mark.grey)
            write = {"left": canvas.drawString, "right": canvas.drawRightString}
            write[mark.side](x, y, mark.text)
        case Box():
            _box(canvas, mark, x, y)
        case Picture():
            width, height = mark.width / MM_PER_PT, mark.height / MM_PER_PT
            canvas.drawImage(_jpeg(mark.pixels), x, y - height, width, height)


def _box(canvas: Canvas, box: Box, x: float, y: float) -> None:
    width, height = box.width / MM_PER_PT, box.height / MM_PER_PT
    if box.fill is None:
        canvas.setStrokeGray(0.3)
        canvas.setLineWidth(0.6)
        canvas.setDash(3, 2)
        canvas.rect(x, y - height, width, height, stroke=1, fill=0)
        canvas.setDash()
    else:
        canvas.setFillGray(box.fill)
        canvas.rect(x, y - height, width, height, stroke=0, fill=1)


def _jpeg(pixels: RGB8) -> ImageReader:
    from reportlab.lib.utils import ImageReader

    file = BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=_QUALITY)
    file.seek(0)
    return ImageReader(file)
