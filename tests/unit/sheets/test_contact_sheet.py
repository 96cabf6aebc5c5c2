"""Contact sheets: what stands on them, where, and what an independent reader (pypdf) finds in the PDF.

Paper sizes: ISO 216 (A4, 210 by 297 mm), ANSI/ASME Y14.1 (8.5 by 11 inches).
"""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise

import cv2
import numpy as np
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from tests.unit.sheets.rolls_to_draw import JOB, mixed, pictures_for, roll_of

from rigd.model.formats import FORMATS
from rigd.model.state import RollState
from rigd.model.values import Strip
from rigd.model.words import Emulsion
from rigd.sheets import PAPERS, Page, as_seen, contact, draw_pdf, draw_png, lay_out
from rigd.sheets.letters import MM_PER_PT, width_mm, wrapped
from rigd.sheets.paper import Box, Picture, Text

INCH_PT = 72.0


def pages_of(roll: RollState, paper: str = "A4", aspect: float = 1.5) -> list[Page]:
    return lay_out(contact(JOB, roll, pictures_for(roll, aspect)), PAPERS[paper])


def read(pages: list[Page]) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(draw_pdf(pages, "HO 1957-031", "negatives")), strict=True)


def words(pages: list[Page]) -> list[str]:
    return [mark.text for page in pages for mark in page.marks if isinstance(mark, Text)]


def test_a_reader_of_pdf_finds_every_word_and_every_picture() -> None:
    roll = roll_of("135", (6,) * 6, expected=(36, 37), left_out=((6, 5), (6, 6)), later=mixed())
    found = read(pages_of(roll))
    assert len(found.pages) == 1
    text = found.pages[0].extract_text()
    for word in (
        "HO 1957-031", "Port of Vessling, harbour office: survey negatives", "33 pictures + 1 blank = 34", "E. Harnack",
        "VTA 12/1957/31", "cabinet 4, drawer 2", "Vessling town archive", "Strip 6", "missing", "unexposed",
        "in doubt: soft, retaken", "take again", "2A", "1 of 1",
    ):  # fmt: skip
        assert word in text, word
    assert len(found.pages[0].images) == 34
    assert found.metadata is not None
    assert found.metadata.title == "HO 1957-031"


@pytest.mark.parametrize(("paper", "points"), [("A4", (210 / 25.4 * 72, 297 / 25.4 * 72)), ("Letter", (612.0, 792.0))])
def test_the_paper_is_as_large_as_it_should_be(paper: str, points: tuple[float, float]) -> None:
    page = read(pages_of(roll_of("120-6x6", (4, 4, 4)), paper)).pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(points, abs=0.01)


def test_letters_beyond_latin_are_found_too() -> None:
    label = "Гавань Весслинг, Λιμάνι, Größe 3"
    assert label in read(pages_of(roll_of("120-6x6", (4,), label=label))).pages[0].extract_text()


def test_the_same_roll_gives_the_same_bytes() -> None:
    pages = pages_of(roll_of("120-6x6", (4, 4, 4)))
    assert draw_pdf(pages, "a", "b") == draw_pdf(pages, "a", "b")


def test_a_box_of_sheets_needs_several_pages_and_each_says_whose_it_is() -> None:
    pages = pages_of(roll_of("sheet-4x5", (1,) * 14), aspect=1.25)
    assert len(pages) == 3
    found = read(pages)
    assert [f"{n} of 3" in page.extract_text() for n, page in enumerate(found.pages, 1)] == [True] * 3
    assert all("HO 1957-031" in page.extract_text() for page in found.pages)
    assert sum(len(page.images) for page in found.pages) == 14


def test_a_picture_as_png_is_a_page_at_its_own_resolution() -> None:
    page = pages_of(roll_of("120-6x6", (4, 4, 4)), aspect=1.0)[0]
    seen = cv2.imdecode(np.frombuffer(draw_png(page), np.uint8), cv2.IMREAD_COLOR)
    assert seen.shape == (2339, 1654, 3)  # 297 and 210 mm at 200 pixels an inch
    first = next(mark for mark in page.marks if isinstance(mark, Picture))
    middle = [round(v / 25.4 * 200) for v in (first.y + first.height / 2, first.x + first.width * 0.9)]
    assert abs(int(seen[middle[0], middle[1], 0]) - 0.75 * (40 + 0.9 * 190)) < 6  # the ramp of the picture


