"""A clumsy hand: too far, back, half way, then to the wanted frame. Whatever the pictures show, none is mistaken."""

from __future__ import annotations

import random

import pytest
from tests.unit.engine.hand_slides import HandSlides
from tests.unit.imaging.live_views import view

from rigd.engine.arming_values import Wanted, What


@pytest.mark.parametrize(("film", "tone", "colour", "seed", "pace_s"), [
    ("120-6x6", "negative", "mono", 6, (0.08, 0.12)), ("120-6x6", "negative", "mono", 6, (0.15, 0.4)),
    ("120-6x6", "positive", "colour", 3, (0.08, 0.12)), ("135", "negative", "mono", 8, (0.08, 0.12)),
])  # fmt: skip
def test_no_frame_is_mistaken_for_another(
    film: str, tone: str, colour: str, seed: int, pace_s: tuple[float, float]
) -> None:
    """Against the scene's truth. At ten pictures a second each frame is known where it is laid at last; at three the
    film may be lost, which is said, and nothing is taken then."""
    chance = random.Random(seed)
    with view(film, tone, colour, megapixels=2, seed=seed) as scene:
        hand, frames = HandSlides(scene, chance, pace_s), scene.scene.strips[0].frames
        hand.lay()
        found = hand.decide(Wanted("s", 1, True))
        assert found.what is What.WANTED
        hand.take(found, 1)
        for frame in frames[1:4]:
            wanted = Wanted("s", frame.place)
            for last in (False, False, True):
                off = 0.0 if last else chance.choice((-1, 1)) * chance.uniform(0.2, 0.7) * hand.place.pitch_mm
                hand.slide(frame, off, chance.uniform(0.6, 1.4))
                found = hand.decide(wanted)
                if found.what is What.WANTED:
                    assert hand.lies(frame)
                    break
                if found.what is What.UNSURE:
                    assert pace_s[1] > 0.2
                    return
            assert found.what is What.WANTED
            hand.take(found, frame.place)
