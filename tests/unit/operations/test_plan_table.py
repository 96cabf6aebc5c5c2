"""A plan as a table: what a spreadsheet writes is read, what is written comes back, errors name their lines."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rigd.errors import InputError
from rigd.model.formats import FORMATS
from rigd.model.metadata import FIELDS
from rigd.model.plan import changed_roll
from rigd.model.values import About, Roll
from rigd.model.words import BaseType, Colour, Tone
from rigd.operations.plan_table import COLUMNS, read, written

BLANK = Roll("r-0001", "x", "x", "135", Tone.NEGATIVE, Colour.MONO)
# Text as people type it: no signs that a table or XML cannot hold; a lone "-" stands for "nothing known".
words = st.text(st.characters(min_codepoint=32, exclude_categories=("Cs", "Cc")), min_size=1, max_size=20).map(
    str.strip
)
word = words.filter(lambda text: bool(text) and text != "-")
about = st.builds(
    About,
    **{
        name: st.none() | st.just("") | word for name in FIELDS if name not in ("keywords", "dates", "stock", "process")
    },
    dates=st.sampled_from([None, "", "1957", "1957-05/1957-06"]),
    keywords=st.none()
    | st.just(())
    | st.lists(word.filter(lambda w: ";" not in w), min_size=1, unique=True).map(tuple),
)
rolls = st.builds(
    Roll,
    st.just("r-0001"),
    word,
    st.just("x"),
    st.sampled_from(list(FORMATS)),
    st.sampled_from(Tone),
    st.sampled_from(Colour),
    st.none() | st.integers(40, 99).map(lambda n: (n, n + n % 3)),
    st.none() | st.integers(1, 12),
    st.sampled_from(BaseType),
    word,
    word,
    word,
    about,
    st.lists(st.integers(1, 6), max_size=6).map(tuple),
)


@settings(deadline=None)
@given(rolls)
def test_what_is_written_comes_back(roll: Roll) -> None:
    (line,) = read(written([roll]))
    assert line.roll_id == "r-0001"
    assert changed_roll(replace(BLANK, folder=roll.folder), line.changes) == roll


# Spreadsheets write semicolons where the comma divides decimals, tabs when told so, and a byte-order mark for UTF-8.
@pytest.mark.parametrize(("sign", "start"), [(",", ""), (";", ""), ("\t", ""), (";", "\ufeff")])
def test_tables_of_different_spreadsheets(sign: str, start: str) -> None:
    lines = ["Label,Format,Frames,Where", '"Quay ""N""",135,36-39,box 2', ",,,", "", "Quay S,mount,,"]
    (first, second) = read(start + "\r\n".join(lines).replace(",", sign))
    assert (first.number, first.changes.label, first.changes.expected) == (2, 'Quay "N"', (36, 39))
    assert (second.changes.label, second.changes.expected, second.changes.where) == ("Quay S", None, "")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("label,format,colur\n", "'colur'"),
        ("format\n135\n", "Missing: label"),
        ("label,label\n", "twice"),
        ("", "label"),
        ("label,format\nA,136\nB,135\nC,6x6\n", "line 2: format '136'.*line 4"),
        ("label,frames\nA,many\n", "line 2: frames"),
        ("label,strip\nA,six\n", "line 2: strip"),
        ("label,tone\nA,light\n", "line 2: tone"),
        ("label\n \n\n", None),
        ("label,cuts\nA,6+6\n", "line 2: cuts"),
        ('label\n"open', "cannot be read"),
        ("label,format\n,135\n", "needs a label"),
    ],
)
def test_what_does_not_fit_is_named_by_its_line(text: str, says: str | None) -> None:
    if says is None:
        assert read(text) == []
        return
    with pytest.raises(InputError, match=says):
        read(text)


def test_every_column_is_written_under_its_word() -> None:
    header, cells = written([replace(BLANK, about=About(title="", place="Quay"))]).splitlines()
    found = dict(zip(header.split(","), cells.split(","), strict=True))
    assert tuple(found) == COLUMNS
    assert (found["title"], found["place"], found["caption"]) == ("-", "Quay", "")
