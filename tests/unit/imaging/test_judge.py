"""Whole judgements of simulated exposures: the aim is reached, film is told from nothing, the same twice is seen."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction

import numpy as np
import pytest

from rigd.imaging import Asked, Raw, encode_jpeg, judge, open_gate, open_raw, preview
from rigd.model.values import Exposure
from rigd.model.words import Colour, Film, Quality, Tone
from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene import FrameSpec, Scene, SceneSpec

ROLL = ((2, FrameSpec("unexposed")), (3, FrameSpec("dense")), (4, FrameSpec("thin")))


class Bench:
    """A camera over a simulated roll: exposes, writes the file, judges it."""

    def __init__(self, folder, film_format, tone, colour, overrides=ROLL):
        spec = SceneSpec(2, film_format, tone, colour, frames=4, strip=4, script="plain", overrides=overrides)
        self.time, self.path = 0.0, folder / "take.dng"
        self.scene = Scene(spec, lambda: self.time)
        self.format, self.tone, self.colour = film_format, Tone(tone), Colour(colour)
        self.lamp = open_gate(self.expose(1 / 2000), Exposure(1 / 2000, "1/2000"))
        self.base = None

    def place(self, frame: int | None) -> None:
        if frame is None:
            self.scene.lay(None)
        else:
            self.scene.lay(1)
            self.scene.slide(frame=frame, seconds=0.0)
        self.time += 60.0

    def expose(self, seconds: float) -> Raw:
        self.time += 10.0
        mosaic = self.scene.expose(self.time, seconds, 8.0, 100)
        meta = ShotMeta(Fraction(seconds).limit_denominator(100000), 8.0, 100, datetime(2026, 3, 4, 5, 6, 7), "S1")
        self.path.write_bytes(encode_dng(mosaic, meta, np.zeros((64, 96, 3), np.uint8)))
        return open_raw(self.path)

    def asked(self, seconds: float, **more) -> Asked:
        scale = self.scene.truth()["px_per_mm"]
        known = {"lamp_1s": self.lamp, "base_1s": self.base} | more
        return Asked(self.format, self.tone, self.colour, Exposure(seconds, ""), scale, **known)

    def judged(self, seconds: float, **more):
        return judge(self.expose(seconds), self.asked(seconds, **more))

    def corrected(self, seconds: float, times: int = 2, **more):
        """The judgement after at most so many corrections, in whole thirds as a camera has them."""
        for _ in range(times):
            found = self.judged(seconds, **more)
            if not found.correction_stops:
                return found, seconds
            seconds *= 2.0 ** (np.floor(found.correction_stops * 3) / 3)
        return self.judged(seconds, **more), seconds

    def corners_off_mm(self, found, frame: int) -> float:
        truth = next(f for f in self.scene.truth()["frames"] if f["place"] == frame)
        off = np.abs(np.array(found.corners) - np.array(truth["corners_px"])).max()
        return off / self.scene.truth()["px_per_mm"]


KINDS = [
    ("120-6x6", "negative", "mono"),
    ("135", "negative", "colour"),
    ("135", "positive", "colour"),
    ("120-6x9", "negative", "mono"),
]


@pytest.fixture(scope="module", params=KINDS, ids="-".join)
def bench(request, tmp_path_factory):
    made = Bench(tmp_path_factory.mktemp("takes"), *request.param)
    yield made
    made.scene.close()


@pytest.mark.parametrize("known", [True, False], ids=["lamp known", "nothing known"])
@pytest.mark.parametrize("stops", [-6.0, -2.0, 2.0, 6.0])
@pytest.mark.parametrize("frame", [1, 3, 4])
def test_from_six_stops_off_to_the_aim_in_two_corrections(bench, frame, stops, known):
    bench.place(frame)
    more = {} if known else {"lamp_1s": None, "base_1s": None}
    _, right = bench.corrected(1 / 30, 5, **more)
    found, _ = bench.corrected(right * 2.0**stops, 2, **more)
    assert found.correction_stops == 0.0, found.verdict
    assert found.verdict.take in (Quality.GOOD, Quality.EXCEEDS), found.verdict
    assert found.verdict.film is Film.PICTURE
    assert found.verdict.level.clipped_pct <= 0.1


@pytest.mark.parametrize("frame", [1, 3, 4])
def test_the_picture_is_found(bench, frame):
    bench.place(frame)
    found, _ = bench.corrected(1 / 30, 4)
    # Block means of 2 MP are 0.1 mm wide.
    assert bench.corners_off_mm(found, frame) < 0.5


def test_a_blank_is_told_from_a_picture_and_needs_no_retake(bench):
    bench.place(1)
    first, seconds = bench.corrected(1 / 30, 4)
    bench.place(2)
    found = bench.judged(seconds, base_1s=first.base_1s)
    assert found.verdict.film is Film.UNEXPOSED, found.verdict
    assert (found.verdict.take, found.correction_stops) == (Quality.GOOD, 0.0)


def test_an_empty_gate_is_told(bench):
    bench.place(None)
    found = bench.judged(1 / 1000)
    assert found.verdict.film is Film.NO_FILM, found.verdict


def test_with_nothing_known_an_even_gate_is_suspect_not_guessed(bench):
    bench.place(None)
    found = bench.judged(1 / 1000, lamp_1s=None, base_1s=None)
    assert found.verdict.film is not Film.PICTURE
    assert found.verdict.take is Quality.SUSPECT


def test_the_same_exposure_again_is_stale(bench):
    bench.place(1)
    _, seconds = bench.corrected(1 / 30, 4)
    raw = bench.expose(seconds)
    first = judge(raw, bench.asked(seconds))
    again = judge(raw, bench.asked(seconds, last_good=(first.signature,)))
    assert again.verdict.take is Quality.STALE
    assert "had given before" in again.verdict.why


def test_film_that_did_not_move_is_seen_and_film_that_did_is_not(bench):
    bench.place(1)
    first, seconds = bench.corrected(1 / 30, 4)
    still = bench.judged(seconds, last_good=(first.signature,))
    assert (still.verdict.take, "not moved" in still.verdict.why) == (Quality.STALE, True)
    bench.place(3)
    other, _ = bench.corrected(seconds, 4, last_good=(first.signature,))
    assert other.verdict.take is Quality.GOOD


def test_a_file_that_was_exposed_otherwise_is_stale(bench):
    bench.place(1)
    raw = bench.expose(1 / 60)
    assert judge(raw, bench.asked(1 / 15)).verdict.take is Quality.STALE


def test_both_previews_are_pictures_of_the_whole_sight(bench):
    bench.place(1)
    found, seconds = bench.corrected(1 / 30, 4)
    seen, positive = preview(bench.expose(seconds), bench.tone, bench.colour, found.corners, longest_px=600)
    assert seen.shape == positive.shape == (288, 432, 3)
    assert seen.dtype == positive.dtype == np.uint8
    inside = positive[100:-100, 150:-150]
    assert inside.std() > 15
    assert encode_jpeg(positive)[:2] == b"\xff\xd8"
    if bench.tone is Tone.NEGATIVE:
        darks = np.corrcoef(seen[100:-100, 200:-200, 1].ravel(), positive[100:-100, 200:-200, 1].ravel())[0, 1]
        assert darks < -0.8
