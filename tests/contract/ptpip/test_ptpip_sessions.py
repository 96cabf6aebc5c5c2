"""Who may connect, how a connection ends, and how the next one begins."""

from __future__ import annotations

import socket
import struct
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from tests.contract.ptpip.gphoto_user import GphotoUser

from rigd_sim.camera import wire
from rigd_sim.camera.codes import Event, FailReason, Op, Response
from rigd_sim.camera.reader import PacketReader
from rigd_sim.control.start import SimulatedCamera


class Peer:
    """A bare initiator: one TCP connection that speaks packets."""

    def __init__(self, port: str) -> None:
        self._socket = socket.create_connection(("127.0.0.1", int(port)), timeout=5)
        self._reader = PacketReader()
        self._messages: list[wire.Message] = []

    def send(self, *messages: wire.Message) -> None:
        self._socket.sendall(b"".join(map(wire.encode, messages)))

    def raw(self, data: bytes) -> None:
        self._socket.sendall(data)

    def receive(self) -> wire.Message | None:
        """The next message; None when the camera has closed the connection."""
        while not self._messages:
            try:
                data = self._socket.recv(65536)
            except ConnectionResetError:
                return None
            if not data:
                return None
            self._messages += self._reader.feed(data)
        return self._messages.pop(0)

    def close(self) -> None:
        self._socket.close()


Connect = Callable[[int], Peer]


@pytest.fixture
def connect(camera: SimulatedCamera) -> Iterator[Connect]:
    """Connects to the command port (0) or to the event port (1)."""
    with ExitStack() as stack:

        def make(which: int) -> Peer:
            peer = Peer(camera.address.split(":")[1 + which])
            stack.callback(peer.close)
            return peer

        yield make


def hello(connect: Connect, guid: bytes = b"0123456789abcdef") -> tuple[Peer, int]:
    """A command connection that is let in, and its number."""
    peer = connect(0)
    peer.send(wire.InitCommandRequest(guid, "tester"))
    answer = peer.receive()
    assert isinstance(answer, wire.InitCommandAck)
    return peer, answer.connection


def ask(peer: Peer, code: int, *params: int, transaction: int = 1) -> wire.OperationResponse:
    """One operation; its data, if any, are thrown away."""
    peer.send(wire.OperationRequest(code, transaction, params))
    while not isinstance(answer := peer.receive(), wire.OperationResponse):
        assert isinstance(answer, wire.StartData | wire.Data | wire.EndData)
    assert answer.transaction == transaction
    return answer


def test_a_killed_user_is_followed_at_once(new_user: Callable[[], GphotoUser]) -> None:
    first = new_user()
    first.do("init")
    first.do("trigger")
    first.kill()
    start = time.monotonic()
    second = new_user()
    second.do("init")
    assert time.monotonic() - start < 5
    assert second.do("get", name="iso")["value"]


def test_leaving_and_coming_back_many_times(user: GphotoUser) -> None:
    for _ in range(20):
        user.do("exit")
        user.do("init")
        assert user.seconds < 0.5
    user.shoot()


def test_a_shot_goes_on_without_its_user(
    user: GphotoUser, camera: SimulatedCamera, new_user: Callable[[], GphotoUser]
) -> None:
    user.do("set", name="shutterspeed", value="1/2")
    user.do("trigger")
    user.kill()
    second = new_user()
    second.do("init")
    seen = second.do("events", until="complete", seconds=3)
    assert [kind for kind, _ in seen] == ["file", "complete"]
    second.do("set", name="shutterspeed", value="1/125")


def test_another_initiator_is_refused_while_one_is_there(connect: Connect) -> None:
    first, _ = hello(connect)
    second = connect(0)
    second.send(wire.InitCommandRequest(b"another-initiat0", "second"))
    assert second.receive() == wire.InitFail(FailReason.BUSY)
    assert second.receive() is None
    assert ask(first, Op.GET_DEVICE_INFO).code == Response.OK


