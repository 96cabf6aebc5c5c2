"""The kernel's records of a pedal, as bytes."""

from __future__ import annotations

import itertools
import struct

from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.pedal.device import LETTERS, is_keyboard, keys_of
from rigd.drivers.pedal.records import Dropped, Key, Records

# One press of a pedal that types "b" (KEY_B is 48), as a 64-bit kernel writes it: struct input_event of linux/input.h,
# little-endian. MSC_SCAN, key down, SYN_REPORT, two auto-repeats, MSC_SCAN, key up, SYN_REPORT.
RECORDED = bytes.fromhex(
    "10270000000000004006000000000000" "0400" "0400" "05000700"
    "10270000000000004006000000000000" "0100" "3000" "01000000"
    "10270000000000004006000000000000" "0000" "0000" "00000000"
    "10270000000000002034060000000000" "0100" "3000" "02000000"
    "10270000000000004078070000000000" "0100" "3000" "02000000"
    "10270000000000008096080000000000" "0400" "0400" "05000700"
    "10270000000000008096080000000000" "0100" "3000" "00000000"
    "10270000000000008096080000000000" "0000" "0000" "00000000"
)  # fmt: skip

DOWN, UP = Key(10000.0016, 48, True), Key(10000.562816, 48, False)


def test_a_press_and_a_release_and_nothing_else() -> None:
    assert struct.calcsize("llHHi") == 24, "these records are of a 64-bit machine"
    assert Records().feed(RECORDED) == [DOWN, UP]


@given(st.lists(st.integers(0, len(RECORDED)), max_size=10).map(sorted))
def test_however_it_is_cut(cuts: list[int]) -> None:
    records = Records()
    edges = [0, *cuts, len(RECORDED)]
    found = [one for a, b in itertools.pairwise(edges) for one in records.feed(RECORDED[a:b])]
    assert found == [DOWN, UP]


def test_a_queue_that_ran_over_is_told() -> None:
    """SYN_DROPPED, code 3 of type EV_SYN (linux/input-event-codes.h)."""
    assert Records().feed(struct.pack("llHHi", 1, 0, 0, 3, 0)) == [Dropped()]


def test_keys_from_the_kernels_bits() -> None:
    bits = bytearray(96)
    bits[48 // 8] |= 1 << 48 % 8
    bits[0x101 // 8] |= 1 << 0x101 % 8
    assert keys_of(bytes(bits)) == {48, 0x101}
    assert keys_of(b"") == frozenset()


def test_a_whole_alphabet_is_a_keyboard() -> None:
    assert len(LETTERS) == 26
    assert is_keyboard(LETTERS | {57, 28})
    assert not is_keyboard(frozenset({30, 48, 46}))  # a pedal with three switches: a, b, c
    assert not is_keyboard(LETTERS - {48})
