"""The simulated film measured in the simulated picture, against published film geometry.

Sources are named at each check. "V2": read in a secondary text that cites the standard (ISO 1007 for 135, SMPTE 139 for
perforations, ISO 732 for 120 film); the rest follows from those numbers by arithmetic.
"""

from __future__ import annotations

import numpy as np
import pytest

from rigd_sim.scene import FrameSpec, Scene, SceneSpec
from rigd_sim.scene.formats import format_named
from rigd_sim.scene.optics import Optics

pytestmark = pytest.mark.published

STRAIGHT = {"rotation_deg": 0.0, "tilt_deg": (0.0, 0.0), "gate_tolerance": 0.0, "spacing_mm": 0.0, "shrinkage": 0.0}
CLEAN = {"grain": 0.0, "dust": 0.0, "falloff": 0.0, "stray": 0.0}
DARK = FrameSpec(picture=np.full((4, 4), 0.5))  # dark on the negative


def film(name, megapixels=2, frames=6, **options):
    """A straight, clean strip of evenly dark frames."""
    overrides = tuple((n, DARK) for n in range(1, frames + 1))
    spec = SceneSpec(megapixels, name, frames=frames, strip=frames, overrides=overrides, **STRAIGHT, **CLEAN, **options)
    return Scene(spec, now=lambda: 0.0)


def light(scene):
    """The picture in shares of the bare lamp in green, (H, W): green stands in for its red and blue neighbours."""
    mosaic = scene.expose(0.0, 1 / 60, 8.0, 100).astype(float) - 512
    green = (mosaic[::2, 1::2] + mosaic[1::2, ::2]) / 2
    return np.repeat(np.repeat(green, 2, axis=0), 2, axis=1) / (16383 - 512) / 1.45 * 2


def crossings(profile, level):
    """Places (px, to a part of one) where a profile passes through a level: (rising, falling)."""
    above = profile > level
    at = np.flatnonzero(above[1:] != above[:-1])
    places = at + (level - profile[at]) / (profile[at + 1] - profile[at])
    return places[~above[at]], places[above[at]]


def scene_at(name, frame=2, **options):
    scene = film(name, **options)
    scene.lay(1)
    scene.slide(frame=frame, seconds=0.0)
    return scene


