"""Scaling, evening out, merging two exposures, combining three takes, rendering: arrays with known contents."""

from __future__ import annotations

import numpy as np
import pytest

from rigd.imaging import Raw
from rigd.imaging.positive import (
    Balance,
    Look,
    balance_roll,
    combine_channels,
    flat_field,
    merge_exposures,
    render,
    scaled,
    tones,
)
from rigd.imaging.positive.balance import usual
from rigd.model.words import Colour, Tone

RGGB = (0, 1, 1, 2)
NEUTRAL = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def raw_of(mosaic, pattern=RGGB, black=(512.0,) * 4, white=16383.0):
    return Raw(np.asarray(mosaic, np.uint16), pattern, black, white, len(set(pattern)) == 1, 1 / 60, 8.0, 100.0, None)


def light(red, green, blue, shape=(64, 96), top=15871.0):
    """A mosaic (RGGB) of even light, as shares of saturation."""
    mosaic = np.empty(shape)
    for place, share in zip(range(4), (red, green, green, blue), strict=True):
        mosaic[place // 2 :: 2, place % 2 :: 2] = 512 + share * top
    return np.rint(mosaic)


def test_black_is_nought_and_saturation_is_the_top():
    whole = scaled(raw_of([[0, 512], [8447, 16383]]))
    assert whole.ravel() == pytest.approx([0, 0, 32765.6, 65535], abs=1)  # (8447 - 512) / 15871 * 65535


def test_each_place_of_the_cell_has_its_own_black():
    whole = scaled(raw_of([[500, 510], [520, 530]] * 2, black=(500.0, 510.0, 520.0, 530.0)))
    assert whole.max() == 0


def test_the_flat_field_evens_out_what_lamp_and_lens_do():
    ys, xs = np.mgrid[0:400, 0:600]
    falloff = 1.0 - 0.3 * ((xs - 300) ** 2 + (ys - 200) ** 2) / (300**2 + 200**2)
    empty, film = (raw_of(512 + 15871 * 0.8 * share * falloff) for share in (1.0, 0.4))
    even = scaled(film, flat_field([empty])).astype(float)
    assert even.std() / even.mean() < 0.003  # 30 % of falloff is gone to a third of a per cent
    assert even.max() / 65535 == pytest.approx(0.32, rel=0.01)


@pytest.mark.parametrize(("share", "said"), [(1.0, "saturation"), (0.001, "too dark")])
def test_a_flat_field_that_cannot_be_used_is_refused(share, said):
    with pytest.raises(ValueError, match=said):
        flat_field([raw_of(light(share, share, share))])
    with pytest.raises(ValueError, match="at least one"):
        flat_field([])
    with pytest.raises(ValueError, match="of one size"):
        flat_field([raw_of(light(0.5, 0.5, 0.5)), raw_of(light(0.5, 0.5, 0.5, (32, 32)))])


def test_two_exposures_keep_the_light_tones_of_one_and_the_dark_of_the_other():
    truth = np.tile(np.geomspace(0.0005, 0.9, 512), (64, 1))
    rng = np.random.default_rng(3)
    noise = [rng.normal(0, 0.0006, truth.shape) for _ in range(2)]
    short = np.clip((truth + noise[0]) * 65535, 0, 65535).astype(np.uint16)
    long = np.clip((truth * 16 + noise[1]) * 65535, 0, 65535).astype(np.uint16)
    merged = merge_exposures(short, long, 16.0) / 65535
    assert merged.mean(axis=0) == pytest.approx(truth[0], abs=4e-4)
    dark = slice(0, 100)
    assert np.std(merged[:, dark] - truth[:, dark]) < 0.1 * np.std(short[:, dark] / 65535 - truth[:, dark])


def test_two_exposures_that_do_not_belong_together_are_refused():
    one = np.zeros((4, 4), np.uint16)
    with pytest.raises(ValueError, match="one size"):
        merge_exposures(one, np.zeros((4, 6), np.uint16), 4.0)
    with pytest.raises(ValueError, match="longer one"):
        merge_exposures(one, one, 0.5)


def test_three_takes_by_lamp_colour_give_each_pixel_its_own_lamp():
    red, green, blue = (np.full((4, 4), v, np.uint16) for v in (100, 200, 300))
    assert combine_channels(red, green, blue, RGGB)[:2, :2].tolist() == [[100, 200], [200, 300]]
    with pytest.raises(ValueError, match="without colour filters"):
        combine_channels(red, green, blue, (1, 1, 1, 1))


def rendered(tone, colour, clear, shares, pattern=RGGB, **more):
    look = Look(tone, colour, clear, Balance((0.6,) * 3, (0.7,) * 3), **more)
    return render(scaled(raw_of(light(*shares), pattern)), pattern, look)


def test_a_masked_base_prints_black_and_neutral_on_every_pattern():
    base = (0.63 * 0.9, 0.224 * 0.9, 0.126 * 0.9)  # transmittance of 0.20/0.65/0.90 D under an even lamp
    for pattern, cell in {RGGB: (0, 1, 1, 2), (2, 1, 1, 0): (2, 1, 1, 0), (1, 0, 2, 1): (1, 0, 2, 1),
                          (1, 2, 0, 1): (1, 2, 0, 1)}.items():  # fmt: skip
        mosaic = np.empty((32, 32))
        for place, channel in enumerate(cell):
            mosaic[place // 2 :: 2, place % 2 :: 2] = 512 + base[channel] * 15871 * 10**-0.7
        look = Look(Tone.NEGATIVE, Colour.COLOUR, base, Balance((0.6,) * 3, (0.7,) * 3))
        pixel = render(scaled(raw_of(mosaic, pattern)), pattern, look)[10:20, 10:20].astype(float)
        # 0.7 over the base is middle grey here: sRGB 0.461 of the top, alike in all channels.
        assert pixel.mean() / 65535 == pytest.approx(0.455, abs=0.012)
        assert np.ptp(pixel.mean(axis=(0, 1))) < 300


def test_a_mono_film_through_colour_filters_is_one_even_grey():
    shares = (0.58 * 0.2, 0.2, 0.74 * 0.2)  # the filters' own sensitivities
    grey = rendered(Tone.NEGATIVE, Colour.MONO, (0.58, 1.0, 0.74), shares)
    assert grey.shape == (64, 96)
    assert np.ptp(grey.astype(int)) < 40


def test_a_positive_shows_its_own_transmittance_and_its_frame_s_exposure():
    picture = rendered(Tone.POSITIVE, Colour.MONO, (0.8, 0.8, 0.8), (0.144, 0.144, 0.144))  # T = 0.18
    assert picture.mean() / 65535 == pytest.approx(0.46136, abs=2e-3)
    lighter = rendered(Tone.POSITIVE, Colour.MONO, (0.8,) * 3, (0.144,) * 3, lighter_stops=1.0)
    assert lighter.mean() / 65535 == pytest.approx(0.6360, abs=2e-3)  # 0.36 in sRGB


def test_a_colour_matrix_leaves_neutral_alone_and_moves_colour():
    matrix = ((1.6, -0.4, -0.2), (-0.3, 1.5, -0.2), (0.0, -0.5, 1.5))
    clear = (0.5, 0.8, 0.6)
    neutral = rendered(Tone.POSITIVE, Colour.COLOUR, clear, tuple(0.18 * c for c in clear), matrix=matrix)
    middle = neutral[20:40, 20:40].mean(axis=(0, 1)) / 65535
    assert middle == pytest.approx([0.46136] * 3, abs=3e-3)
    red = rendered(Tone.POSITIVE, Colour.COLOUR, clear, (0.3, 0.1, 0.08), matrix=matrix)[30, 40]
    plain = rendered(Tone.POSITIVE, Colour.COLOUR, clear, (0.3, 0.1, 0.08))[30, 40]
    assert red[0] > plain[0]
    assert red[1] < plain[1]
    with pytest.raises(ValueError, match="sums to nothing"):
        rendered(Tone.POSITIVE, Colour.COLOUR, clear, (0.3, 0.1, 0.08), matrix=((1, -1, 0), *NEUTRAL[1:]))


def test_clipped_light_stays_clean_white_or_black():
    white = rendered(Tone.POSITIVE, Colour.COLOUR, (0.6, 0.6, 0.6), (1.2, 1.2, 1.2))[20:40, 20:40]
    assert white.min() == 65535
    black = rendered(Tone.NEGATIVE, Colour.COLOUR, (0.6, 0.6, 0.6), (0.9, 0.9, 0.9))[20:40, 20:40]
    assert np.ptp(black.astype(int)) < 60
    assert black.max() < 0.06 * 65535


def test_a_colour_film_needs_colour():
    with pytest.raises(ValueError, match="colour sensor"):
        rendered(Tone.NEGATIVE, Colour.COLOUR, (0.5,) * 3, (0.2,) * 3, pattern=(1, 1, 1, 1))


def quantiles(densities):
    return np.quantile(densities, np.linspace(0.05, 0.95, 19), axis=0)


def test_a_roll_s_balance_finds_unlike_layers_again():
    rng = np.random.default_rng(8)
    gammas, heights = np.array([0.56, 0.60, 0.65]), np.array([0.66, 0.70, 0.78])
    rolls = []
    for _ in range(12):
        subject = rng.normal(rng.normal(0, 0.15), 0.5, (4000, 1)) + rng.normal(0, 0.05, (4000, 3))
        rolls.append(quantiles(heights + gammas * subject))
    found = balance_roll(rolls, Colour.COLOUR)
    ratio = np.array(found.gamma) / found.gamma[1]
    assert ratio == pytest.approx(gammas / gammas[1], abs=0.02)
    neutral = [heights + gammas * s for s in (-0.5, 0.0, 0.6)]
    for one in neutral:
        lights = (one - np.array(found.middle)) / np.array(found.gamma)
        assert np.ptp(lights) < 0.03


def test_a_roll_of_one_colour_does_not_lose_it():
    rng = np.random.default_rng(9)
    shades = np.array([0.5, 0.9, 0.45]), np.array([0.2, 0.6, 0.3])
    leaves = [quantiles(shades[0] + shades[1] * rng.normal(0, 0.5, (3000, 1))) for _ in range(4)]
    found = balance_roll(leaves, Colour.COLOUR)
    assert np.all(np.abs(np.array(found.gamma) / found.gamma[1] - 1) <= 0.1501)


def test_without_pictures_the_usual_balance_holds():
    assert balance_roll([], Colour.COLOUR) == usual(Colour.COLOUR)
    assert balance_roll([], Colour.MONO) == usual(Colour.MONO)


def test_tones_are_the_picture_s_densities_alone():
    mosaic = light(0.9, 0.9, 0.9, (400, 600))
    mosaic[100:300, 150:450] = 512 + 15871 * 0.09
    corners = ((150.0, 100.0), (450.0, 100.0), (450.0, 300.0), (150.0, 300.0))
    found = tones(raw_of(mosaic), (0.9, 0.9, 0.9), corners)
    assert found.shape == (19, 3)
    assert found == pytest.approx(np.ones_like(found), abs=0.01)
