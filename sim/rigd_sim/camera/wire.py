"""The packets of PTP/IP (CIPA DC-X005): bytes to messages and back, without any I/O.

Every packet is a little-endian uint32 length (of the whole packet), a uint32 type, and a body.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from rigd_sim.camera.codes import DataPhase, Packet

HEADER = struct.Struct("<II")
VERSION = 0x00010000  # major 1, minor 0
MAX_PACKET = 64 << 20  # an initiator sends names, numbers and property values; anything near this is garbage


class WireError(ValueError):
    """The bytes are no PTP/IP packet; the connection cannot be read any further."""


@dataclass(frozen=True)
class InitCommandRequest:
    guid: bytes
    name: str
    version: int = VERSION


@dataclass(frozen=True)
class InitCommandAck:
    connection: int
    guid: bytes
    name: str
    version: int = VERSION


@dataclass(frozen=True)
class InitEventRequest:
    connection: int


@dataclass(frozen=True)
class InitEventAck:
    pass


@dataclass(frozen=True)
class InitFail:
    reason: int


@dataclass(frozen=True)
class OperationRequest:
    code: int
    transaction: int
    params: tuple[int, ...] = ()
    phase: int = DataPhase.NONE_OR_IN


@dataclass(frozen=True)
class OperationResponse:
    code: int
    transaction: int
    params: tuple[int, ...] = ()


@dataclass(frozen=True)
class EventNotice:
    code: int
    transaction: int
    params: tuple[int, ...] = ()


@dataclass(frozen=True)
class StartData:
    transaction: int
    total: int


@dataclass(frozen=True)
class Data:
    transaction: int
    payload: bytes


@dataclass(frozen=True)
class EndData:
    transaction: int
    payload: bytes


@dataclass(frozen=True)
class Cancel:
    transaction: int


@dataclass(frozen=True)
class ProbeRequest:
    pass


@dataclass(frozen=True)
class ProbeResponse:
    pass


Message = (
    InitCommandRequest
    | InitCommandAck
    | InitEventRequest
    | InitEventAck
    | InitFail
    | OperationRequest
    | OperationResponse
    | EventNotice
    | StartData
    | Data
    | EndData
    | Cancel
    | ProbeRequest
    | ProbeResponse
)


def encode(message: Message) -> bytes:
    """The whole packet of a message."""
    kind, body = _body_of(message)
    return HEADER.pack(HEADER.size + len(body), kind) + body


def data_header(kind: Packet, transaction: int, size: int) -> bytes:
    """The first 12 bytes of a data or end-data packet whose payload of `size` bytes follows by itself."""
    return HEADER.pack(HEADER.size + 4 + size, kind) + struct.pack("<I", transaction)


def _body_of(message: Message) -> tuple[Packet, bytes]:
    match message:
        case InitCommandRequest(guid, name, version):
            return Packet.INIT_COMMAND_REQUEST, guid + _name(name) + struct.pack("<I", version)
        case InitCommandAck(connection, guid, name, version):
            body = struct.pack("<I", connection) + guid + _name(name) + struct.pack("<I", version)
            return Packet.INIT_COMMAND_ACK, body
        case InitEventRequest(connection):
            return Packet.INIT_EVENT_REQUEST, struct.pack("<I", connection)
        case InitEventAck():
            return Packet.INIT_EVENT_ACK, b""
        case InitFail(reason):
            return Packet.INIT_FAIL, struct.pack("<I", reason)
        case OperationRequest(code, transaction, params, phase):
            return Packet.OPERATION_REQUEST, struct.pack("<I", phase) + _coded(code, transaction, params)
        case OperationResponse(code, transaction, params):
            return Packet.OPERATION_RESPONSE, _coded(code, transaction, params)
        case EventNotice(code, transaction, params):
            return Packet.EVENT, _coded(code, transaction, params)
        case StartData(transaction, total):
            return Packet.START_DATA, struct.pack("<IQ", transaction, total)
        case Data(transaction, payload):
            return Packet.DATA, struct.pack("<I", transaction) + payload
        case EndData(transaction, payload):
            return Packet.END_DATA, struct.pack("<I", transaction) + payload
        case Cancel(transaction):
            return Packet.CANCEL, struct.pack("<I", transaction)
        case ProbeRequest():
            return Packet.PROBE_REQUEST, b""
        case ProbeResponse():
            return Packet.PROBE_RESPONSE, b""


def _coded(code: int, transaction: int, params: tuple[int, ...]) -> bytes:
    return struct.pack(f"<HI{len(params)}I", code, transaction, *params)


def _name(name: str) -> bytes:
    return name.encode("utf-16-le") + b"\0\0"