def test_a_second_program_fails_to_start(user: GphotoUser, camera: SimulatedCamera, tmp_path: Path) -> None:
    """libgphoto2 takes the refusal for a general error. Its id lies in its settings; it is drawn by the second of the
    day, so that two programs that begin together would take each other for the same one."""
    settings = tmp_path / "other" / ".gphoto" / "settings"
    settings.parent.mkdir(parents=True)
    settings.write_text("ptp2_ip=guid=" + ":".join(["5a"] * 16) + "\n")
    second = GphotoUser(camera.address, tmp_path / "other")
    try:
        assert second.failure("init").code == -1
    finally:
        second.close()
    user.shoot()


def test_the_same_initiator_anew_replaces_its_old_connection(connect: Connect) -> None:
    first, _ = hello(connect)
    second, _ = hello(connect)
    assert first.receive() is None
    assert ask(second, Op.GET_DEVICE_INFO).code == Response.OK


def test_events_need_the_number_of_the_session(connect: Connect) -> None:
    command, number = hello(connect)
    stranger = connect(1)
    stranger.send(wire.InitEventRequest(number + 1))
    assert stranger.receive() == wire.InitFail(FailReason.REJECTED_INITIATOR)
    events = connect(1)
    events.send(wire.InitEventRequest(number))
    assert events.receive() == wire.InitEventAck()
    assert ask(command, Op.OPEN_SESSION, 1).code == Response.OK


def test_probes_are_answered(connect: Connect) -> None:
    _, number = hello(connect)
    events = connect(1)
    events.send(wire.InitEventRequest(number), wire.ProbeRequest())
    assert [events.receive(), events.receive()] == [wire.InitEventAck(), wire.ProbeResponse()]


def test_events_come_over_the_event_connection(connect: Connect) -> None:
    command, number = hello(connect)
    events = connect(1)
    events.send(wire.InitEventRequest(number))
    assert events.receive() == wire.InitEventAck()
    ask(command, Op.OPEN_SESSION, 1)
    assert ask(command, Op.INITIATE_CAPTURE, transaction=7).code == Response.OK
    added, complete = events.receive(), events.receive()
    assert isinstance(added, wire.EventNotice)
    assert (added.code, added.transaction) == (Event.OBJECT_ADDED, 7)
    assert complete == wire.EventNotice(Event.CAPTURE_COMPLETE, 7)


def test_losing_either_connection_ends_the_session(connect: Connect) -> None:
    command, number = hello(connect)
    events = connect(1)
    events.send(wire.InitEventRequest(number))
    assert events.receive() == wire.InitEventAck()
    events.close()
    assert command.receive() is None
    command, number = hello(connect)
    events = connect(1)
    events.send(wire.InitEventRequest(number))
    assert events.receive() == wire.InitEventAck()
    command.close()
    assert events.receive() is None


@pytest.mark.parametrize(
    ("code", "params", "response"),
    [
        (Op.GET_STORAGE_INFO, (0x00020001,), Response.INVALID_STORAGE_ID),
        (Op.GET_OBJECT_HANDLES, (0x00020001,), Response.INVALID_STORAGE_ID),
        (Op.GET_OBJECT_HANDLES, (0xFFFFFFFF, 0, 4711), Response.INVALID_PARENT_OBJECT),
        (Op.GET_OBJECT_INFO, (4711,), Response.INVALID_OBJECT_HANDLE),
        (Op.GET_OBJECT, (4711,), Response.INVALID_OBJECT_HANDLE),
        (Op.DELETE_OBJECT, (4711,), Response.INVALID_OBJECT_HANDLE),
        (Op.GET_DEVICE_PROP_DESC, (0x5FFF,), Response.DEVICE_PROP_NOT_SUPPORTED),
        (Op.GET_STREAM, (1,), Response.ACCESS_DENIED),
        (Op.OPEN_SESSION, (1,), Response.SESSION_ALREADY_OPEN),
        (0x100F, (), Response.OPERATION_NOT_SUPPORTED),
        (0x9999, (1, 2, 3, 4, 5), Response.OPERATION_NOT_SUPPORTED),
    ],
)
def test_what_cannot_be_done_is_answered_with_its_code(
    connect: Connect, code: int, params: tuple[int, ...], response: Response
) -> None:
    peer, _ = hello(connect)
    ask(peer, Op.OPEN_SESSION, 1)
    assert ask(peer, code, *params, transaction=2).code == response


