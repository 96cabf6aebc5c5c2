"""The operations of PTP that the body knows: a request and its data to a reply."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from rigd_sim.camera import pack
from rigd_sim.camera.body import Body
from rigd_sim.camera.card import STORAGE, NoSuchObject
from rigd_sim.camera.codes import ALL, Op, Response
from rigd_sim.camera.faults import Part
from rigd_sim.camera.settings import Refused


@dataclass(frozen=True)
class Request:
    """params: up to five. data: what the initiator sent along."""

    code: int
    transaction: int
    params: tuple[int, ...] = ()
    data: bytes = b""

    def param(self, place: int) -> int:
        """The parameter at that place from 0; 0 where it was not sent."""
        return self.params[place] if place < len(self.params) else 0


@dataclass(frozen=True)
class Reply:
    """data None: the operation has no data phase."""

    code: Response | int = Response.OK
    params: tuple[int, ...] = ()
    data: bytes | memoryview | None = None


Handler = Callable[[Body, Request], "Reply | Awaitable[Reply]"]


def _get_device_info(body: Body, request: Request) -> Reply:
    return Reply(data=body.device_info(OPERATIONS).encode())


def _get_storage_ids(body: Body, request: Request) -> Reply:
    return Reply(data=pack.array32([STORAGE]))


def _get_storage_info(body: Body, request: Request) -> Reply:
    if request.param(0) != STORAGE:
        return Reply(Response.INVALID_STORAGE_ID)
    return Reply(data=body.card.storage_info(body.spec.picture_bytes).encode())


def _handles(body: Body, request: Request) -> list[int] | Response:
    storage, format_code, parent = map(request.param, range(3))
    if storage not in (STORAGE, ALL):
        return Response.INVALID_STORAGE_ID
    try:
        handles = body.card.handles(parent)
    except NoSuchObject:
        return Response.INVALID_PARENT_OBJECT
    return [handle for handle in handles if format_code in (0, body.card.info(handle).format)]


def _get_num_objects(body: Body, request: Request) -> Reply:
    handles = _handles(body, request)
    return Reply(handles) if isinstance(handles, Response) else Reply(params=(len(handles),))


def _get_object_handles(body: Body, request: Request) -> Reply:
    handles = _handles(body, request)
    return Reply(handles) if isinstance(handles, Response) else Reply(data=pack.array32(handles))


def _get_object_info(body: Body, request: Request) -> Reply:
    return Reply(data=body.card.info(request.param(0)).encode())


def _get_object(body: Body, request: Request) -> Reply:
    return Reply(data=body.card.data(request.param(0)))


def _get_partial_object(body: Body, request: Request) -> Reply:
    handle, offset, length = map(request.param, range(3))
    data = body.card.data(handle)
    if offset > len(data):
        return Reply(Response.INVALID_PARAMETER)
    part = data[offset : offset + length]
    return Reply(params=(len(part),), data=part)


def _get_thumb(body: Body, request: Request) -> Reply:
    thumb = body.card.thumb(request.param(0))
    return Reply(Response.NO_THUMBNAIL_PRESENT) if thumb is None else Reply(data=thumb)


def _delete_object(body: Body, request: Request) -> Reply:
    handle = request.param(0)
    if handle == ALL:
        return Reply(Response.SPECIFICATION_BY_FORMAT_UNSUPPORTED)
    body.card.delete(handle)
    return Reply()


def _initiate_capture(body: Body, request: Request) -> Reply:
    return Reply(body.shutter.press(request.transaction))


def _get_device_prop_desc(body: Body, request: Request) -> Reply:
    return Reply(data=body.settings.describe(request.param(0)).encode())


def _get_device_prop_value(body: Body, request: Request) -> Reply:
    described = body.settings.describe(request.param(0))
    return Reply(data=pack.value(described.kind, described.current))


def _set_device_prop_value(body: Body, request: Request) -> Reply:
    body.settings.write(request.param(0), request.data)
    return Reply()


def _get_stream_info(body: Body, request: Request) -> Reply:
    return Reply(data=body.stream.info.encode())


async def _get_stream(body: Body, request: Request) -> Reply:
    if not body.stream.enabled:
        return Reply(Response.ACCESS_DENIED)
    return Reply(data=await body.stream.frame())


OPERATIONS: dict[int, Handler] = {
    Op.GET_DEVICE_INFO: _get_device_info,
    Op.OPEN_SESSION: lambda body, request: Reply(),  # the session itself is the connection's affair
    Op.CLOSE_SESSION: lambda body, request: Reply(),
    Op.GET_STORAGE_IDS: _get_storage_ids,
    Op.GET_STORAGE_INFO: _get_storage_info,
    Op.GET_NUM_OBJECTS: _get_num_objects,
    Op.GET_OBJECT_HANDLES: _get_object_handles,
    Op.GET_OBJECT_INFO: _get_object_info,
    Op.GET_OBJECT: _get_object,
    Op.GET_THUMB: _get_thumb,
    Op.DELETE_OBJECT: _delete_object,
    Op.INITIATE_CAPTURE: _initiate_capture,
    Op.GET_DEVICE_PROP_DESC: _get_device_prop_desc,
    Op.GET_DEVICE_PROP_VALUE: _get_device_prop_value,
    Op.SET_DEVICE_PROP_VALUE: _set_device_prop_value,
    Op.GET_PARTIAL_OBJECT: _get_partial_object,
    Op.GET_STREAM_INFO: _get_stream_info,
    Op.GET_STREAM: _get_stream,
}


def part_carried(body: Body, request: Request) -> Part | None:
    """Which bytes of which object a download asks for; None if the operation is no download, or of no object."""
    try:
        if request.code == Op.GET_OBJECT:
            size = len(body.card.data(request.param(0)))
            return Part(0, size, size)
        if request.code == Op.GET_PARTIAL_OBJECT:
            handle, offset, length = map(request.param, range(3))
            size = len(body.card.data(handle))
            return Part(offset, min(offset + length, size), size)
    except NoSuchObject:
        pass
    return None


async def perform(body: Body, request: Request) -> Reply:
    """Carry one operation out. Every failure is a reply."""
    handler = OPERATIONS.get(request.code)
    if handler is None or request.code in body.unsupported:
        return Reply(Response.OPERATION_NOT_SUPPORTED)
    try:
        reply = handler(body, request)
        return reply if isinstance(reply, Reply) else await reply
    except NoSuchObject:
        return Reply(Response.INVALID_OBJECT_HANDLE)
    except Refused as refused:
        return Reply(refused.code)
