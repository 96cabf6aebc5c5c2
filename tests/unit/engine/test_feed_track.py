"""Where the places of a strip lie by the board's count: uneven gaps, what was seen ahead, slips, and the film's end."""

from __future__ import annotations

import pytest

from rigd.engine.feed_values import Track
from rigd.imaging.live import Likeness
from rigd.model.formats import film_format

# 120-6x6: frames of 56 mm every 63 mm (rigd/model/formats; ISO 732 leaves the spacing to the camera).
PITCH, FRAME = 63.0, 56.0
SENSOR_MM = 50.0


@pytest.fixture
def track() -> Track:
    return Track("s-0001", film_format("120-6x6"))


def test_nothing_is_expected_of_a_strip_that_nobody_has_found(track: Track) -> None:
    assert track.expected_mm(1, PITCH) is None


def test_the_pitch_is_the_formats_until_it_is_measured_and_then_the_films_own(track: Track) -> None:
    track.rests(1, 100.0)
    assert track.expected_mm(2, PITCH) == 100.0 + PITCH
    for place, at in ((2, 162.0), (3, 224.5), (4, 286.0)):
        track.rests(place, at)
    # Gaps of 62.0, 62.5, 61.5: their median.
    assert track.pitch_mm(PITCH) == 62.0
    assert track.expected_mm(6, PITCH) == 286.0 + 2 * 62.0
    assert track.expected_mm(2, PITCH) == 162.0, "a place that was there once lies where it lay"


def test_a_gap_that_no_camera_makes_does_not_count(track: Track) -> None:
    track.rests(1, 0.0)
    track.rests(2, 63.0)
    track.rests(3, 160.0)  # it slipped by half a frame, and nobody saw it
    assert track.pitch_mm(PITCH) == 63.0


def test_places_that_were_jumped_over_share_the_way(track: Track) -> None:
    track.rests(1, 0.0)
    track.rests(4, 186.0)
    assert track.pitch_mm(PITCH) == 62.0


def test_an_edge_in_sight_tells_more_than_the_pitch(track: Track) -> None:
    track.rests(1, 0.0)
    track.sees(2, 60.5)
    assert track.expected_mm(2, PITCH) == 60.5
    assert track.expected_mm(3, PITCH) == 2 * PITCH, "what lies beyond it is not in sight"


def test_what_was_seen_is_measured_against_how_far_it_was(track: Track) -> None:
    """The live picture's scale is off by a per cent: after one advance that is known."""
    track.rests(1, 0.0)
    track.sees(2, 62.0)
    track.rests(2, 62.62)
    track.sees(3, 124.62)
    assert track.expected_mm(3, PITCH) == pytest.approx(62.62 + 62.0 * 1.01)


def test_film_that_stayed_behind_takes_all_places_with_it(track: Track) -> None:
    track.rests(1, 0.0)
    track.sees(2, 62.0)
    track.tail_mm = 150.0
    track.slipped(63.0)
    assert track.at_mm == {1: 63.0}
    assert track.expected_mm(2, PITCH) == 125.0
    assert track.tail_mm == 213.0


def test_a_mistaken_place_is_all_that_is_known(track: Track) -> None:
    track.rests(1, 0.0)
    track.rests(2, 63.0)
    track.faces[2] = Likeness(b"face")
    track.sees(3, 126.0)
    track.mistaken(2, 1)
    assert (track.here, track.at_mm, track.faces) == (1, {1: 63.0}, {})
    assert track.expected_mm(2, PITCH) == 63.0 + PITCH


@pytest.mark.parametrize(
    ("at_mm", "there"),
    [
        # The end passed the sensor when the film was at 200: it lies in the gate's middle at 250.
        (250.0 - FRAME / 2 - 3.5, True),  # the last whole frame, half a gap before the end
        (250.0 - FRAME / 4 + 0.1, False),  # three quarters of a frame at most
        (250.0 + FRAME / 2, False),
    ],
)
def test_a_frame_is_there_while_film_is(track: Track, at_mm: float, there: bool) -> None:
    assert track.exists(at_mm, SENSOR_MM), "the end has not passed the sensor yet"
    track.tail_mm = 200.0
    assert track.exists(at_mm, SENSOR_MM) is there