def test_nothing_but_device_info_works_without_a_session(connect: Connect) -> None:
    peer, _ = hello(connect)
    assert ask(peer, Op.GET_STORAGE_IDS).code == Response.SESSION_NOT_OPEN
    assert ask(peer, Op.OPEN_SESSION, 0).code == Response.INVALID_PARAMETER
    assert ask(peer, Op.GET_DEVICE_INFO).code == Response.OK
    assert ask(peer, Op.OPEN_SESSION, 1).code == Response.OK
    assert ask(peer, Op.CLOSE_SESSION).code == Response.OK
    assert ask(peer, Op.GET_STORAGE_IDS).code == Response.SESSION_NOT_OPEN


@pytest.mark.parametrize("garbage", [b"GET / HTTP/1.1\r\n\r\n", bytes(8), struct.pack("<II", 8, 99)])
def test_garbage_ends_that_connection_and_no_more(connect: Connect, garbage: bytes) -> None:
    peer = connect(0)
    peer.raw(garbage)
    assert peer.receive() is None
    again, _ = hello(connect)
    again.raw(garbage)
    assert again.receive() is None
    hello(connect)


def test_a_data_phase_in_pieces(connect: Connect) -> None:
    """A set whose value comes in three data packets, one byte at a time."""
    peer, _ = hello(connect)
    ask(peer, Op.OPEN_SESSION, 1)
    value = struct.pack("<I", 40)
    peer.send(
        wire.OperationRequest(Op.SET_DEVICE_PROP_VALUE, 2, (0x500D,), phase=2),
        wire.StartData(2, 4), wire.Data(2, value[:1]), wire.Data(2, value[1:2]), wire.EndData(2, value[2:]),
    )  # fmt: skip
    assert peer.receive() == wire.OperationResponse(Response.OK, 2)
    peer.send(wire.OperationRequest(Op.GET_DEVICE_PROP_VALUE, 3, (0x500D,)))
    assert [peer.receive() for _ in range(2)] == [wire.StartData(3, 4), wire.EndData(3, value)]


def test_objects_are_counted_and_sorted_by_format_and_folder(connect: Connect, camera: SimulatedCamera) -> None:
    """One picture in DCIM/100RIGSM: of three objects one is a DNG (format 0x3811), two are folders (0x3001)."""
    camera.hand.call("idle")
    camera.hand.call("change_card")
    camera.hand.call("press")
    camera.hand.call("taken", count=1)
    peer, _ = hello(connect)
    ask(peer, Op.OPEN_SESSION, 1)
    counts = [ask(peer, Op.GET_NUM_OBJECTS, *which).params for which in [
        (0xFFFFFFFF,), (0xFFFFFFFF, 0x3811), (0xFFFFFFFF, 0x3001), (0xFFFFFFFF, 0, 0xFFFFFFFF),
    ]]  # fmt: skip
    assert counts == [(3,), (1,), (2,), (1,)]
    peer.send(wire.OperationRequest(Op.GET_OBJECT_HANDLES, 2, (0xFFFFFFFF, 0x3001)))
    folders = [peer.receive() for _ in range(3)][1]
    assert isinstance(folders, wire.EndData)
    count, *handles = struct.unpack("<3I", folders.payload)
    assert count == 2
    assert [ask(peer, Op.GET_THUMB, handle).code for handle in handles] == [Response.NO_THUMBNAIL_PRESENT] * 2


def test_the_wire_log_tells_what_happened_and_when(connect: Connect, camera: SimulatedCamera) -> None:
    before = time.monotonic()
    peer, _ = hello(connect)
    ask(peer, Op.OPEN_SESSION, 1)
    ask(peer, Op.GET_STORAGE_IDS, transaction=2)
    opened, asked = camera.hand.wirelog()[-2:]
    assert (opened["code"], opened["params"], opened["sent"]) == (Op.OPEN_SESSION, [1], 0)
    assert (asked["code"], asked["sent"], asked["response"]) == (Op.GET_STORAGE_IDS, 8, Response.OK)
    times = [before, opened["start"], opened["end"], asked["start"], asked["end"], time.monotonic()]
    assert times == sorted(times)
    assert camera.hand.wirelog(since=int(str(opened["number"]))) == [asked]
