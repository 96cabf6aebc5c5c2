"""What client and worker say to each other: one tagged union each way."""

from __future__ import annotations

import msgspec
from msgspec import Struct

from rigd.drivers.camera.config import CameraConfig
from rigd.drivers.camera.readings import Facts
from rigd.model.values import CardFile, Exposure
from rigd.ports import Body, Shot


class _Message(Struct, frozen=True, tag=True):
    pass


class Open(_Message, frozen=True):
    """Open the camera. `serial` of the body that was there before, or empty: only that one will do."""

    config: CameraConfig
    serial: str = ""


class Reopen(_Message, frozen=True):
    """Leave the camera and open it again; `reset` its port in between."""

    reset: bool = False


class Apply(_Message, frozen=True):
    want: Exposure


class Shoot(_Message, frozen=True):
    expect: int


class Fetch(_Message, frozen=True):
    item: CardFile
    into: str


class ListCard(_Message, frozen=True):
    pass


class Remove(_Message, frozen=True):
    item: CardFile


class LiveOn(_Message, frozen=True):
    pass


class LivePicture(_Message, frozen=True):
    pass


class LiveOff(_Message, frozen=True):
    pass


class Survey(_Message, frozen=True):
    pass


class Close(_Message, frozen=True):
    pass


Request = Open | Reopen | Apply | Shoot | Fetch | ListCard | Remove | LiveOn | LivePicture | LiveOff | Survey | Close


class Done(_Message, frozen=True):
    pass


class Opened(_Message, frozen=True):
    body: Body


class Applied(_Message, frozen=True):
    now: Exposure


class Taken(_Message, frozen=True):
    shot: Shot


class Fetched(_Message, frozen=True):
    bytes: int


class Listed(_Message, frozen=True):
    items: tuple[CardFile, ...]


class Picture(_Message, frozen=True):
    jpeg: bytes


class Surveyed(_Message, frozen=True):
    facts: Facts


class Failed(_Message, frozen=True):
    """An error of `rigd.errors`, taken apart: its code and three sentences."""

    code: str
    what: str
    why: str = ""
    remedy: str = ""


class Stray(_Message, frozen=True):
    """Unasked: files arrived that belong to no shot."""

    files: tuple[CardFile, ...]


class Gone(_Message, frozen=True):
    """Unasked: the camera stopped answering while nothing was asked of it."""

    failure: Failed


Reply = Done | Opened | Applied | Taken | Fetched | Listed | Picture | Surveyed | Failed | Stray | Gone


class Ask(Struct, frozen=True):
    """A request under a number, from 1."""

    number: int
    request: Request


class Tell(Struct, frozen=True):
    """The reply to the request of that number; number 0 is unasked."""

    number: int
    reply: Reply


encode = msgspec.msgpack.Encoder().encode
decode_ask = msgspec.msgpack.Decoder(Ask).decode
decode_tell = msgspec.msgpack.Decoder(Tell).decode
