"""`rigd bench` in a terminal, on files of a simulated rig."""

from __future__ import annotations

import json
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from rigd.commands import cli
from rigd_sim.rawfile import ShotMeta, encode_dng


@pytest.fixture
def shoot(tmp_path):
    """Write a take of a rig to a file."""
    count = [0]

    def to_file(rig, seconds: float) -> str:
        count[0] += 1
        path: Path = tmp_path / f"{count[0]}.dng"
        raw = rig.take(seconds)
        meta = ShotMeta(Fraction(seconds).limit_denominator(10_000), 8.0, 100, datetime(2026, 3, 1, 12), "RS0000001")
        path.write_bytes(encode_dng(raw.mosaic, meta, rig.scene.preview(rig.now[0], 640), "none"))
        return str(path)

    return to_file


def ran(*words: str, code: int = 0) -> dict:
    done = CliRunner().invoke(cli, ["bench", *words, "--json"])
    assert done.exit_code == code, done.output
    return json.loads(done.stdout)


def test_evenness_says_kept_or_not(a_rig, shoot):
    with a_rig(falloff=0.3, stray=0.0) as rig:
        poor = ran("even", shoot(rig, 1 / 100), code=1)
    assert poor["passed"] == "no"
    assert poor["advice"]
    with a_rig(falloff=0.01, stray=0.0) as rig:
        assert ran("even", shoot(rig, 1 / 100))["passed"] == "yes"


def test_flicker_tells_frequency_and_safe_times(a_rig, shoot):
    with a_rig(flicker_hz=100.0, flicker_depth=0.1, readout_ms=40.0) as rig:
        found = ran("flicker", shoot(rig, 1 / 400), "--readout-ms", "40", code=1)
    figures = {one["what"]: one["value"] for one in found["others"]}
    assert figures["ripple"] == pytest.approx(100.0, rel=0.01)
    assert "1/50 s" in found["advice"]  # two whole ripples
    with a_rig() as rig:
        steady = ran("flicker", shoot(rig, 1 / 100), "--readout-ms", "40")
    assert "ripple" not in {one["what"] for one in steady["others"]}


def test_stray_light_is_compared_with_the_lamp(a_rig, shoot):
    with a_rig(room=0.02, falloff=0.0) as rig:
        gate = shoot(rig, 1 / 100)
        rig.scene.lamp(False)
        found = ran("stray", shoot(rig, 1.0), "--gate", gate, code=1)
    assert found["figure"]["value"] == pytest.approx(2.0, rel=0.1)


def test_noise_finds_its_pairs(a_rig, shoot):
    with a_rig(falloff=0.0, stray=0.0) as rig:
        files = [shoot(rig, t) for t in (1 / 4000, 1 / 1000, 1 / 250, 1 / 60) for _ in range(2)]
        found = ran("noise", *files)
        single = CliRunner().invoke(cli, ["bench", "noise", files[0]])
    assert found["figure"]["unit"] == "D"
    assert single.exit_code == 1
    assert "no pairs" in single.output


def test_aperture_and_words_for_people():
    assert ran("aperture", "--magnification", "1", "--pitch-um", "6.35")["best"] == 8
    said = CliRunner().invoke(cli, ["bench", "aperture", "--magnification", "0", "--pitch-um", "6"])
    assert said.exit_code == 1
    assert "do:" in said.output


def test_a_file_that_is_none_gets_a_word(tmp_path):
    said = CliRunner().invoke(cli, ["bench", "even", str(tmp_path / "none.dng")])
    assert said.exit_code == 1
    assert "There is no picture file" in said.output
