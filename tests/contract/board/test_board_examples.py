"""The examples of hardware/PROTOCOL.md, replayed byte by byte on both boards."""

from __future__ import annotations

import re

import pytest
from tests.contract.board.bed import HOME, Bed
from tests.contract.board.raw import RawHost, crc8

PAGE = (HOME / "hardware" / "PROTOCOL.md").read_text("utf-8")
ROW = re.compile(r"    (board|host) +(.+)")
Example = list[tuple[str, str]]


def examples() -> dict[str, Example]:
    """Title to rows, each a speaker and what goes over the wire."""
    found: dict[str, Example] = {}
    title = ""
    for line in PAGE.partition("## Examples")[2].splitlines():
        if match := ROW.fullmatch(line):
            found.setdefault(title, []).append((match[1], match[2]))
        elif line:
            title = line.rstrip(":")
    return found


def test_there_are_examples() -> None:
    assert len(examples()) >= 6
    assert {"A motion", "Two lines glued", "The emergency stop"} <= set(examples())


@pytest.mark.parametrize("title", examples())
def test_an_example_is_what_happens(bed: Bed, title: str) -> None:
    rows = examples()[title]
    told: list[str] = []
    with RawHost(bed) as host:
        told = host.read(0.05)
        for speaker, text in rows:
            if speaker == "host":
                assert told == [], "the board said more than the page"
                host.write(b"\x1b" if text == "ESC" else text.encode() + b"\n")
                told = host.read(2.0)
            else:
                body, _, check = text.rpartition("~")
                assert check == f"{crc8(body.encode()):02X}"
                assert told[:1] == [body]
                told = told[1:]
    assert told == []
