"""The scales of the settings, and what a set may do to them."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import log2

import pytest

from rigd_sim.camera import pack
from rigd_sim.camera.codes import DataType, Prop, Response
from rigd_sim.camera.scales import APERTURE, ISO, SHUTTER
from rigd_sim.camera.settings import Live, Refused, Settings, body_properties


@pytest.fixture
def settings() -> Settings:
    return Settings(body_properties(6000, 4000), {Prop.DATE_TIME: Live(lambda: "20260308T091530.0")})


def u32(value: int) -> bytes:
    return pack.value(DataType.UINT32, value)


def test_shutter_times_are_distinct_and_within_half_a_unit_of_nominal() -> None:
    """Half a unit of 0.1 ms, the resolution that ISO 15740 gives property 0x500D; value from memory."""
    assert all(abs(Fraction(units, 10_000) - seconds) <= Fraction(1, 20_000) for units, seconds in SHUTTER.items())
    assert len(set(SHUTTER.values())) == len(SHUTTER) == 53


def test_shutter_times_run_from_30_s_to_8000th_in_thirds_down_to_2500th() -> None:
    """A third of a stop is 2 ** (1/3); nominal values stray from it by less than a fifth of a stop."""
    times = list(SHUTTER.values())
    assert (times[0], times[-1]) == (Fraction(30), Fraction(1, 8000))
    steps = [log2(long / short) for long, short in pairwise(times)]
    thirds = times.index(Fraction(1, 3200))
    assert all(step == pytest.approx(1 / 3, abs=0.2) for step in steps[:thirds])
    assert all(step == pytest.approx(2 / 3, abs=0.05) for step in steps[thirds:])


@pytest.mark.parametrize(("scale", "power"), [(APERTURE, 2), (ISO, 1)])
def test_aperture_and_sensitivity_run_in_thirds(scale: tuple[int, ...], power: int) -> None:
    """Light goes with the square of the f-number. Nominal numbers stray: f/11 to f/13 is 0.48 of a stop."""
    steps = [power * log2(b / a) for a, b in pairwise(scale)]
    assert all(step == pytest.approx(1 / 3, abs=0.16) for step in steps)


def test_a_valid_set_is_kept(settings: Settings) -> None:
    settings.write(Prop.EXPOSURE_TIME, u32(5000))
    assert settings.value(Prop.EXPOSURE_TIME) == 5000
    assert settings.describe(Prop.EXPOSURE_TIME).factory == 80


@pytest.mark.parametrize(
    ("code", "data", "response"),
    [
        (Prop.EXPOSURE_TIME, u32(81), Response.INVALID_DEVICE_PROP_VALUE),
        (Prop.EXPOSURE_TIME, b"\1", Response.INVALID_DEVICE_PROP_FORMAT),
        (Prop.ENABLED_STREAMS, u32(2), Response.INVALID_DEVICE_PROP_VALUE),
        (Prop.BATTERY_LEVEL, b"\1", Response.ACCESS_DENIED),
        (0x5099, b"\1", Response.DEVICE_PROP_NOT_SUPPORTED),
    ],
)
def test_an_invalid_set_is_refused_and_changes_nothing(
    settings: Settings, code: int, data: bytes, response: Response
) -> None:
    before = [settings.value(each) for each in settings.codes]
    with pytest.raises(Refused) as refused:
        settings.write(code, data)
    assert refused.value.code == response
    assert [settings.value(each) for each in settings.codes] == before


def test_the_body_itself_may_set_what_the_wire_may_not(settings: Settings) -> None:
    settings.force(Prop.BATTERY_LEVEL, 12)
    assert settings.value(Prop.BATTERY_LEVEL) == 12
    settings.force(Prop.F_NUMBER, 0)
    assert settings.value(Prop.F_NUMBER) == 0


def test_every_factory_value_is_one_that_could_be_set(settings: Settings) -> None:
    for code in settings.codes:
        described = settings.describe(code)
        assert not described.choices or described.factory in described.choices
