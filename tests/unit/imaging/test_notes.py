"""Dirt in the gate, rings under glass and fog on a part of a picture are said, with their place; film with its usual
dust is not accused. Truth: the scene, which is told where dirt lies."""

from __future__ import annotations

from math import log2

import numpy as np
import pytest

from rigd.imaging import Asked, Raw, judge, open_gate
from rigd.model.values import Exposure
from rigd.model.words import Colour, Film, Quality, Tone
from rigd_sim.scene import FrameSpec, Scene, SceneSpec


def sky() -> np.ndarray:
    y, x = np.mgrid[0:1:300j, 0:1:300j]
    return 0.15 + 0.2 * y + 0.05 * np.sin(6 * x)


def judged(number: int, first: FrameSpec, rig: dict[str, float] | None = None, name: str = "135"):
    overrides = ((1, first), (2, FrameSpec("unexposed")))
    spec = SceneSpec(2, name, seed=40 + number, frames=4, strip=4, script="plain", overrides=overrides)
    with Scene(spec, lambda: 60.0) as scene:
        lamp = open_gate(raw_of(scene.expose(60.0, 1 / 2000, 8.0, 100), 1 / 2000), Exposure(1 / 2000, ""))
        scene.adjust(**(rig or {}))
        scene.lay(1, scene.strips[0].frames[0].centre)
        seconds = scene.right_seconds(scene.strips[0].frames[0]) * 0.9
        raw = raw_of(scene.expose(60.0, seconds, 8.0, 100), seconds)
        asked = Asked(
            name, Tone.NEGATIVE, Colour.MONO, Exposure(seconds, ""), scene.optics.px_per_mm, lamp
        )  # fmt: skip
        return judge(raw, asked).verdict


def raw_of(mosaic: np.ndarray, seconds: float) -> Raw:
    return Raw(mosaic, (0, 1, 1, 2), (512.0,) * 4, 16383.0, False, seconds, 8.0, 100.0, None)


@pytest.mark.parametrize("number", range(4))
def test_a_hair_in_the_gate_is_said_with_its_place(number):
    found = judged(number, FrameSpec(), {"gate_hair_mm": 6.0})
    assert found.numbers["hair_mm"] == pytest.approx(6.0, rel=0.35)
    # It reaches in from the lower edge.
    assert "hair" in found.why
    assert "lower" in found.why
    assert found.take in (Quality.GOOD, Quality.EXCEEDS)


@pytest.mark.parametrize("number", range(4))
def test_a_large_speck_is_said(number):
    found = judged(number, FrameSpec(), {"gate_speck_mm": 1.0})
    assert found.numbers["speck_mm"] == pytest.approx(1.0, rel=0.35)


@pytest.mark.parametrize("number", range(6))
def test_usual_dust_is_not_accused(number):
    assert "hair_mm" not in judged(number, FrameSpec()).numbers


def test_interference_rings_are_warned_of():
    assert judged(1, FrameSpec(picture=sky(), rings=0.1)).numbers.get("rings") == 1.0
    assert "rings" not in judged(1, FrameSpec(picture=sky())).numbers


@pytest.mark.parametrize("number", range(3))
def test_a_partly_fogged_picture_is_a_picture_with_a_note(number):
    found = judged(number, FrameSpec(fog=1.0, fog_share=0.4), name="120-6x6")
    assert found.film is Film.PICTURE
    if "sides" in found.numbers and found.numbers["sides"] >= 4:
        assert "struck a part" in found.why
    clean = judged(number, FrameSpec(), name="120-6x6")
    assert "struck a part" not in clean.why


def test_levels_of_the_lamp_are_in_stops():
    """The helper's own scale: the lamp fills 1.45 of green at 1/30 s (the scene's constant, told by its docstring)."""
    spec = SceneSpec(2, "135", frames=1, script="plain")
    with Scene(spec, lambda: 60.0) as scene:
        lamp = open_gate(raw_of(scene.expose(60.0, 1 / 2000, 8.0, 100), 1 / 2000), Exposure(1 / 2000, ""))
    assert lamp is not None
    assert lamp[1] - log2(30) * 1.0 == pytest.approx(log2(1.45), abs=0.05)
