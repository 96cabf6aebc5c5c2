from __future__ import annotations

import pytest

from rigd.drivers.camera.advice import ENOUGH_BATTERY_PCT, ENOUGH_FRAMES, _clock, advise, surveyed, unfound
from rigd.drivers.camera.readings import Facts, Room, Widget
from rigd.errors import CameraMissing


def facts(**settings: str) -> Facts:
    widgets = {role: Widget(f"w-{role}", role, value, (), True) for role, value in settings.items()}
    return Facts("M", "S", "usb:001,002", widgets)


def status(topic: str, given: Facts) -> str | None:
    return next((line.status for line in advise(given) if line.topic == topic), None)


@pytest.mark.parametrize(
    ("topic", "role", "value", "expected"),
    [
        ("manual exposure", "mode", "M", "ok"),
        ("manual exposure", "mode", "Manual", "ok"),
        ("manual exposure", "mode", "A", "attend"),
        ("manual exposure", "mode", "Movie", "attend"),
        ("manual focus", "focus", "Manual", "ok"),
        ("manual focus", "focus", "MF (fixed)", "ok"),
        ("manual focus", "focus", "AF-S", "attend"),
        ("automatic sensitivity", "auto_iso", "Off", "ok"),
        ("automatic sensitivity", "auto_iso", "On", "attend"),
        ("stabiliser", "stabiliser", "Off", "ok"),
        ("stabiliser", "stabiliser", "On", "attend"),
        ("self-timer", "drive", "Single Shot", "ok"),
        ("self-timer", "drive", "Timer 2 sec", "attend"),
        ("self-timer", "drive", "Selftimer 10s", "attend"),
        ("long-exposure noise reduction", "long_exposure_noise", "Off", "ok"),
        ("long-exposure noise reduction", "long_exposure_noise", "1", "attend"),
        ("mirror lock-up", "mirror", "On", "attend"),
        ("sleep", "sleep", "0", "ok"),
        ("sleep", "sleep", "30 seconds", "attend"),
        ("place for pictures", "target", "Memory card", "ok"),
        ("place for pictures", "target", "Internal RAM", "attend"),
    ],
)
def test_settings(topic: str, role: str, value: str, expected: str) -> None:
    assert status(topic, facts(**{role: value})) == expected


def test_what_cannot_be_read_is_unknown_and_asked_for() -> None:
    unknown = {line.topic: line.say for line in advise(facts()) if line.status == "unknown"}
    assert {
        "manual exposure", "manual focus", "stabiliser", "self-timer", "long-exposure noise reduction", "raw format",
        "sleep", "battery", "card room", "clock",
    } == set(unknown)  # fmt: skip
    assert all(unknown.values())
    assert not [line for line in advise(facts()) if line.status == "ok"]


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ({"format": "RAW", "compression": "Uncompressed"}, "ok"),
        ({"format": "NEF (Raw)", "compression": "Lossless"}, "ok"),
        ({"format": "RAW", "compression": "Compressed"}, "attend"),
        ({"format": "RAW"}, "unknown"),
        ({"format": "JPEG Fine"}, "attend"),
        ({"format": "JPEG Fine", "compression": "Lossless"}, "attend"),
        ({}, "unknown"),
    ],
)
def test_raw_format(settings: dict[str, str], expected: str) -> None:
    assert status("raw format", facts(**settings)) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [(f"{ENOUGH_BATTERY_PCT}%", "ok"), (f"{ENOUGH_BATTERY_PCT - 1}%", "attend"), ("Low", "unknown")],
)
def test_battery(value: str, expected: str) -> None:
    assert status("battery", facts(battery=value)) == expected


def test_card_room_counts_frames_by_the_cameras_estimate_or_by_its_largest_file() -> None:
    def room(free_frames: int | None, largest: int | None) -> str | None:
        return status("card room", Facts("M", "S", "p", {}, (Room("card", 1_000_000, free_frames),), largest))

    assert room(ENOUGH_FRAMES, None) == "ok"
    assert room(ENOUGH_FRAMES - 1, None) == "attend"
    assert room(None, 1_000_000 // ENOUGH_FRAMES) == "ok"
    assert room(None, 10_000) == "attend"
    assert room(None, None) == "unknown"


def test_the_clock_is_compared_with_local_time() -> None:
    """The offset is against UTC: a camera set to the local time of UTC+2 is 7200 s ahead of it."""
    right = Facts("M", "S", "p", {}, clock_offset_s=7203.0)
    assert _clock(right, lambda: 7200).status == "ok"
    assert _clock(right, lambda: 0).status == "attend"
    assert _clock(right, lambda: 0).found == "7203 s ahead"


def test_the_survey_has_a_line_for_each_role_and_says_what_was_wrong_where_nothing_was_found() -> None:
    seen = surveyed("ptpip:127.0.0.1", facts(iso="100"))
    lines = {line.role: line for line in seen.roles}
    assert (lines["iso"].widget, lines["iso"].value, lines["iso"].readable, lines["iso"].writable) == (
        "w-iso", "100", True, True,
    )  # fmt: skip
    assert not lines["shutter"].widget
    missing = unfound("ptpip:127.0.0.1", CameraMissing("what", "why", "remedy"))
    assert not missing.found
    assert missing.problem == ("what", "why", "remedy")
