"""Bytes to lines, chopped, glued and garbled."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.board.codec import LONGEST, Decoder, Line, Noise, crc8, encode

WORDS = st.text(st.sampled_from("ABCXYZ 0189=+-_.:/{}"), min_size=0, max_size=60)
LINES = st.builds(Line, st.sampled_from("<!#"), st.integers(0, 255), WORDS)


def wire(line: Line) -> bytes:
    return encode(line.number, line.words, line.kind)


def fed(data: bytes, cuts: list[int]) -> list[Line | Noise]:
    decoder = Decoder()
    edges = [0, *sorted(cut % (len(data) + 1) for cut in cuts), len(data)]
    return [one for a, b in itertools.pairwise(edges) for one in decoder.feed(data[a:b])]


def lines(found: list[Line | Noise]) -> list[Line]:
    return [one for one in found if isinstance(one, Line)]


def test_the_check_value_of_the_catalogue() -> None:
    """CRC-8/SMBUS in the catalogue of parametrised CRC algorithms: check 0xF4."""
    assert crc8(b"123456789") == 0xF4


def test_a_command_as_written_in_the_specification() -> None:
    """hardware/PROTOCOL.md, "Examples"."""
    assert encode(5, "MOVE 4960") == b">05 MOVE 4960~CC\n"


@pytest.mark.parametrize("words", ["a>b", "a<b", "a!b", "a#b", "a~b", "a\nb", "\u00e9", "x" * 89])
def test_what_the_line_cannot_carry_is_not_sent(words: str) -> None:
    with pytest.raises(ValueError, match=r"no line|codec can't"):
        encode(1, words)


@given(st.lists(LINES, max_size=8), st.lists(st.integers(0, 2000), max_size=12))
def test_lines_come_through_however_they_are_cut(sent: list[Line], cuts: list[int]) -> None:
    assert fed(b"".join(map(wire, sent)), cuts) == sent


@given(st.lists(LINES, min_size=1, max_size=8))
def test_lost_newlines_cost_nothing(sent: list[Line]) -> None:
    assert fed(b"".join(wire(one)[:-1] for one in sent) + b"\n", []) == sent


@given(LINES, st.integers(0, 200), LINES)
def test_a_line_cut_short_spoils_only_itself(cut: Line, keep: int, whole: Line) -> None:
    data = wire(cut)
    piece = data[: keep % (len(data) - 1)]
    found = fed(piece + wire(whole), [])
    assert lines(found) == ([cut] if piece == data[:-1] else []) + [whole]


@given(LINES, st.integers(0, 2000), st.integers(0, 7), LINES)
def test_no_flipped_bit_passes_unseen(spoilt: Line, at: int, bit: int, after: Line) -> None:
    """A CRC of degree 8 finds every single wrong bit; the line after it comes through."""
    data = bytearray(wire(spoilt)[:-1])
    data[at % len(data)] ^= 1 << bit
    found = lines(fed(bytes(data) + b"\n" + wire(after), []))
    assert found[-1] == after
    assert spoilt not in found[:-1] or spoilt == after


@given(st.binary(max_size=400), LINES, st.lists(st.integers(0, 500), max_size=5))
def test_after_any_garbage_the_next_line_is_read(garbage: bytes, line: Line, cuts: list[int]) -> None:
    assert lines(fed(garbage + wire(line), cuts))[-1] == line


@given(st.binary(max_size=400), st.lists(st.integers(0, 500), max_size=5))
def test_nothing_is_lost_and_nothing_made_up(garbage: bytes, cuts: list[int]) -> None:
    """Every byte but line ends and carriage returns is in some line or in some noise, and cuts change nothing."""
    found = fed(garbage + b"\n", cuts)
    told = b"".join(one.data if isinstance(one, Noise) else wire(one)[:-1] for one in found)
    assert told == garbage.replace(b"\r", b"").replace(b"\n", b"")
    assert found == fed(garbage + b"\n", []) or len(told) >= LONGEST


@given(st.integers(0, 5000))
def test_endless_garbage_needs_no_more_room_than_a_line(length: int) -> None:
    decoder = Decoder()
    decoder.feed(b"x" * length)
    assert len(decoder._held) < LONGEST
