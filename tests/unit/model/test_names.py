"""File names at delivery: a template of plain fields; what exFAT, NTFS or the order of the film refuses is found.

Refused signs and names: Microsoft, "Naming Files, Paths, and Namespaces" (< > : " / \\ | ? *, 1 to 31, device names, a
blank or dot at the end); 255 UTF-16 units a name: exFAT specification, section 7.7.3.
"""

from __future__ import annotations

from pathlib import PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rigd.errors import InputError
from rigd.model.names import FIELDS, USUAL, OneFile, check_template, look_over, name_of, named

FILE = OneFile("t-000012", "HO_12/HO_12-002-003-01.DNG", "Port of Vessling", "HO 12", "HO_12", 2, 3, 9, "", 1, "whole",
               "12A", "North quay", "1957-05--1957-06", "", "VS/17")  # fmt: skip


@pytest.mark.parametrize(
    ("template", "name"),
    [
        (USUAL, "HO_12_009.dng"),
        ("{roll} {strip:02}-{place:02}", "HO 12 02-03.dng"),
        ("{frame}{part}_{mark}", "9_12A.dng"),
        ("{date} {title}", "1957-05--1957-06 North quay.dng"),
        ("vessling-{take:02}-{kind}", "vessling-01-whole.dng"),
    ],
)
def test_a_template_gives_names(template: str, name: str) -> None:
    assert name_of(template, FILE) == name


def test_the_parts_of_one_frame_are_told_apart() -> None:
    assert name_of(USUAL, replace(FILE, part="b")) == "HO_12_009b.dng"


@pytest.mark.parametrize("template", ["{rol}", "{title:03}", "{frame", "frame}", "{}", " ", "{frame:3x}", "{Frame}"])
def test_what_is_no_template_is_refused_with_the_fields_there_are(template: str) -> None:
    with pytest.raises(InputError) as error:
        check_template(template)
    assert "frame" in str(error.value)


def codes(template: str, *files: OneFile) -> list[str]:
    return [finding.code for finding in look_over(named(template, files))]


def frames(count: int) -> list[OneFile]:
    return [replace(FILE, frame=n, take_id=f"t-{n}") for n in range(1, count + 1)]


def test_good_names_are_left_alone() -> None:
    assert codes(USUAL, *frames(120)) == []


def test_names_that_come_twice_where_case_does_not_count() -> None:
    assert codes("{title}", replace(FILE, title="Quay"), replace(FILE, title="QUAY")) == ["twice"]


@pytest.mark.parametrize(
    ("title", "code"),
    [("a/b", "sign"), ("a:b", "sign"), ("a\tb", "sign"), ("what?", "sign"), ("quay.", "ends"), (" quay", "ends"),
     (".quay", "ends"), ("com1", "device"), ("NUL", "device"), ("q" * 250, "long"), ("ä" * 130, "long")],
)  # fmt: skip
def test_what_a_file_system_refuses(title: str, code: str) -> None:
    assert code in codes("{title}", replace(FILE, title=title))


def test_names_must_sort_as_the_film_lies() -> None:
    assert codes("{frame}", *frames(12)) == ["order"], "9, 10: sorted by name, 10 comes first"
    assert codes("{frame:02}", *frames(12)) == []


@given(st.text(st.characters(codec="utf-8"), max_size=60))
def test_what_passes_is_a_name_on_windows_too(title: str) -> None:
    """An independent word on it: Python's own table of reserved names; a name survives as a part of a path."""
    file = replace(FILE, title=title)
    if codes("{title}", file):
        return
    name = name_of("{title}", file)
    assert PureWindowsPath(name).name == name
    assert not PureWindowsPath(name).is_reserved()


def test_every_field_is_one_of_a_file() -> None:
    assert set(FIELDS) <= set(OneFile.__struct_fields__)
