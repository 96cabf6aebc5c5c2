"""The line itself: checks, garbage, cut and glued lines, lost bytes, repeated commands (hardware/PROTOCOL.md)."""

from __future__ import annotations

import pytest
from tests.contract.board.bed import Bed
from tests.contract.board.raw import RawHost, crc8, line

GARBLED = "!00 GARBLED"
PLACE = "<05 PLACE at=7"


def test_the_check_is_the_catalogued_one() -> None:
    """CRC-8/SMBUS: "123456789" gives 0xF4 (catalogue of parametrised CRC algorithms)."""
    assert crc8(b"123456789") == 0xF4


def test_a_whole_line_is_answered_with_its_number(host: RawHost) -> None:
    host.write(line(5, "PLACE 7"))
    assert host.read() == [PLACE]


def test_a_wrong_check_is_refused_without_a_number(host: RawHost) -> None:
    good = line(5, "PLACE 7")
    host.write(good[:-3] + b"00\n")
    assert host.read() == [GARBLED]
    host.write(good)
    assert host.read() == [PLACE]


@pytest.mark.parametrize("at", range(len(line(5, "PLACE 7")) - 1))
def test_no_single_flipped_bit_passes(host: RawHost, at: int) -> None:
    """A CRC of degree 8 sees every single wrong bit."""
    good = line(5, "PLACE 7")
    for bit in range(8):
        bad = bytearray(good)
        bad[at] ^= 1 << bit
        if bad[at] in b"\r\n>\x1b":  # these make two lines, or a stop: tested below
            continue
        host.write(bytes(bad))
        assert host.read() == [GARBLED], bytes(bad)


def test_garbage_before_a_line_costs_nothing(host: RawHost) -> None:
    host.write(b"\x00\xffhello \x7f" + line(5, "PLACE 7"))
    assert host.read() == [PLACE]


def test_garbage_alone_is_noticed_at_its_end(host: RawHost) -> None:
    host.write(b"nonsense\n")
    assert host.read() == [GARBLED]


def test_empty_lines_and_carriage_returns_are_nothing(host: RawHost) -> None:
    host.write(b"\n\r\n" + line(5, "PLACE 7").replace(b"\n", b"\r\n"))
    assert host.read() == [PLACE]


@pytest.mark.parametrize("kept", range(1, len(line(5, "PLACE 7")) - 1))
def test_a_cut_line_spoils_only_itself(host: RawHost, kept: int) -> None:
    host.write(line(5, "PLACE 7")[:kept] + line(6, "PLACE 8"))
    assert host.read() == [GARBLED, "<06 PLACE at=8"]


def test_glued_lines_are_both_carried_out(host: RawHost) -> None:
    host.write(line(5, "PLACE 7")[:-1] + line(6, "PLACE 8"))
    assert host.read() == [PLACE, "<06 PLACE at=8"]


def test_a_line_that_is_too_long_is_dropped(host: RawHost) -> None:
    host.write(line(5, "PLACE " + "7" * 120))
    assert host.read(0.1) == [GARBLED]
    host.write(line(5, "PLACE 7"))
    assert host.read() == [PLACE]


def test_number_zero_is_no_command(host: RawHost) -> None:
    host.write(line(0, "PLACE 7"))
    assert host.read() == [GARBLED]


def test_a_repeated_command_is_answered_again_and_carried_out_once(bed: Bed, host: RawHost) -> None:
    command = line(9, "MOVE 400")
    host.write(command)
    first = host.read(0.03)
    host.write(command)
    second = host.read(1.0)
    assert first == second[:1] == ["<09 MOVE steps=400 ms=284"]
    assert second[1:] == ["#01 REST at=400 why=done"]
    host.write(command)
    assert host.read(1.0) == first
    assert bed.count() == 400


def test_the_same_words_with_another_number_are_another_command(bed: Bed, host: RawHost) -> None:
    for number in (9, 10):
        host.write(line(number, "MOVE 10"))
        host.read(0.5)
    assert bed.count() == 20


def test_a_greeting_is_answered_every_time(host: RawHost) -> None:
    for _ in range(2):
        host.write(line(1, "HELLO"))
        assert host.read()[0].startswith("<01 HELLO film-advancer proto=1 ")


@pytest.mark.parametrize("lost", range(len(line(5, "PLACE 7"))))
def test_one_lost_byte_never_does_something_else(bed: Bed, host: RawHost, lost: int) -> None:
    bed.call("spoil", way="in", how="lose", skip=lost, count=1)
    host.write(line(5, "PLACE 7"))
    first = host.read()
    assert first in ([GARBLED], []), first
    host.write(line(5, "PLACE 7"))  # the repetition that a host owes
    again = host.read()
    assert again[-1] == PLACE
    assert set(again) <= {PLACE, GARBLED}


def test_events_are_numbered_by_themselves(bed: Bed, host: RawHost) -> None:
    told = []
    for _ in range(3):
        for down in (True, False):
            bed.call("pin", name="pedal1", on=down)
            told += host.read(0.1)
    assert [one[:3] for one in told] == ["#01", "#02", "#03", "#04", "#05", "#06"]


def test_a_flood_of_noise_leaves_the_board_well(host: RawHost) -> None:
    noise = bytes(range(32, 62)) + bytes(range(63, 256))  # every byte but >, ESC and the ends of lines
    host.write(noise * 8 + b"\n")
    host.read(1.0)
    host.write(line(5, "PLACE 7"))
    assert host.read() == [PLACE]
