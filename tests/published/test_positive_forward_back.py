"""Forward and back: known light -> characteristic curve -> simulated capture -> positive -> the light again.

The scene's film has base 0.20/0.65/0.90 and slopes 0.58/0.60/0.62 with toe and shoulder; a wedge of neutral patches is
photographed on it, captured at unlike shutter times, and developed. sRGB and CIEDE2000 by the colour-science package.
"""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest

from rigd.imaging import Raw
from rigd.imaging.positive import Balance, Look, Paper, flat_field, render, scaled
from rigd.imaging.positive.curve import density, log_exposure, print_share
from rigd.model.words import Colour, Tone
from rigd_sim.scene import FrameSpec, Scene, SceneSpec

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it misses matplotlib, which nothing here needs
    import colour as science

pytestmark = pytest.mark.published

# A neutral wedge in half stops, four stops under middle grey to two over it.
STOPS = np.arange(-4.0, 2.01, 0.5)
CLEAN = {"grain": 0.0, "dust": 0.0, "stray": 0.0, "rotation_deg": 0.0, "tilt_deg": (0.0, 0.0), "shrinkage": 0.0}
GAMMAS = (0.58, 0.60, 0.62)  # the film's data sheet: the scene's colour negative


def wedge() -> np.ndarray:
    return np.repeat(np.tile(0.18 * 2.0**STOPS, (4, 1)), 8, axis=1)


def decoded(mosaic: np.ndarray, seconds: float) -> Raw:
    return Raw(mosaic, (0, 1, 1, 2), (512.0,) * 4, 16383.0, False, seconds, 8.0, 100.0, None)


class Captured:
    """One roll of three frames: the wedge at the box speed, the wedge over by two stops, and one unexposed."""

    def __init__(self, colour: str) -> None:
        over = FrameSpec(picture=wedge(), stops=2.0)
        frames = ((1, FrameSpec(picture=wedge())), (2, over), (3, FrameSpec("unexposed")))
        spec = SceneSpec(2, "120-6x6", "negative", colour, frames=3, strip=3, overrides=frames, **CLEAN)
        self.now = 0.0
        with Scene(spec, lambda: self.now) as scene:
            self.flat = flat_field([self._take(scene, None, 1 / 80)])
            self.takes = {(f, s): self._take(scene, f, s) for f in (1, 2, 3) for s in (1 / 40, 1 / 10)}

    def _take(self, scene: Scene, frame: int | None, seconds: float) -> Raw:
        self.now += 100.0
        scene.lay(None if frame is None else 1)
        if frame is not None:
            scene.slide(frame=frame, seconds=0.0)
        self.now += 50.0
        return decoded(scene.expose(self.now, seconds, 8.0, 100), seconds)

    def patches(self, frame: int, seconds: float, picture: np.ndarray | None = None) -> np.ndarray:
        """Mean of each patch's middle, (13, 3) as shares of 65535, of the evened-out mosaic or of a picture."""
        raw = self.takes[frame, seconds]
        height, width = raw.mosaic.shape
        # The frame lies at the gate's middle; its length is 1 / 1.16 of the sensor's shorter side (square frame).
        side = height / 1.16
        left, rows = (width - side) / 2, slice(height // 2 - 80, height // 2 + 80)
        source = scaled(raw, self.flat) if picture is None else picture
        found = []
        for n in range(len(STOPS)):
            middle = int(left + side * (n + 0.5) / len(STOPS))
            columns = slice((middle - 14) & ~1, (middle + 14) & ~1)
            part = source[rows, columns]
            if picture is None:
                part = np.stack([part[::2, ::2], (part[::2, 1::2] / 2 + part[1::2, ::2] / 2), part[1::2, 1::2]], -1)
            found.append(part.reshape(-1, part.shape[-1] if part.ndim == 3 else 1).mean(axis=0) / 65535)
        return np.array(found)

    def clear(self, seconds: float) -> np.ndarray:
        """The base's light, measured once at 1/40 s and carried to another time by the ratio of true times."""
        raw = self.takes[3, 1 / 40]
        source = scaled(raw, self.flat)[500:650, 800:950]
        base = np.array([source[::2, ::2].mean(), (source[::2, 1::2].mean() + source[1::2, ::2].mean()) / 2,
                         source[1::2, 1::2].mean()]) / 65535  # fmt: skip
        return base * seconds * 40


@pytest.fixture(scope="module")
def captured() -> Captured:
    return Captured("colour")


@pytest.mark.parametrize("seconds", [1 / 40, 1 / 10])
def test_the_light_is_found_again_over_the_straight_part(captured, seconds):
    clear = captured.clear(seconds)
    patches = captured.patches(1, seconds)
    for channel, gamma in enumerate(GAMMAS):
        light = log_exposure(density(patches[:, channel], clear[channel]), 0.0, gamma)
        relative = light - light[STOPS == 0.0]
        straight = STOPS >= -2.0  # the toe begins a stop further down
        assert np.abs(relative - STOPS * np.log10(2.0))[straight].max() < 0.03


def look(captured: Captured, seconds: float, lighter: float = 0.0) -> Look:
    """The roll's neutral: balanced once, at middle grey of the frame exposed as the box says."""
    grey = captured.patches(1, 1 / 40)[STOPS == 0.0][0]
    middle = tuple(float(density(grey[c], captured.clear(1 / 40)[c])) for c in range(3))
    clear = tuple(float(v) for v in captured.clear(seconds))
    return Look(Tone.NEGATIVE, Colour.COLOUR, clear, Balance(GAMMAS, middle), Paper(), lighter)


def rendered(captured: Captured, frame: int, seconds: float, lighter: float = 0.0) -> np.ndarray:
    raw = captured.takes[frame, seconds]
    picture = render(scaled(raw, captured.flat), raw.pattern, look(captured, seconds, lighter))
    return captured.patches(frame, seconds, picture)


@pytest.mark.parametrize(("frame", "lighter"), [(1, 0.0), (2, -2.0)])
@pytest.mark.parametrize("seconds", [1 / 40, 1 / 10])
def test_a_neutral_stays_neutral_over_four_stops(captured, frame, lighter, seconds):
    patches = rendered(captured, frame, seconds, lighter)
    four = (STOPS >= -2.0) & (STOPS <= 2.0)
    # What the print of this grey should be: the paper's luminance, without any colour.
    wanted = print_share(STOPS * np.log10(2.0), Paper())
    for got, luminance in zip(patches[four], wanted[four], strict=True):
        linear = science.cctf_decoding(got, function="sRGB")
        lab = science.XYZ_to_Lab(science.RGB_to_XYZ(linear, "sRGB"))
        grey = science.XYZ_to_Lab(science.RGB_to_XYZ([luminance] * 3, "sRGB"))
        assert science.delta_E(lab, grey, method="CIE 2000") < 2.0


def test_the_camera_s_shutter_leaves_no_trace(captured):
    short, long = rendered(captured, 1, 1 / 40), rendered(captured, 1, 1 / 10)
    assert np.abs(short - long)[STOPS >= -2.0].max() < 0.01


def test_an_ordinary_neutral_without_its_data_sheet_is_off_by_what_the_layers_differ(captured):
    plain = replace(look(captured, 1 / 40), balance=Balance((0.6,) * 3, look(captured, 1 / 40).balance.middle))
    raw = captured.takes[1, 1 / 40]
    patches = captured.patches(1, 1 / 40, render(scaled(raw, captured.flat), raw.pattern, plain))
    drift = (patches[:, 2] - patches[:, 0])[STOPS == 2.0][0]
    assert abs(drift) > 0.01  # the test can tell: a wrong contrast does show