def test_a_turned_strip_stands_in_the_order_of_the_film_and_upright() -> None:
    roll = roll_of("135", (3, 3), turned=(2,))
    sheet = contact(JOB, roll, pictures_for(roll))
    assert [cell.number for cell in sheet.pieces[1].cells] == [4, 5, 6]
    first = sheet.pieces[1].cells[0].picture
    assert first is not None
    last_taken = pictures_for(roll)["f-6"]
    assert np.array_equal(first, last_taken[::-1, ::-1])


def test_film_seen_from_behind_is_mirrored() -> None:
    picture = np.arange(24, dtype=np.uint8).reshape(2, 4, 3)
    up = Strip("s-1", "r-1", 1, 6, emulsion=Emulsion.UP)
    assert np.array_equal(as_seen(picture, up), picture[:, ::-1])
    assert np.array_equal(as_seen(picture, replace(up, emulsion=Emulsion.DOWN)), picture)


def test_gaps_are_named_only_as_far_as_frames_are_lacking() -> None:
    even = roll_of("135", (6, 6), expected=(10, 12), left_out=((2, 5), (2, 6)))
    assert "missing" not in words(pages_of(even))  # the film ended before its last strip did
    gap = roll_of("135", (6, 6), expected=(12, 12), left_out=((1, 3), (2, 6)))
    sheet = contact(JOB, gap, {})
    numbers = [[cell.number for cell in piece.cells] for piece in sheet.pieces]
    assert numbers == [[1, 2, 0, 3, 4, 5], [6, 7, 8, 9, 10, 0]]


def test_strips_that_nobody_fed_are_named() -> None:
    fed = roll_of("135", (6, 6), expected=(18, 18))
    planned = replace(fed, roll=replace(fed.roll, cuts=(6, 6, 6)))
    last = contact(JOB, planned, {}).pieces[-1]
    assert (last.heading, len(last.cells)) == ("Strip 3  not fed", 6)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(FORMATS)),
    st.lists(st.integers(1, 14), min_size=1, max_size=9),
    st.sampled_from(list(PAPERS)),
    st.text(max_size=200),
    st.text(max_size=400),
)
def test_nothing_leaves_the_paper_or_lies_on_another_thing(
    film_format: str, strips: list[int], paper: str, label: str, told: str
) -> None:
    roll = roll_of(film_format, tuple(strips), label=label or "x", expected=(200, 200))
    roll = replace(roll, roll=replace(roll.roll, where=told))
    sheet = PAPERS[paper]
    pages = pages_of(roll, paper)
    for page in pages:
        places = [m for m in page.marks if isinstance(m, Picture) or (isinstance(m, Box) and m.fill != 1.0)]
        films = [m for m in places if isinstance(m, Box) and m.fill is not None]
        for mark in places:
            assert mark.x >= 0
            assert mark.x + mark.width <= sheet.width_mm - 11.9
            assert mark.y + mark.height <= sheet.height_mm - 13.9
        for one, other in pairwise(films):
            beside = one.x + one.width <= other.x and one.y == other.y
            assert beside or one.y + one.height < other.y
        for mark in (m for m in page.marks if isinstance(m, Text)):
            wide = width_mm(mark.text, mark.size_pt, mark.bold)
            left = mark.x - (wide if mark.side == "right" else 0)
            assert left >= 11.9
            assert left + wide <= sheet.width_mm - 11.8
            assert mark.size_pt * MM_PER_PT < mark.y < sheet.height_mm - 5
    assert sum(isinstance(m, Picture) for page in pages for m in page.marks) == len(roll.frames)


@given(st.text(max_size=120), st.integers(1, 4))
def test_lines_hold_the_whole_text_or_say_that_they_do_not(text: str, most: int) -> None:
    lines = wrapped(text, 8.0, 40.0, most)
    assert len(lines) <= most
    assert all(width_mm(line, 8.0) <= 40.0 for line in lines)
    whole = "".join("".join(lines).split()) == "".join(text.split())
    assert whole or lines[-1].endswith("…")
