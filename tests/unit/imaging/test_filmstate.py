"""What the film shows: a picture is never called unexposed; blanks, fog and the bare lamp are told apart."""

from __future__ import annotations

import numpy as np
import pytest

from rigd.imaging.filmstate import film_state
from rigd.model.words import Film, Tone

LAMP, BASE = (0.0, 0.0, 0.0), (-0.8, -0.8, -0.8)
SHAPE = (300, 400)


def even(level: float, grain: float = 0.05, seed: int = 1) -> np.ndarray:
    """An even field with a lamp's falloff of 0.07 stop and grain."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[-1 : 1 : SHAPE[0] * 1j, -1 : 1 : SHAPE[1] * 1j]
    green = level - 0.035 * (x**2 + y**2) + rng.normal(0, grain, SHAPE)
    return np.repeat(green[:, :, None], 3, axis=2).astype(np.float32)


def with_shapes(level: float, contrast: float) -> np.ndarray:
    picture = even(level)
    picture[60:140, 80:150] -= contrast
    picture[180:260, 220:330] -= contrast / 2
    return picture


@pytest.mark.parametrize("contrast", [0.1, 0.3, 2.0])
@pytest.mark.parametrize("sides", [0, 4])
def test_the_faintest_picture_is_a_picture(contrast, sides):
    assert film_state(with_shapes(-0.8, contrast), Tone.NEGATIVE, BASE, LAMP, sides).film is Film.PICTURE


def test_clear_base_is_unexposed():
    found = film_state(even(-0.8), Tone.NEGATIVE, BASE, LAMP, 0)
    assert (found.film, found.sure) == (Film.UNEXPOSED, True)


def test_specks_do_not_make_a_picture():
    blank = even(-0.8)
    rng = np.random.default_rng(3)
    for _ in range(12):
        y, x = rng.integers(5, SHAPE[0] - 5), rng.integers(5, SHAPE[1] - 5)
        blank[y : y + 3, x : x + 3] -= 3.0
    assert film_state(blank, Tone.NEGATIVE, BASE, LAMP, 0).film is Film.UNEXPOSED


def test_the_bare_lamp_is_no_film():
    assert film_state(even(0.0), Tone.NEGATIVE, BASE, LAMP, 0).film is Film.NO_FILM


def test_an_even_clear_field_is_not_guessed_at():
    found = film_state(even(-0.8), Tone.NEGATIVE, None, None, 0)
    assert (found.film, found.sure) == (Film.UNEXPOSED, False)


def test_even_and_darker_than_the_base_is_fog():
    assert film_state(even(-3.0), Tone.NEGATIVE, BASE, LAMP, 0).film is Film.FOGGED


def test_even_within_sharp_edges_is_a_picture():
    assert film_state(even(-3.0), Tone.NEGATIVE, BASE, LAMP, 4).film is Film.PICTURE


def fading(level: float) -> np.ndarray:
    """Light that struck from the left and fades out."""
    x = np.linspace(0, 1, SHAPE[1])[None, :, None]
    return (even(level) - 2.5 * np.exp(-((x / 0.35) ** 2))).astype(np.float32)


def test_fog_that_fades_without_detail_is_fog_and_doubted():
    found = film_state(fading(-0.8), Tone.NEGATIVE, BASE, LAMP, 0)
    assert (found.film, found.sure) == (Film.FOGGED, False)


def test_a_partly_fogged_picture_is_still_a_picture():
    picture = fading(-0.8)
    picture[60:140, 200:280] -= 1.5
    assert film_state(picture, Tone.NEGATIVE, BASE, LAMP, 4).film is Film.PICTURE


@pytest.mark.parametrize(("level", "film"), [(-9.0, Film.UNEXPOSED), (-3.0, Film.FOGGED)])
def test_even_slides_are_black_or_fogged(level, film):
    assert film_state(even(level), Tone.POSITIVE, None, LAMP, 0).film is film
