"""The packet codec: bytes to messages and back, cut anywhere, glued together, and garbled."""

from __future__ import annotations

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd_sim.camera import wire
from rigd_sim.camera.codes import Packet
from rigd_sim.camera.reader import PacketReader, decode

u16, u32, u64 = (st.integers(0, 2**bits - 1) for bits in (16, 32, 64))
params = st.lists(u32, max_size=5).map(tuple)
guid = st.binary(min_size=16, max_size=16)
names = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=40)
payload = st.binary(max_size=300)

messages = st.one_of(
    st.builds(wire.InitCommandRequest, guid, names, u32),
    st.builds(wire.InitCommandAck, u32, guid, names, u32),
    st.builds(wire.InitEventRequest, u32),
    st.just(wire.InitEventAck()),
    st.builds(wire.InitFail, u32),
    st.builds(wire.OperationRequest, u16, u32, params, u32),
    st.builds(wire.OperationResponse, u16, u32, params),
    st.builds(wire.EventNotice, u16, u32, params),
    st.builds(wire.StartData, u32, u64),
    st.builds(wire.Data, u32, payload),
    st.builds(wire.EndData, u32, payload),
    st.builds(wire.Cancel, u32),
    st.just(wire.ProbeRequest()),
    st.just(wire.ProbeResponse()),
)


def read(*pieces: bytes) -> list[wire.Message]:
    reader = PacketReader()
    return [message for piece in pieces for message in reader.feed(piece)]


@given(messages)
def test_a_message_survives_the_wire(message: wire.Message) -> None:
    assert read(wire.encode(message)) == [message]


@given(st.lists(messages, max_size=5), st.data())
def test_cuts_and_joins_do_not_matter(sent: list[wire.Message], data: st.DataObject) -> None:
    stream = b"".join(map(wire.encode, sent))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=8)))
    pieces = [stream[a:b] for a, b in zip([0, *cuts], [*cuts, len(stream)], strict=True)]
    assert read(*pieces) == sent


@given(messages)
def test_nothing_comes_before_the_last_byte(message: wire.Message) -> None:
    reader = PacketReader()
    packet = wire.encode(message)
    assert [m for byte in packet[:-1] for m in reader.feed(bytes([byte]))] == []
    assert reader.waiting == len(packet) - 1


@given(st.binary(max_size=200))
def test_garbage_is_refused_or_waited_for_and_never_breaks_anything_else(garbage: bytes) -> None:
    reader = PacketReader()
    try:
        got = list(reader.feed(garbage))
    except wire.WireError:
        return
    assert sum(len(wire.encode(message)) for message in got) + reader.waiting == len(garbage)


@given(messages, st.data())
def test_a_packet_cut_short_inside_is_refused(message: wire.Message, data: st.DataObject) -> None:
    """The length field is made to fit what is left, so only the body is wrong; a payload may be any length."""
    packet = wire.encode(message)
    size = data.draw(st.integers(wire.HEADER.size, len(packet) - 1)) if len(packet) > wire.HEADER.size else 8
    short = struct.pack("<I", size) + packet[4:size]
    if size == len(packet):
        return
    try:
        again = decode(short)
    except wire.WireError:
        return
    assert again != message
    assert wire.encode(again) == short


@pytest.mark.parametrize("length", [0, 7, wire.MAX_PACKET + 1, 0xFFFFFFFF])
def test_a_length_that_cannot_be_is_refused(length: int) -> None:
    with pytest.raises(wire.WireError, match="length"):
        read(struct.pack("<II", length, Packet.PROBE_REQUEST))


@pytest.mark.parametrize("kind", [0, 15, 0xBAD])
def test_an_unknown_type_is_refused(kind: int) -> None:
    with pytest.raises(wire.WireError, match="type"):
        read(struct.pack("<II", 8, kind))


def test_packets_as_the_standard_draws_them() -> None:
    """Field order and sizes of CIPA DC-X005, written out by hand; values from memory."""
    request = bytes.fromhex("16000000 06000000 01000000 0e10 05000000 01000100")
    assert read(request) == [wire.OperationRequest(0x100E, 5, (0x00010001,), 1)]
    event = bytes.fromhex("12000000 08000000 0240 05000000 03000000")
    assert wire.encode(wire.EventNotice(0x4002, 5, (3,))) == event
    start = bytes.fromhex("14000000 09000000 05000000 0001000000000000")
    assert wire.encode(wire.StartData(5, 256)) == start
    name_and_version = "rig".encode("utf-16-le") + bytes.fromhex("0000 00000100")
    hello = bytes.fromhex("24000000 01000000") + b"0123456789abcdef" + name_and_version
    assert read(hello) == [wire.InitCommandRequest(b"0123456789abcdef", "rig")]


@given(u32, payload)
def test_a_data_header_and_its_payload_are_the_same_packet(transaction: int, content: bytes) -> None:
    packet = wire.data_header(Packet.END_DATA, transaction, len(content)) + content
    assert read(packet) == [wire.EndData(transaction, content)]
