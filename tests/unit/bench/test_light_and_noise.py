"""Evenness, stray light, flicker and noise, recovered from simulated takes whose truth is known.

Tolerances are those the bench promises: non-uniformity 0.3 % absolute, stray light a tenth of itself, flicker 1 %, read
noise 5 %.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rigd.bench import evenness, flicker, noise, stray
from rigd.errors import InputError
from rigd.imaging import open_gate
from rigd.model.values import Exposure
from rigd_sim.scene.lamp import falloff
from rigd_sim.scene.sensor import CFA, FULL_WELL, READ_NOISE, WHITE

LIT = 1 / 100  # the bare lamp fills green to 1.45 at 1/30 s: 0.435 at this time


def truth(rig, corner: float, seen: np.ndarray) -> np.ndarray:
    """The scene's own light at each place that was measured (h, w), of the brightest; not a number elsewhere."""
    width, height = rig.scene.spec.sensor
    light = falloff(height, width, corner)[:, None] * falloff(width, height, corner)[None, :]
    step = width // seen.shape[1]
    rows, columns = (n * step for n in seen.shape)
    cells = light[:rows, :columns].reshape(seen.shape[0], step, seen.shape[1], step).mean(axis=(1, 3))
    cells = np.where(np.isfinite(seen), cells, np.nan)
    return cells / np.nanmax(cells)


@pytest.mark.parametrize("corner", [0.0, 0.05, 0.2, 0.4])
def test_the_fall_off_is_found_again(a_rig, corner):
    with a_rig(falloff=corner, stray=0.0, film_format="120-6x9") as rig:
        found = evenness.light([rig.take(LIT) for _ in range(3)])
        light = truth(rig, corner, found.map[:, :, 1])
    assert np.nanmax(np.abs(found.map[:, :, 1] - light)) < 0.003
    assert found.lacks_pct == pytest.approx([100 * (1 - np.nanmin(light))] * 3, abs=0.3)
    verdict = evenness.finding(found)
    assert (verdict.passed == "yes") == (max(found.lacks_pct) <= 3.0)
    assert "FADGI 2016" in verdict.grade


def test_something_in_the_gate_is_no_evenness(a_rig):
    with a_rig(film_format="120-6x6") as rig:
        rig.scene.lay(1)
        with pytest.raises(InputError, match="Something lies in the gate"):
            evenness.light([rig.take(LIT)])


@pytest.mark.parametrize(("seconds", "said"), [(1 / 5, "saturated"), (1 / 8000, "No light")])
def test_a_take_that_tells_nothing_is_refused(a_rig, seconds, said):
    with a_rig() as rig, pytest.raises(InputError, match=said):
        evenness.light([rig.take(seconds)])


def test_lamp_and_lens_are_told_apart():
    ys, xs = np.mgrid[0:100, 0:150]
    lens = 1 - 0.1 * ((xs - 74.5) ** 2 + (ys - 49.5) ** 2) / (75**2 + 50**2)
    lamp = 1 - 0.06 * (xs / 149)
    both = [lens * one / (lens * one).max() for one in (lamp, lamp[:, ::-1])]
    maps = [np.repeat(one[:, :, None], 3, 2).astype(np.float32) for one in both]
    straight, turned = (evenness.Light(one, (0.0,) * 3, (0.0,) * 3, 0.0) for one in maps)
    moved, stayed = evenness.turned(straight, turned)
    assert moved.value == pytest.approx(6.0, abs=0.3)
    assert stayed.value == pytest.approx(100 * (1 - 0.9 * math.sqrt(0.94) / math.sqrt(0.94)), abs=0.4)


@pytest.mark.parametrize("room", [0.0005, 0.002, 0.01])
def test_the_room_s_light_is_found_to_a_tenth_of_itself(a_rig, room):
    with a_rig(room=room, falloff=0.0, stray=0.0) as rig:
        lamp = open_gate(rig.take(LIT), Exposure(LIT, ""))
        assert lamp is not None
        rig.scene.lamp(False)
        found = stray.room_light(rig.take(1.0), lamp)
    # The scene gives the room's light as a share of the bare lamp in green.
    assert found.share_pct == pytest.approx(100 * room, rel=0.1)
    assert found.uncertainty < 0.1 * found.share_pct


