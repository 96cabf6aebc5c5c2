"""The table of CAMERA-FACTS section 3: which code is which error."""

from __future__ import annotations

import pytest

from rigd.drivers.camera.faults import RULES, Fault, is_busy, may_pass, needs_probe, translate, worker_ended
from rigd.errors import CameraError, CameraHeld, CameraLacks, CameraLost, CameraMissing, CameraRefused, CardFull

TABLE: list[tuple[tuple[int, ...], type[CameraError]]] = [
    ((-110,), CameraRefused),
    ((-1, -113), CameraRefused),
    ((-7, -10, -34, -35), CameraLost),
    ((-4, -52, -105), CameraMissing),
    ((-53,), CameraHeld),
    ((-2, -6), CameraLacks),
    ((-3, -115), CardFull),
]


@pytest.mark.parametrize(("code", "kind"), [(code, kind) for codes, kind in TABLE for code in codes])
def test_code(code: int, kind: type[CameraError]) -> None:
    error = translate(Fault("taking the picture", code), "library's words")
    assert type(error) is kind
    assert "taking the picture" in error.why
    assert "library's words" in error.why
    assert str(code) in error.why
    assert error.remedy


def test_an_unknown_code_is_shown_and_not_guessed_at() -> None:
    error = translate(Fault("taking the picture", -99, ("Strange thing",)))
    assert type(error) is CameraRefused
    assert "Strange thing" in error.why
    assert -99 not in RULES


@pytest.mark.parametrize("code", [-1, -2, -7, -10, -34, -35, -102])
def test_while_connecting_a_dead_link_means_that_nobody_is_there(code: int) -> None:
    assert type(translate(Fault("connecting", code, stage="open"))) is CameraMissing


@pytest.mark.parametrize("code", [-1, -2])
def test_a_vague_code_is_told_apart_by_whether_the_camera_still_answers(code: int) -> None:
    fault = Fault("taking the picture", code)
    assert needs_probe(fault)
    assert type(translate(Fault("taking the picture", code, alive=False))) is CameraLost
    assert type(translate(Fault("taking the picture", code, alive=True))) is not CameraLost


def test_a_vague_code_is_told_apart_by_the_words_for_the_ptp_response() -> None:
    """Any failed set gives -2; the response code is only in the text (CAMERA-FACTS section 2)."""
    noise = "Property 'iso' not found."
    busy = Fault("setting iso", -2, ("The property 'ISO' / 0x500f was not set (0x2019: PTP Device Busy)", noise), True)
    assert is_busy(busy)
    assert type(translate(busy)) is CameraRefused
    assert noise not in translate(busy).why
    assert type(translate(Fault("setting iso", -2, ("PTP Access Denied",), alive=True))) is CameraRefused
    assert type(translate(Fault("taking", -1, ("PTP Store Full",), alive=True))) is CardFull
    assert type(translate(Fault("taking", -2, ("PTP Timeout",)))) is CameraLost
    assert type(translate(Fault("taking", -1, ("(null)",), alive=True))) is CameraLost


def test_a_setting_that_does_not_show_is_busy_and_a_copy_that_fails_is_not_trusted() -> None:
    unread = Fault("reading iso", -2, stage="read")
    assert may_pass(unread)
    assert type(translate(Fault("reading iso", -2, alive=True, stage="read"))) is CameraRefused
    assert type(translate(Fault("reading iso", -2, alive=False, stage="read"))) is CameraLost
    assert not may_pass(Fault("reading iso", -7, stage="read"))
    assert type(translate(Fault("fetching", -1, ("PTP General Error",), True, "copy"))) is CameraLost


def test_the_program_that_holds_the_camera_is_named() -> None:
    error = translate(Fault("connecting", -53, stage="open"), held_by="a-volume-monitor (process 12)")
    assert type(error) is CameraHeld
    assert "a-volume-monitor (process 12)" in error.why
    assert translate(Fault("connecting", -53)).remedy == error.remedy


def test_the_end_of_the_worker_is_told_with_its_signal() -> None:
    assert "SIGKILL" in worker_ended("taking a picture", -9).why
    assert "status 1" in worker_ended("taking a picture", 1).why
