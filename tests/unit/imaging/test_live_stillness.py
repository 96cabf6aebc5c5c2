"""Movement in live pictures against the scene's own truth, and the wait against the law of the damped swing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.unit.imaging.live_views import view

from rigd.imaging.live import shift_between
from rigd.imaging.stillness import Point, limit_um, rest, swing_um


@pytest.mark.parametrize(
    ("film", "hertz", "damping", "first_um", "in_a_swing"),
    [
        ("120-6x6", 0.5, 0.05, 800.0, 12), ("120-6x6", 2.0, 0.05, 600.0, 12), ("120-6x6", 12.0, 0.03, 500.0, 8),
        ("135", 1.0, 0.03, 200.0, 12), ("135", 5.0, 0.02, 60.0, 10), ("135", 20.0, 0.05, 800.0, 8),
    ],
)  # fmt: skip
def test_the_wait_agrees_with_the_law_of_the_damped_swing(
    film: str, hertz: float, damping: float, first_um: float, in_a_swing: int
) -> None:
    """t = ln(A0 / A) / (zeta w): the solution of the damped oscillator, computed. The picture covers a whole swing."""
    with view(film, vibration_hz=hertz, damping=damping) as scene:
        scene.frame()
        area, scale = scene.bed().picture(scene.film), 1000.0 / scene.px_per_mm
        limit = limit_um(scene.px_per_mm, scene.sensor_px_per_mm)
        law = math.log(first_um / limit) / (damping * 2 * math.pi * hertz)
        began, first = scene.at, scene.look()
        scene.scene.kick(first_um)
        track: list[Point] = []
        found = None
        while found is None:
            at = began + len(track) / hertz / in_a_swing
            moved = shift_between(first, scene.look(at), area)
            track.append(Point(at, moved.x * scale, moved.y * scale))
            found = rest(track, limit, in_a_swing + 1)
            assert at - began < 3 * law
        assert found.since - began == pytest.approx(law, rel=0.1)
        assert found.moved_um <= limit


@pytest.mark.parametrize("film", ["120-6x6", "135", "135-half"])
@pytest.mark.parametrize(("kind", "error_um"), [("picture", 3.0), ("dense", 5.0), ("thin", 10.0), ("unexposed", 12.0)])
def test_a_swing_of_60_um_is_measured(film: str, kind: str, error_um: float) -> None:
    """Against the scene's truth. A live pixel is 43 to 102 um of film; a frame without relief shows less of it."""
    with view(film, vibration_hz=1.0, damping=0.001) as scene:
        scene.frame(kind)
        area, scale = scene.bed().picture(scene.film), 1000.0 / scene.px_per_mm
        began, first = scene.at, scene.look()
        scene.scene.kick(60.0)
        errors = []
        for step in range(8):
            at = began + step / 8
            moved = shift_between(first, scene.look(at), area)
            along, _ = scene.scene.vibration.displacement(np.array([at]))
            errors.append(moved.x * scale - float(along[0]))
        assert max(map(abs, errors)) < error_um


def test_film_that_slides_is_followed_at_any_speed_of_a_hand() -> None:
    """One pitch in 0.6 to 1.5 s, a picture each 0.1 or 0.05 s: the sum is the way the scene says, within 6 %."""
    with view("120-6x6", megapixels=2) as scene:
        scene.frame()
        bed, strip = scene.bed(), scene.scene.strips[0]
        area = bed.picture(scene.film)
        for seconds, pace in ((1.5, 0.1), (0.8, 0.1), (0.6, 0.05)):
            scene.lay(1, strip.frames[0].centre)
            began, last, way = scene.at, scene.look(), 0.0
            scene.scene.slide(frame=2, seconds=seconds)
            for step in range(1, round(seconds / pace) + 3):
                now = scene.look(began + step * pace)
                way += shift_between(last, now, area).x / bed.px_per_mm
                last = now
            true = strip.frames[0].centre - strip.frames[1].centre
            assert way == pytest.approx(true, rel=0.06)


def test_a_rest_begins_where_the_last_movement_over_the_limit_ended() -> None:
    moved = [0.0, 40.0, 0.0, 3.0, 1.0, 2.0, 0.0]
    track = [Point(0.1 * i, x, 0.0) for i, x in enumerate(moved)]
    found = rest(track, 2.0, 4)
    assert found is not None
    assert found.since == pytest.approx(0.2)
    assert found.moved_um == pytest.approx(1.5)
    assert rest(track, 2.0, 6) is None
    assert rest(track[:3], 2.0, 4) is None
    assert swing_um(track, 4) == pytest.approx(1.5)
    assert swing_um([], 4) == 0.0


def test_movement_across_the_film_counts_as_well() -> None:
    track = [Point(0.0, 0.0, 0.0), Point(0.1, 3.0, 4.0), Point(0.2, 0.0, 0.0)]
    assert rest(track, 2.4, 3) is None
    assert rest(track, 2.6, 3) is not None


@pytest.mark.parametrize(("live", "sensor", "limit"), [(9.852, 61.576, 8.12), (9.852, 9.852, 50.75), (5, 500, 12)])
def test_the_limit_is_half_a_pixel_or_what_live_view_can_tell(live: float, sensor: float, limit: float) -> None:
    """Half of 1000 / 61.576 um; half of 1000 / 9.852; 0.06 of 1000 / 5. Computed."""
    assert limit_um(live, sensor) == pytest.approx(limit, rel=1e-3)
