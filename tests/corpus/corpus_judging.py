"""A roll judged as the daemon judges it: lamp, base and the takes before are known as they come."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from corpus_render import F_NUMBER, ISO, LAMP_SECONDS, Rendered, Taken
from corpus_shots import Roll
from numpy.typing import NDArray

from rigd.imaging import Asked, Judgement, Raw, judge, open_gate
from rigd.imaging.signature import Signature
from rigd.model.values import Exposure
from rigd.model.words import Colour, Tone

BLACK, WHITE = 512.0, 16383.0
# The daemon compares with so many takes before.
_REMEMBERED = 6


@dataclass(frozen=True)
class Found:
    """One exposure judged against its truth; `off_mm` the worst corner's error, None where none were found."""

    roll: str
    number: int
    taken: Taken
    judgement: Judgement

    @property
    def film(self) -> str:
        return str(self.judgement.verdict.film or "not told")

    @property
    def take(self) -> str:
        return str(self.judgement.verdict.take)

    @property
    def film_right(self) -> bool:
        return self.judgement.verdict.film in self.taken.truth.film

    @property
    def take_right(self) -> bool:
        return self.take in self.taken.truth.take and all(n in self.note for n in self.taken.truth.notes)

    @property
    def note(self) -> str:
        return self.judgement.verdict.why.lower()

    @property
    def off_mm(self) -> float | None:
        truth = self.taken.truth
        if self.judgement.corners is None or truth.corners is None:
            return None
        off = np.array(self.judgement.corners) - np.array(truth.corners)
        return float(np.abs(off).max()) / truth.px_per_mm

    def shown(self) -> dict[str, Any]:
        """For the report."""
        truth, verdict = self.taken.truth, self.judgement.verdict
        numbers = {name: round(value, 3) for name, value in (truth.numbers | verdict.numbers).items()}
        return {
            "roll": self.roll, "number": self.number, "frame": self.taken.shot.frame, "fault": truth.fault,
            "film": self.film, "film_right": [str(word or "not told") for word in truth.film],
            "take": self.take, "take_right": list(truth.take), "why": verdict.why,
            "off_mm": None if self.off_mm is None else round(self.off_mm, 3), "numbers": numbers,
        }  # fmt: skip


def raw_of(mosaic: NDArray[np.uint16], seconds: float) -> Raw:
    """A decoded raw of the simulated sensor."""
    return Raw(mosaic, (0, 1, 1, 2), (BLACK,) * 4, WHITE, False, seconds, F_NUMBER, float(ISO), None)


def judged(roll: Roll, made: Rendered) -> list[Found]:
    """Every exposure of a roll, in order."""
    lamp = open_gate(raw_of(made.lamp, LAMP_SECONDS), Exposure(LAMP_SECONDS, "")) if roll.lamp_known else None
    found: list[Found] = []
    bases: list[tuple[float, float, float]] = []
    seen: list[tuple[object, Signature]] = []
    for number, taken in enumerate(made.taken):
        shot = taken.shot
        frame: object = (shot.frame, number) if shot.again or shot.same_file else shot.frame
        others = tuple(s for f, s in seen if f != frame) if not shot.first else ()
        base = None if shot.first or not bases else sorted(bases, key=lambda b: b[1])[len(bases) // 2]
        judgement = judge(raw_of(taken.mosaic, taken.seconds), _asked(roll, taken, lamp, base, others))
        found.append(Found(roll.name, number, taken, judgement))
        seen = [*seen, (shot.frame, judgement.signature)][-_REMEMBERED:]
        bases += [judgement.base_1s] if judgement.base_1s is not None else []
    return found


def _asked(
    roll: Roll, taken: Taken, lamp: tuple[float, float, float] | None, base: tuple[float, float, float] | None,
    others: tuple[Signature, ...],
) -> Asked:  # fmt: skip
    said = taken.seconds * (2.0 ** (1 / 3) if taken.shot.says_other_time else 1.0)
    assert math.isfinite(said)
    scale = taken.truth.px_per_mm if roll.scale_known else None
    return Asked(
        roll.spec.film_format, Tone(roll.spec.tone), Colour(roll.spec.colour), Exposure(said, ""), scale, lamp, base,
        last_good=others,
    )  # fmt: skip
