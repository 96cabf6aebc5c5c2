"""What lies in the gate of a live picture, against the scene's truth: frames, ends, hands, the open gate, likeness."""

from __future__ import annotations

import itertools

import pytest
from tests.unit.imaging.live_views import View, view

from rigd.imaging.live import (
    ALIKE,
    Lightest,
    Likeness,
    alike,
    bed_of,
    covered,
    edges_in,
    end_in,
    frame_in,
    is_open,
    lamp_beside,
    lies_turned,
    likeness,
    look_of,
)
from rigd.imaging.live.offset import neighbour_in

FILMS = [
    ("120-6x6", "negative", "mono"), ("135", "negative", "colour"), ("120-6x6", "positive", "colour"),
    ("135", "positive", "colour"), ("135-half", "negative", "mono"), ("120-6x4.5", "negative", "mono"),
    ("120-6x9", "negative", "mono"),
]  # fmt: skip


@pytest.mark.parametrize(("film", "tone", "colour"), FILMS)
@pytest.mark.parametrize("sure", [True, False])
def test_a_frame_is_found_only_if_it_lies_whole(film: str, tone: str, colour: str, sure: bool) -> None:
    """Off by 0, 0.6 and so far that the gate cuts it; with the scale measured and nominal; two exposures."""
    with view(film, tone, colour, megapixels=2) as scene:
        bed = scene.bed(sure)
        scale = scene.px_per_mm / bed.px_per_mm
        frames = [f for s in scene.scene.strips for f in s.frames if f.spec.kind == "picture"][:3]
        for frame, seconds in itertools.product(frames, (1 / 60, 1 / 20)):
            cut = scene.scene.optics.gate_mm[0] / 2 - (frame.end - frame.start) / 2
            for off in (0.0, 0.6, -0.6, cut + 0.5, -cut - 0.5, cut + 8.0):
                scene.lay(frame.strip, frame.centre - off)
                found = frame_in(scene.look(seconds=seconds), bed, scene.film, scene.tone)
                if abs(off) > cut:
                    assert found is None or not found.plain
                elif abs(off) < cut - 1.3:
                    assert found is not None
                    assert found.plain
                    assert found.centre_mm == pytest.approx(off * scale, abs=0.5)
                    assert found.length_mm == pytest.approx((frame.end - frame.start) * scale, rel=0.02)


def test_a_blank_has_no_edges_and_the_next_frame_has() -> None:
    with view(megapixels=2) as scene:
        bed = scene.bed()
        scene.frame("unexposed")
        assert not any(-25 < edge.at_mm < 25 for edge in edges_in(scene.look(), bed, scene.film, scene.tone))
        scene.frame("picture", off_mm=10.0)
        edges = edges_in(scene.look(), bed, scene.film, scene.tone)
        assert any(edge.begins and edge.at_mm == pytest.approx(-18.0, abs=1.5) for edge in edges)


@pytest.mark.parametrize(("film", "tone", "colour"), [f for f in FILMS if f[0] in ("120-6x6", "135")])
def test_the_end_of_the_film_is_seen_and_print_is_none(film: str, tone: str, colour: str) -> None:
    with view(film, tone, colour, megapixels=2) as scene:
        bed, strip = scene.bed(), scene.scene.strips[0]
        for at, found, right in ((5.0, True, True), (strip.length / 2, False, True), (strip.length - 5.0, True, False)):
            scene.lay(1, at)
            end = end_in(scene.look(), bed, scene.film, scene.tone)
            assert (end is not None) == found
            if end is not None:
                assert end.film_right == right
                assert end.at_mm == pytest.approx(-at if right else strip.length - at, abs=4.0)


@pytest.mark.parametrize(("film", "tone", "colour"), [f for f in FILMS if f[:2] != ("120-6x6", "positive")])
def test_a_hand_over_the_gate_is_seen_and_film_is_no_hand(film: str, tone: str, colour: str) -> None:
    with view(film, tone, colour, megapixels=2) as scene:
        bed = scene.bed()
        for kind, off, seconds in itertools.product(("picture", "dense", "unexposed"), (0.0, 5.0), (1 / 60, 1 / 20)):
            scene.frame(kind, off)
            assert covered(scene.look(seconds=seconds), bed, scene.film, scene.tone) is False
            scene.scene.cover(0.2)
            assert covered(scene.look(seconds=seconds), bed, scene.film, scene.tone) is True
            scene.scene.cover(0.0)


