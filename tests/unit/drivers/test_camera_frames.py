from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd.drivers.camera.frames import LONGEST, OutOfStep, Splitter, pack

messages = st.lists(st.binary(max_size=300), max_size=8)


@given(messages, st.data())
def test_messages_come_out_whole_however_the_stream_is_cut(sent: list[bytes], data: st.DataObject) -> None:
    stream = b"".join(map(pack, sent))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=20)))
    splitter, got = Splitter(), []
    for start, end in zip([0, *cuts], [*cuts, len(stream)], strict=True):
        got += list(splitter.feed(stream[start:end]))
    assert got == sent


def test_nothing_comes_out_before_the_last_byte() -> None:
    splitter = Splitter()
    assert list(splitter.feed(pack(b"picture")[:-1])) == []
    assert list(splitter.feed(b"e")) == [b"picture"]


def test_an_impossible_length_is_out_of_step() -> None:
    with pytest.raises(OutOfStep):
        list(Splitter().feed((LONGEST + 1).to_bytes(4, "big")))
