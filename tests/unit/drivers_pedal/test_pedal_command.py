"""`rigd pedal` from the press to the lines of the settings file, on recorded kernel records (no input device here)."""

from __future__ import annotations

import json
import os
import struct
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from rigd.commands import cli
from rigd.config import load_settings

KEY_C = 46


@pytest.fixture
def footswitch(tmp_path: Path) -> Iterator[Path]:
    """A device whose key has just gone down: the record waits in the kernel's queue when the command opens it."""
    path = tmp_path / "usb-Footswitch-event-kbd"
    os.mkfifo(path)
    end = os.open(path, os.O_RDWR | os.O_NONBLOCK)
    os.write(end, struct.pack("llHHi", 100, 0, 1, KEY_C, 1) + struct.pack("llHHi", 100, 0, 0, 0, 0))
    yield path
    os.close(end)


def test_what_was_pressed_becomes_settings(footswitch: Path, tmp_path: Path) -> None:
    done = CliRunner().invoke(cli, ["pedal", "--device", str(footswitch), "--json"])
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert (told["device"], told["key"]) == (str(footswitch), KEY_C)
    config = tmp_path / "rigd.toml"
    config.write_text(told["settings"], "utf-8")
    section = load_settings(config).pedal
    assert (section.device, section.key) == (str(footswitch), KEY_C)
    assert (section.short, section.long, section.double) == ("trigger", "choose", "retake")


def test_a_device_that_is_not_there_is_told_with_a_remedy(tmp_path: Path) -> None:
    done = CliRunner().invoke(cli, ["pedal", "--device", str(tmp_path / "none")])
    assert done.exit_code == 1
    assert "No such file" in done.stderr
    assert "rigd pedal" in done.stderr
