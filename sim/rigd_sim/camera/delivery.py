"""Sending a reply: the data phase in packets, then the response; with the faults of the line."""

from __future__ import annotations

from rigd_sim.camera import wire
from rigd_sim.camera.codes import Packet
from rigd_sim.camera.faults import Fault
from rigd_sim.camera.holds import Stalls
from rigd_sim.camera.link import JUNK, Link
from rigd_sim.camera.operations import Reply

BLOCK = 1 << 20  # payload bytes a packet


class Unanswered(Exception):
    """The operation gets no further bytes; the connection stays."""


async def deliver(link: Link, stalls: Stalls, transaction: int, reply: Reply, fault: Fault | None) -> int:
    """Send the reply and return the payload bytes sent. Raises OSError, ConnectionAbortedError, Unanswered."""
    sent = 0
    if reply.data is not None:
        data = _spoiled(memoryview(reply.data), fault)
        await link.send_message(wire.StartData(transaction, len(data)))
        await _send_data(link, stalls, transaction, data, fault)
        sent = len(data)
    elif fault is not None:
        await _strike(link, stalls, fault)
    await link.send_message(wire.OperationResponse(int(reply.code), transaction, reply.params))
    return sent


async def _send_data(link: Link, stalls: Stalls, transaction: int, data: memoryview, fault: Fault | None) -> None:
    start = 0
    if fault is not None:
        start = min(fault.after_bytes or 0, len(data))
        await _send_blocks(link, transaction, data[:start], last=False)
        await _strike(link, stalls, fault)
    await _send_blocks(link, transaction, data[start:], last=True)


async def _send_blocks(link: Link, transaction: int, data: memoryview, last: bool) -> None:
    """All of data in packets; with `last` the final one, even if empty, ends the data phase."""
    for start in range(0, len(data), BLOCK) or ([0] if last else []):
        block = data[start : start + BLOCK]
        ends = last and start + BLOCK >= len(data)
        kind = Packet.END_DATA if ends else Packet.DATA
        await link.send(wire.data_header(kind, transaction, len(block)))
        await link.send(block)


async def _strike(link: Link, stalls: Stalls, fault: Fault) -> None:
    match fault.kind:
        case "drop":
            raise ConnectionAbortedError
        case "garble":
            await link.send(JUNK)
            raise Unanswered
        case "stall":
            await stalls.wait(fault.seconds)


def _spoiled(data: memoryview, fault: Fault | None) -> memoryview:
    """The payload as the line delivers it: cut short at, or with one byte changed at, after_bytes."""
    if fault is None or fault.after_bytes is None:
        return data
    at = fault.after_bytes
    if fault.kind == "short_transfer":
        return data[:at]
    if fault.kind == "corrupt_byte" and at < len(data):
        copy = bytearray(data)
        copy[at] ^= 0xFF
        return memoryview(copy)
    return data