def test_what_stray_light_does_to_density():
    # -log10(10^-2 + 0.005) against 2: by hand 0.176; less what the base itself gains.
    assert stray.lost_density(2.0, 0.005) == pytest.approx(2 + math.log10(0.015 / 1.005), abs=1e-9)
    assert stray.lost_density(2.0, 0.0) == 0.0


def test_a_lamp_that_is_on_is_no_stray_light(a_rig):
    with a_rig() as rig:
        lamp = open_gate(rig.take(LIT), Exposure(LIT, ""))
        with pytest.raises(InputError, match="no stray light"):
            stray.room_light(rig.take(LIT), lamp)


@pytest.mark.parametrize(("hertz", "readout_ms"), [(100.0, 30.0), (120.0, 40.0), (100.0, 90.0), (397.0, 20.0)])
def test_the_ripple_s_frequency_and_depth_are_found_in_the_bands(a_rig, hertz, readout_ms):
    with a_rig(flicker_hz=hertz, flicker_depth=0.08, readout_ms=readout_ms, falloff=0.05, film_format="120-6x6") as rig:
        seconds = 1 / 400
        found = flicker.bands(rig.take(seconds))
    assert flicker.frequency(found, readout_ms / 1000) == pytest.approx(hertz, rel=0.01)
    if hertz * seconds < 0.6:
        assert flicker.depth_of_ripple(found, hertz, seconds) == pytest.approx(0.08, rel=0.1)


def test_a_steady_lamp_shows_no_bands(a_rig):
    with a_rig() as rig:
        found = flicker.bands(rig.take(LIT))
    assert found.depth_pct < 0.2
    assert flicker.finding(found, ()).passed == "yes"


def test_safe_times_are_whole_ripples():
    # |sinc(f t)| is nought where f t is a whole number: 1/50 and 1/100 s at 100 Hz, 1/60 s at 120 Hz.
    times = [1 / 30, 1 / 50, 1 / 60, 1 / 100, 1 / 125, 1 / 250]
    assert flicker.safe_times(times, 100.0, 0.3) == [1 / 50, 1 / 100]
    assert flicker.safe_times(times, 120.0, 0.3) == [1 / 30, 1 / 60]


def test_variation_needs_three():
    with pytest.raises(InputError, match="Three like takes"):
        flicker.variation([1.0, 1.0])
    assert flicker.variation([0.99, 1.0, 1.01]) == pytest.approx(1.0)


def test_the_sensor_s_noise_and_range_are_found_again(a_rig):
    # The darkest pairs, far under the lamp, decide the read noise.
    times = [1 / 8000, 1 / 4000, 1 / 2000, 1 / 1000, 1 / 500, 1 / 250, 1 / 125, 1 / 60]
    with a_rig(falloff=0.0, stray=0.0) as rig:
        dark = [rig.scene.lamp(True, 0.001), noise.pair(rig.take(1 / 500), rig.take(1 / 500))][1]
        rig.scene.lamp(True)
        pairs = [noise.pair(rig.take(t), rig.take(t)) for t in times]
    found = noise.measure([dark, *pairs], 512.0, float(WHITE))
    assert found.read_noise == pytest.approx(READ_NOISE, rel=0.05)
    assert found.full_well == pytest.approx(FULL_WELL, rel=0.02)
    assert found.stops == pytest.approx(math.log2(FULL_WELL / ((1 + math.sqrt(1 + 4 * READ_NOISE**2)) / 2)), abs=0.1)
    assert noise.measure(pairs, 512.0, float(WHITE)).linearity_pct < 1.0
    assert max(abs(true / nominal - 1) for nominal, true in noise.measure(pairs, 512.0, float(WHITE)).times) < 0.01


def test_pairs_that_are_not_alike_are_refused(a_rig):
    with a_rig() as rig, pytest.raises(InputError, match="not alike"):
        noise.pair(rig.take(1 / 60), rig.take(1 / 30))
    with pytest.raises(InputError, match="Four pairs"):
        noise.measure([], 512.0, 16383.0)


def test_channels_have_the_lamp_s_own_balance(a_rig):
    with a_rig(falloff=0.0) as rig:
        level = open_gate(rig.take(LIT), Exposure(LIT, ""))
    assert level is not None
    assert np.exp2(np.array(level)) / 2 ** level[1] == pytest.approx(CFA, rel=0.01)
