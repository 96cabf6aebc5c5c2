from __future__ import annotations

import typing

import pytest

from rigd.drivers.camera import messages as m
from rigd.drivers.camera.config import CameraConfig
from rigd.drivers.camera.readings import Facts, Room, Widget
from rigd.drivers.camera.supervisor import unpacked
from rigd.errors import CameraHeld, RigdError
from rigd.model.values import CardFile, Exposure
from rigd.ports import Body, Choice, Shot

FILE = CardFile("/store/DCIM", "A_0001.DNG", 5, "2026-11-24T12:00:00")
REQUESTS: list[m.Request] = [
    m.Open(CameraConfig("ptpip:127.0.0.1", widgets={"shutter": "x"}), "S1"), m.Reopen(True),
    m.Apply(Exposure(0.5, "0.5")), m.Shoot(2), m.Fetch(FILE, "folder/x"), m.ListCard(), m.Remove(FILE), m.LiveOn(),
    m.LivePicture(), m.LiveOff(),    m.Survey(), m.Close(),
]  # fmt: skip
REPLIES: list[m.Reply] = [
    m.Done(), m.Opened(Body("M", "S1", (Choice("1/60", 1 / 60),), lacks=("x",))), m.Applied(Exposure(0.5, "0.5", 8.0)),
    m.Taken(Shot((FILE,), 0.5, (FILE,))), m.Fetched(5), m.Listed((FILE,)), m.Picture(b"\xff\xd8\x00"),
    m.Surveyed(Facts("M", "S1", "usb:001,002", {"iso": Widget("iso", "ISO", "100")}, (Room("card", 5, None),))),
    m.Failed("camera-held", "a", "b", "c"), m.Stray((FILE,)), m.Gone(m.Failed("camera-lost", "a")),
]  # fmt: skip


@pytest.mark.parametrize("request_", REQUESTS, ids=lambda r: type(r).__name__)
def test_requests_survive_the_wire(request_: m.Request) -> None:
    assert m.decode_ask(m.encode(m.Ask(7, request_))) == m.Ask(7, request_)


@pytest.mark.parametrize("reply", REPLIES, ids=lambda r: type(r).__name__)
def test_replies_survive_the_wire(reply: m.Reply) -> None:
    assert m.decode_tell(m.encode(m.Tell(7, reply))) == m.Tell(7, reply)


def test_every_message_is_among_the_samples() -> None:
    assert {type(r) for r in REQUESTS} == set(typing.get_args(m.Request))
    assert {type(r) for r in REPLIES} == set(typing.get_args(m.Reply))


def test_an_error_comes_out_as_what_it_was() -> None:
    error = unpacked(m.Failed("camera-held", "what", "why", "remedy"))
    assert type(error) is CameraHeld
    assert (error.what, error.why, error.remedy) == ("what", "why", "remedy")
    assert type(unpacked(m.Failed("of a newer version", "what"))) is RigdError
