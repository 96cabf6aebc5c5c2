"""From a stream of bytes, cut anywhere, to PTP/IP messages."""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator

from rigd_sim.camera import wire
from rigd_sim.camera.codes import Packet


class PacketReader:
    """Feed it bytes as they come; it gives the messages that are complete.

    After a WireError the reader is of no further use, as the packet boundaries are lost.
    """

    def __init__(self) -> None:
        self._held = bytearray()

    def feed(self, data: bytes) -> Iterator[wire.Message]:
        """Add bytes and yield every message that is now complete, in order. Raises WireError."""
        self._held += data
        while (packet := self._cut()) is not None:
            yield decode(packet)

    @property
    def waiting(self) -> int:
        """Bytes held of a packet that is not complete yet."""
        return len(self._held)

    def _cut(self) -> bytes | None:
        if len(self._held) < wire.HEADER.size:
            return None
        length, _ = wire.HEADER.unpack_from(self._held)
        if not wire.HEADER.size <= length <= wire.MAX_PACKET:
            raise wire.WireError(f"packet length {length}")
        if len(self._held) < length:
            return None
        packet = bytes(self._held[:length])
        del self._held[:length]
        return packet


def decode(packet: bytes) -> wire.Message:
    """One whole packet, header included, to its message. Raises WireError."""
    length, kind = wire.HEADER.unpack_from(packet)
    if length != len(packet):
        raise wire.WireError(f"packet of {len(packet)} bytes says {length}")
    try:
        return _DECODERS[kind](packet[wire.HEADER.size :])
    except KeyError:
        raise wire.WireError(f"packet type {kind}") from None
    except (struct.error, UnicodeDecodeError) as error:
        raise wire.WireError(f"packet type {kind}: {error}") from None


def _init_command_request(body: bytes) -> wire.Message:
    name, version = _name_and_version(body[16:])
    return wire.InitCommandRequest(_guid(body), name, version)


def _init_command_ack(body: bytes) -> wire.Message:
    (connection,) = struct.unpack_from("<I", body)
    name, version = _name_and_version(body[20:])
    return wire.InitCommandAck(connection, _guid(body[4:]), name, version)


def _guid(body: bytes) -> bytes:
    if len(body) < 16:
        raise wire.WireError("the initiator's id is cut off")
    return body[:16]


def _name_and_version(body: bytes) -> tuple[str, int]:
    end = next((i for i in range(0, len(body) - 1, 2) if body[i : i + 2] == b"\0\0"), None)
    if end is None:
        raise wire.WireError("a name without its end")
    (version,) = _exact("<I", body[end + 2 :])
    return body[:end].decode("utf-16-le"), version


def _exact(form: str, body: bytes) -> tuple[int, ...]:
    if struct.calcsize(form) != len(body):
        raise wire.WireError(f"a body of {len(body)} bytes where {struct.calcsize(form)} belong")
    return struct.unpack(form, body)


def _operation_request(body: bytes) -> wire.Message:
    (phase,) = struct.unpack_from("<I", body)
    return wire.OperationRequest(*_coded(body[4:]), phase=phase)


def _coded(body: bytes) -> tuple[int, int, tuple[int, ...]]:
    code, transaction = struct.unpack_from("<HI", body)
    count, rest = divmod(len(body) - 6, 4)
    if rest or count > 5:
        raise wire.WireError(f"{len(body) - 6} bytes of parameters")
    return code, transaction, struct.unpack_from(f"<{count}I", body, 6)


def _data(body: bytes) -> wire.Data:
    return wire.Data(struct.unpack_from("<I", body)[0], body[4:])


def _end_data(body: bytes) -> wire.EndData:
    return wire.EndData(struct.unpack_from("<I", body)[0], body[4:])


_DECODERS: dict[int, Callable[[bytes], wire.Message]] = {
    Packet.INIT_COMMAND_REQUEST: _init_command_request,
    Packet.INIT_COMMAND_ACK: _init_command_ack,
    Packet.INIT_EVENT_REQUEST: lambda body: wire.InitEventRequest(*_exact("<I", body)),
    Packet.INIT_EVENT_ACK: lambda body: wire.InitEventAck(*_exact("<", body)),
    Packet.INIT_FAIL: lambda body: wire.InitFail(*_exact("<I", body)),
    Packet.OPERATION_REQUEST: _operation_request,
    Packet.OPERATION_RESPONSE: lambda body: wire.OperationResponse(*_coded(body)),
    Packet.EVENT: lambda body: wire.EventNotice(*_coded(body)),
    Packet.START_DATA: lambda body: wire.StartData(*_exact("<IQ", body)),
    Packet.DATA: _data,
    Packet.END_DATA: _end_data,
    Packet.CANCEL: lambda body: wire.Cancel(*_exact("<I", body)),
    Packet.PROBE_REQUEST: lambda body: wire.ProbeRequest(*_exact("<", body)),
    Packet.PROBE_RESPONSE: lambda body: wire.ProbeResponse(*_exact("<", body)),
}
