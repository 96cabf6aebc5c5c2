"""The memory card: handles, folders, room, and the names that files get."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd_sim.camera.card import STORAGE, Card, CardFull, NoSuchObject, Picture
from rigd_sim.camera.codes import ALL, Format
from rigd_sim.camera.medium import InFolder, InMemory
from rigd_sim.camera.names import Names

TAKEN = datetime(2026, 3, 8, 9, 15, 30)


def picture(data: bytes, name: str = "RIG_0001.DNG", folder: str = "100RIGSM") -> Picture:
    return Picture(folder, name, memoryview(data), TAKEN, 6, 4, 14, b"thumb", 3, 2)


@pytest.fixture(params=["memory", "folder"])
def card(request: pytest.FixtureRequest, tmp_path: Path) -> Card:
    return Card(1000, InMemory() if request.param == "memory" else InFolder(tmp_path))


def test_what_is_put_in_comes_out(card: Card) -> None:
    handle = card.add(picture(b"abc" * 100))
    assert bytes(card.data(handle)) == b"abc" * 100
    assert card.thumb(handle) == b"thumb"
    info = card.info(handle)
    assert (info.name, info.size, info.format, info.taken) == ("RIG_0001.DNG", 300, Format.DNG, TAKEN)
    assert card.free == 700


def test_folders_nest_and_are_made_once(card: Card) -> None:
    handles = [card.add(picture(b"x", f"RIG_{n:04}.DNG")) for n in (1, 2)]
    (root,) = card.handles(ALL)
    (folder,) = card.handles(root)
    assert [card.info(h).name for h in (root, folder)] == ["DCIM", "100RIGSM"]
    assert card.handles(folder) == handles
    assert sorted(card.handles(0)) == sorted([root, folder, *handles])
    assert {card.info(h).storage for h in card.handles(0)} == {STORAGE}


def test_a_full_card_takes_nothing_and_stays_as_it_was(card: Card) -> None:
    card.add(picture(b"x" * 900))
    before = card.handles(0)
    with pytest.raises(CardFull):
        card.add(picture(b"y" * 101, "RIG_0002.DNG"))
    assert (card.handles(0), card.free) == (before, 100)
    card.add(picture(b"y" * 100, "RIG_0002.DNG"))
    assert card.free == 0


def test_deleting_gives_room_and_forgets_the_handle(card: Card) -> None:
    handle = card.add(picture(b"x" * 900))
    card.delete(handle)
    assert card.free == 1000
    for gone in (card.delete, card.info, card.data, card.thumb):
        with pytest.raises(NoSuchObject):
            gone(handle)
    assert card.add(picture(b"y")) != handle


def test_a_folder_cannot_be_deleted(card: Card) -> None:
    card.add(picture(b"x"))
    with pytest.raises(NoSuchObject):
        card.delete(card.handles(ALL)[0])


def test_an_empty_card_in_the_slot(card: Card) -> None:
    card.add(picture(b"x"))
    card.empty()
    assert (card.handles(0), card.free) == ([], 1000)


def test_files_in_a_folder_leave_the_disk_when_deleted(tmp_path: Path) -> None:
    card = Card(1000, InFolder(tmp_path / "card"))
    handle = card.add(picture(b"x" * 500))
    assert [path.stat().st_size for path in (tmp_path / "card").iterdir()] == [500]
    card.delete(handle)
    assert list((tmp_path / "card").iterdir()) == []


@given(st.lists(st.integers(0, 400), max_size=20))
def test_the_room_is_what_the_files_leave(sizes: list[int]) -> None:
    card, kept = Card(1000, InMemory()), 0
    for size in sizes:
        try:
            card.add(picture(bytes(size)))
        except CardFull:
            assert kept + size > 1000
        else:
            kept += size
        assert card.free == 1000 - kept


def test_names_roll_over_into_the_next_folder() -> None:
    """DCF numbering: 0001 to 9999, then the folder number goes up (JEITA CP-3461; value from memory)."""
    names = Names(9998)
    assert [names.next() for _ in range(3)] == [
        ("100RIGSM", "RIG_9998.DNG"), ("100RIGSM", "RIG_9999.DNG"), ("101RIGSM", "RIG_0001.DNG"),
    ]  # fmt: skip
    names = Names(9999, folder=999)
    names.next()
    assert names.next() == ("100RIGSM", "RIG_0001.DNG")
