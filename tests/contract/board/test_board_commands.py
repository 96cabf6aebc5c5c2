"""Every command and every refusal (hardware/PROTOCOL.md, "Commands")."""

from __future__ import annotations

import pytest
from tests.contract.board.bed import Bed
from tests.contract.board.raw import RawHost

HELLO = "<HELLO film-advancer proto=1 fw=1.0 pedals=2 lamp=wrgb boot=1 kept=0"
ASK = "<ASK at=0 go=0 sure=0 grip=0 film=0 stop=0 why=none edges=0 boot=1"


@pytest.mark.parametrize(
    ("said", "answered"),
    [
        ("HELLO", HELLO),
        ("ASK", ASK),
        ("PLACE -250", "<PLACE at=-250"),
        ("PLACE +12", "<PLACE at=12"),
        ("GRIP on", "<GRIP on"),
        ("GRIP off", "<GRIP off"),
        ("HALT", "<HALT"),
        ("CLEAR", "<CLEAR"),
        ("LAMP", "<LAMP w=0 r=0 g=0 b=0 warm=0"),
        ("LAMP 255 0 7 128", "<LAMP w=255 r=0 g=7 b=128 warm=5000"),
        ("MOVE 100", "<MOVE steps=100 ms=143"),
        ("MOVE -100 500", "<MOVE steps=-100 ms=227"),
        ("SEEK film 800", "<SEEK steps=800 ms=582"),
        ("SEEK clear -800", "<SEEK steps=-800 ms=582"),
        ("READ gear", "<READ gear=80000"),
        ("KEEP gear 79012", "<KEEP gear=79012"),
    ],
)
def test_a_command_is_answered(host: RawHost, said: str, answered: str) -> None:
    assert host.say(said)[:1] == [answered]


@pytest.mark.parametrize(
    ("said", "refused"),
    [
        ("FORWARD 10", "!UNKNOWN"),
        ("ASK now", "!UNKNOWN"),
        ("move 10", "!UNKNOWN"),
        ("MOVE", "!ARGUMENT"),
        ("MOVE 0", "!ARGUMENT"),
        ("MOVE ten", "!ARGUMENT"),
        ("MOVE 1e3", "!ARGUMENT"),
        ("MOVE 1234567890", "!ARGUMENT"),
        ("MOVE - 5", "!ARGUMENT"),
        ("MOVE 5 100 1", "!ARGUMENT"),
        ("MOVE  5", "!ARGUMENT"),
        ("MOVE 40001", "!LIMIT span=40000"),
        ("MOVE -40001", "!LIMIT span=40000"),
        ("MOVE 100 8001", "!LIMIT top=8000"),
        ("MOVE 100 49", "!LIMIT least=50"),
        ("MOVE 40000 100", "!LIMIT longest=20000"),
        ("SEEK film", "!ARGUMENT"),
        ("SEEK edge 100", "!ARGUMENT"),
        ("SEEK film 40001", "!LIMIT span=40000"),
        ("PLACE", "!ARGUMENT"),
        ("PLACE here", "!ARGUMENT"),
        ("GRIP", "!ARGUMENT"),
        ("GRIP maybe", "!ARGUMENT"),
        ("LAMP 1 2 3", "!ARGUMENT"),
        ("LAMP 256 0 0 0", "!ARGUMENT"),
        ("LAMP -1 0 0 0", "!ARGUMENT"),
        ("READ nothing", "!ARGUMENT"),
        ("KEEP gear", "!ARGUMENT"),
        ("KEEP gear 999", "!LIMIT"),
        ("KEEP top 10001", "!LIMIT"),
        ("A B C D E F G", "!ARGUMENT"),
    ],
)
def test_a_command_is_refused_and_nothing_happens(bed: Bed, host: RawHost, said: str, refused: str) -> None:
    assert host.say(said, 0.5) == [refused]
    assert host.say("ASK") == [ASK]
    assert bed.count() == 0


def test_in_motion_only_what_does_not_move_is_taken(host: RawHost) -> None:
    host.say("MOVE 8000", 0.03)
    for said in ("MOVE 10", "SEEK film 10", "PLACE 0", "GRIP off", "KEEP gear 79000"):
        assert host.say(said) == ["!MOVING"]
    assert host.say("ASK")[0].startswith("<ASK at=")
    assert host.say("LAMP 1 0 0 0") == ["<LAMP w=1 r=0 g=0 b=0 warm=5000"]


def test_settings_outlive_a_reset(bed: Bed, host: RawHost) -> None:
    assert host.say("KEEP gear 79012") == ["<KEEP gear=79012"]
    bed.call("reset", why="power")
    assert host.read() == ["#00 BOOT why=power boot=2"]
    assert host.say("READ gear") == ["<READ gear=79012"]
    assert host.say("HELLO")[0].endswith("boot=2 kept=1")


def test_damaged_settings_are_told_and_the_usual_ones_hold(bed: Bed, host: RawHost) -> None:
    host.say("KEEP gear 79012")
    kept = bed.eeprom()
    bed.eeprom(at=3, byte=kept[3] ^ 0x10)  # a bit of `gear`
    bed.call("reset", why="power")
    host.read()
    assert host.say("HELLO")[0].endswith("kept=0")
    assert host.say("READ gear") == ["<READ gear=80000"]


def test_both_kinds_of_board_keep_the_same_bytes(bed: Bed, host: RawHost) -> None:
    """The layout of hardware/PROTOCOL.md: mark, layout, thirteen little-endian numbers, check, boot count."""
    host.say("KEEP gear 79012")
    host.say("KEEP flip 5")
    values = (79012, 8000, 20000, 1600, 40000, 20000, 1000, 200, 0, 0, 5000, 900, 5)
    assert bed.eeprom()[:54] == bytes([0x52, 1]) + b"".join(value.to_bytes(4, "little") for value in values)
    assert bed.eeprom()[55:57] == b"\x01\x00"


@pytest.mark.parametrize("why", ["power", "reset", "brownout", "watchdog"])
def test_the_boot_message_says_why(bed: Bed, host: RawHost, why: str) -> None:
    bed.call("reset", why=why)
    assert host.read() == [f"#00 BOOT why={why} boot=2"]


def test_the_film_is_let_go_by_grip_off(bed: Bed, host: RawHost) -> None:
    host.say("GRIP on")
    host.say("PLACE 0")
    assert bed.look()["enabled"] == 1
    assert " sure=1 grip=1 " in host.say("ASK")[0]
    host.say("GRIP off")
    assert bed.look()["enabled"] == 0
    assert " sure=0 grip=0 " in host.say("ASK")[0]