def size_mm(scene):
    """Width and height in mm of the frame in the gate's middle, measured in the picture."""
    picture, px = light(scene), scene.optics.px_per_mm
    height, width = picture.shape
    row = picture[height // 2 - 20 : height // 2 + 20].mean(axis=0)
    column = picture[:, width // 2 - 20 : width // 2 + 20].mean(axis=1)
    sides = []
    for profile in (row, column):
        level = (profile[len(profile) // 2] + 0.5) / 2  # half way up to base (0.30 D lets half of the light through)
        rising, falling = crossings(profile, level)
        middle = len(profile) / 2
        sides.append(rising[rising > middle].min() - falling[falling < middle].max())
    return sides[0] / px, sides[1] / px


def test_135_frame_is_36_by_24():
    """36.0 x 24.0 mm, aspect 1.5000 (V2: camera area of the BKSTS dictionary, Appendix C)."""
    with scene_at("135") as scene:
        width, height = size_mm(scene)
    assert (width, height) == pytest.approx((36.0, 24.0), abs=0.06)
    assert width / height == pytest.approx(1.5, abs=0.004)


def test_135_frames_lie_38_mm_apart():
    """One exposure every 38.00 mm, 2.00 mm between frames (V2); 8 x 4.75 by arithmetic."""
    with film("135") as scene:
        scene.lay(1)
        starts = [f.start for f in scene.strips[0].frames]
        assert np.diff(starts) == pytest.approx(38.0)
        scene.slide(to_mm=(scene.strips[0].frames[1].end + starts[2]) / 2, seconds=0.0)
        first = light(scene)[500:600].mean(axis=0)
        scene.slide(to_mm=scene.motion.position(0.0) + 38.0, seconds=0.0)
        second = light(scene)[500:600].mean(axis=0)
        rising, falling = crossings(first, 0.3)
        middle = len(first) / 2
        gap = falling[falling > middle].min() - rising[rising < middle].max()
        assert gap / scene.optics.px_per_mm == pytest.approx(2.0, abs=0.05)
        again_rising, again_falling = crossings(second, 0.3)
        assert again_rising == pytest.approx(rising, abs=1.0), "38.00 mm on, the edges lie at the same places, to a px"
        assert again_falling == pytest.approx(falling, abs=1.0)


@pytest.fixture(scope="module")
def perforations():
    """(scene's px/mm, profile along the film through the holes, profile across the film through one hole)."""
    with film("135", megapixels=12, margin=0.5, opening_mm=(50.0, 36.0)) as scene:
        scene.lay(1)
        scene.slide(frame=3, seconds=0.0)
        picture, px = light(scene), scene.optics.px_per_mm
    row = round(picture.shape[0] / 2 - (34.98 / 2 - 2.01 - 2.794 / 2) * px)
    along = picture[row - 20 : row + 20].mean(axis=0)
    rising, falling = crossings(along, 0.75)
    centre = round((rising[3] + falling[falling > rising[3]].min()) / 2)
    return px, along, picture[:, centre - 20 : centre + 20].mean(axis=1)


def test_perforation_pitch_and_length(perforations):
    """KS perforation: pitch 4.750 mm (0.1870 in), 1.981 mm along the film (V2)."""
    px, along, _ = perforations
    rising, falling = crossings(along, 0.75)
    rising, falling = rising[1:-1], falling[falling > rising[1]]
    assert np.diff(rising) / px == pytest.approx(4.750, abs=0.02)
    assert (falling[: len(rising)] - rising) / px == pytest.approx(1.981, abs=0.03)


def test_perforation_across_the_film(perforations):
    """2.794 mm across, 2.01 mm from the edge (V2); 0.696 mm of clear strip between hole and image (arithmetic)."""
    px, _, across = perforations
    rising, falling = crossings(across, 0.75)
    middle = len(across) / 2
    hole_top = rising[rising < middle].max()
    hole_bottom = falling[falling < middle].max()
    assert (hole_bottom - hole_top) / px == pytest.approx(2.794, abs=0.03)
    picture_top = middle - 12.0 * px
    assert (picture_top - hole_bottom) / px == pytest.approx(0.696, abs=0.03)


def test_eight_perforations_a_frame():
    """Per pitch exactly 8; a six-frame strip is 228 mm long and has 48 (arithmetic from 38.00 and 4.75)."""
    with film("135") as scene:
        assert scene.strips[0].length == pytest.approx(228.0)
    assert format_named("135").pitch / 4.75 == 8.0
    assert 228.0 / 4.75 == 48.0


def test_scale_from_perforations():
    """ppi = 25.4 x px/mm: at 4000 ppi a perforation pitch is 748.03 px, a frame pitch 5984.25 px (arithmetic)."""
    optics = Optics(SceneSpec(24, "135"))
    scale = 4000 / 25.4 / optics.px_per_mm
    assert 4.75 * optics.px_per_mm * scale == pytest.approx(748.03, abs=0.005)
    assert format_named("135").pitch * optics.px_per_mm * scale == pytest.approx(5984.25, abs=0.005)


def test_half_frame():
    """18 x 24 mm (V2), every 19.00 mm = 4 perforations (arithmetic)."""
    with scene_at("135-half") as scene:
        assert size_mm(scene) == pytest.approx((18.0, 24.0), abs=0.06)
    assert format_named("135-half").pitch == 19.0


TABLE_120 = [
    # name, along mm, aspect, frames on a 120 roll (fewest, most)
    ("120-6x4.5", 41.5, 56 / 41.5, (15, 16)),
    ("120-6x6", 56.0, 1.0, (12, 13)),
    ("120-6x7", 70.0, 1.25, (10, 10)),
    ("120-6x8", 77.0, 1.375, (9, 9)),
    ("120-6x9", 84.0, 1.5, (8, 8)),
    ("120-6x12", 118.0, 2.107, (6, 6)),
    ("120-6x17", 168.0, 3.0, (4, 4)),
]


@pytest.mark.parametrize(("name", "along", "aspect", "count"), TABLE_120)
def test_120_image_sizes(name, along, aspect, count):
    """True image sizes: 56 mm across, along as in the table (V2: two independent tables agree)."""
    with scene_at(name, frames=2) as scene:
        width, height = size_mm(scene)
    assert (width, height) == pytest.approx((along, 56.0), abs=0.25)  # a pixel is up to 0.11 mm here
    assert max(width, height) / min(width, height) == pytest.approx(aspect, rel=0.006)


@pytest.mark.parametrize(("name", "along", "aspect", "count"), TABLE_120)
def test_120_rolls_hold_as_many_frames_as_they_should(name, along, aspect, count):
    """Count x image length lies in 664..708 mm for every 120 format (arithmetic from the tables)."""
    assert any(664 <= frames * format_named(name).along <= 708 for frames in count)
    # 12 frames of 6x6 need about 750 mm: more than 720, less than the film's 850 (both from memory).
    assert count[0] * format_named(name).pitch < 850


def test_mount_aperture():
    """A 35 mm slide mount shows 34.3 x 22.5 mm of the 36 x 24 (V2: BKSTS dictionary citing SMPTE 96M)."""
    picture = None
    with Scene(
        SceneSpec(2, "mount", overrides=((1, FrameSpec("unexposed")),), **STRAIGHT, **CLEAN), now=lambda: 0.0
    ) as s:
        s.lay(1)
        picture, px = light(s), s.optics.px_per_mm
    sides = []
    for profile in (picture[560:592].mean(axis=0), picture[:, 850:880].mean(axis=1)):
        rising, falling = crossings(profile, 0.25)
        sides.append((falling.max() - rising.min()) / px)
    assert sides == pytest.approx([34.3, 22.5], abs=0.08)


def test_shrunken_film_shows_in_the_perforation_pitch():
    """Shrinkage is measured pitch over nominal; 0.99 is our warning threshold (from memory)."""
    with Scene(SceneSpec(2, "135", shrinkage=0.01), now=lambda: 0.0) as scene:
        frames = scene.strips[0].frames
        assert (frames[1].start - frames[0].start) / 38.0 == pytest.approx(0.99, abs=0.006)
