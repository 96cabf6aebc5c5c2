"""Names that every file system takes, in the order of the film."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigd import paths
from rigd.model.words import Purpose
from rigd.store.naming import free_name, plain, raw_name, roll_folder, same_name

# Microsoft, "Naming Files, Paths, and Namespaces"; exFAT specification, table 35 (invalid file name characters).
ILLEGAL = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]')
DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{p}{n}" for p in ("COM", "LPT") for n in "123456789¹²³")}

labels = st.one_of(st.text(max_size=300), st.sampled_from(sorted(DEVICES)), st.text("./\\ -_~", max_size=20))


def require_legal(name: str) -> None:
    assert name
    assert not ILLEGAL.search(name)
    assert name[-1] not in ". "
    assert name[0] not in ".- "
    assert name.partition(".")[0].upper() not in DEVICES
    assert len(name.encode()) <= 255  # ext4; NTFS and exFAT: 255 UTF-16 units, never more than the bytes of UTF-8
    assert unicodedata.normalize("NFC", name) == name
    assert name.isprintable()


@settings(deadline=None)  # a busy machine is no fault
@given(labels)
def test_any_label_makes_a_legal_folder(label: str) -> None:
    require_legal(roll_folder(label, ()))


@settings(deadline=None)  # a busy machine is no fault
@given(labels, st.integers(0, 9999), st.integers(0, 9999), st.integers(0, 999), st.sampled_from(Purpose), st.text())
def test_any_take_gets_a_legal_name(
    label: str, strip: int, place: int, number: int, purpose: Purpose, extension: str
) -> None:
    require_legal(raw_name(label, strip, place, number, purpose, extension))


places = st.tuples(st.integers(0, 999), st.integers(0, 999), st.integers(0, 99))


@settings(deadline=None)  # a busy machine is no fault
@given(labels, places, places, st.sampled_from(Purpose), st.sampled_from(Purpose))
def test_order_by_name_is_order_on_film(
    label: str, one: tuple[int, int, int], other: tuple[int, int, int], purpose: Purpose, another: Purpose
) -> None:
    names = [raw_name(label, *where, what, "dng") for where, what in ((one, purpose), (other, another))]
    if one != other:
        assert (names[0] < names[1]) == (one < other)
        assert (names[0].encode() < names[1].encode()) == (one < other)


@settings(deadline=None)  # a busy machine is no fault
@given(st.lists(labels, max_size=12))
def test_folders_of_different_rolls_differ_wherever_they_are_copied(known: list[str]) -> None:
    taken: list[str] = []
    for label in known:
        taken.append(roll_folder(label, taken))
    assert len({same_name(name) for name in taken}) == len(taken)
    for name in taken:
        require_legal(name)


@pytest.mark.parametrize(
    ("label", "name"),
    [
        ("Pier 7", "Pier_7"),
        ("Pier 7/8: north*", "Pier_7-8-_north"),
        ("  ", "roll"),
        ("...", "roll"),
        ("con", "con_"),
        ("LPT1.old", "LPT1_.old"),
        ("-rf", "rf"),
        ("Cafe\u0301", "Café"),
        ("Ha\u200bfen\u202e", "Hafen"),
        ("港 1951", "港_1951"),
        ("x" * 300, "x" * 100),
        ("ü" * 300, "ü" * 50),
        ("end.", "end"),
    ],
)
def test_names_by_example(label: str, name: str) -> None:
    assert plain(label) == name


def test_raw_names_by_example() -> None:
    assert raw_name("Pier 7", 2, 4, 1, Purpose.WHOLE, ".NEF") == "Pier_7-002-004-01.nef"
    assert raw_name("Pier 7", 2, 4, 3, Purpose.BRACKET, "dng") == "Pier_7-002-004-03-bracket.dng"
    assert raw_name("Pier 7", 1000, 4, 100, Purpose.WHOLE, "") == "Pier_7-1000-004-100.raw"


def test_a_roll_does_not_take_a_name_that_has_a_use() -> None:
    for own in (paths.UNCLAIMED, paths.LEDGER, paths.LOCK, paths.BALLAST, "set-up", "SET-UP"):
        assert same_name(roll_folder(own, ())) != same_name(own)


def test_a_number_stands_before_the_suffix() -> None:
    assert free_name("a.dng", ["A.DNG"]) == "a-2.dng"
    assert free_name("a", ["a", "a-2"]) == "a-3"


@settings(deadline=None)  # a busy machine is no fault
@given(labels)
def test_the_real_file_system_takes_the_name(tmp_path_factory: pytest.TempPathFactory, label: str) -> None:
    folder = tmp_path_factory.mktemp("names")
    name = raw_name(label, 1, 1, 1, Purpose.CHANNEL, "dng")
    (folder / name).touch()
    assert [path.name for path in Path(folder).iterdir()] == [name]