def test_where_the_film_shows_no_light_beside_the_picture_nothing_is_said_of_hands() -> None:
    with view("120-6x6", "positive", "colour", megapixels=2) as scene:
        bed = scene.bed()
        scene.frame()
        assert covered(scene.look(), bed, scene.film, scene.tone) is None


def test_the_open_gate_is_open_and_a_blank_is_not() -> None:
    with view(megapixels=2) as scene:
        bed = scene.bed()
        scene.lay(None)
        assert is_open(scene.look(seconds=1 / 125), bed)
        for kind in ("unexposed", "picture", "thin"):
            scene.frame(kind)
            assert not is_open(scene.look(seconds=1 / 125), bed)
            assert not lamp_beside(scene.look(seconds=1 / 125), bed)


def _likeness(scene: View, number: int, off: float, seconds: float) -> Likeness:
    frame = next(f for s in scene.scene.strips for f in s.frames if f.number == number)
    bed = scene.bed()
    scene.lay(frame.strip, frame.centre - off)
    half = (frame.end - frame.start) / 2
    return likeness(scene.look(seconds=seconds), bed, scene.film, off - half, off + half)


@pytest.mark.parametrize("film", ["120-6x6", "135"])
def test_a_frame_is_known_again_and_another_is_not_taken_for_it(film: str) -> None:
    """Frames 1, 2, 4 and 5 of two rolls, off by a millimetre, a stop and more apart."""
    for seed in (1, 2):
        with view(film, megapixels=2, seed=seed) as scene:
            first = {n: _likeness(scene, n, 0.0, 1 / 60) for n in (1, 2, 4, 5)}
            again = {n: _likeness(scene, n, 0.9, 1 / 25) for n in (1, 2, 4, 5)}
            for a, b in itertools.product(first, again):
                assert (alike(first[a], again[b]) >= ALIKE) == (a == b), (seed, a, b)


def test_a_blank_looks_like_nothing() -> None:
    with view(megapixels=2) as scene:
        blank = _likeness(scene, 7, 0.0, 1 / 60)
        assert alike(blank, _likeness(scene, 7, 0.5, 1 / 30)) < ALIKE


def test_a_camera_that_was_turned_is_told_by_the_gate() -> None:
    with view("135", megapixels=2) as scene:
        scene.lay(None)
        upright = scene.look()
        for turned in (False, True):
            grey = upright.along.repeat(20, axis=0).astype("uint8")
            lightest = Lightest()
            lightest.add(look_of(grey.T.copy() if turned else grey))
            assert lies_turned(lightest, scene.film) is turned
            assert bed_of(lightest, scene.film, None) is not None


@pytest.mark.parametrize(
    ("film", "tone"), [("120-6x6", "negative"), ("135", "negative"), ("135", "positive"), ("135-half", "negative")]
)
def test_the_frame_beside_tells_how_far_it_is(film: str, tone: str) -> None:
    """Gaps are uneven; where the next frame's edge is in sight, its middle is known well within the 0.2 mm that an
    advance must hold (the scene tells where it lies)."""
    found = 0
    with view(film, tone, megapixels=2) as seen:
        bed = seen.bed()
        for strip in seen.scene.strips:
            for here, beside in itertools.pairwise(strip.frames):
                if not here.exposed or not beside.exposed:
                    continue
                seen.lay(strip.number, here.centre + 0.1)
                middle = neighbour_in(seen.look(), bed, seen.film, seen.tone, here.end - here.start, 1, -0.1)
                if middle is not None:
                    found += 1
                    assert middle + 0.1 == pytest.approx(beside.centre - here.centre, abs=0.2)
                assert neighbour_in(seen.look(), bed, seen.film, seen.tone, 3 * bed.half_mm, 1) is None
    assert found >= 4
