"""Confusion matrices of film and take, shares of softness, errors of framing, and every wrong frame by name."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
from corpus_judging import Found

Matrix = dict[str, dict[str, int]]


def report(found: list[Found]) -> dict[str, Any]:
    """Everything a reader wants to know of a run, JSON-ready."""
    wrong = [f for f in found if not (f.film_right and f.take_right)]
    return {
        "frames": len(found),
        "right_share": round(1 - len(wrong) / max(1, len(found)), 4),
        "film_right_share": _share([f.film_right for f in found]),
        "take_right_share": _share([f.take_right for f in found]),
        "worst": [f.shown() for f in worst_mistakes(found)],
        "film": _matrix(found, lambda f: _right_word(f.film, f.taken.truth.film), lambda f: f.film),
        "take": _matrix(found, lambda f: _right_word(f.take, f.taken.truth.take), lambda f: f.take),
        "soft": _softness(found),
        "framing": _framing(found),
        "ms": _spread([f.judgement.verdict.ms for f in found]),
        "wrong": [f.shown() for f in wrong],
    }


def worst_mistakes(found: list[Found]) -> list[Found]:
    """A picture called unexposed, and a clipped take called good."""
    blank = [
        f for f in found if not f.film_right and "picture" in f.taken.truth.film and f.film == "unexposed"
    ]
    clipped = [f for f in found if f.taken.truth.take == ("clipped",) and f.take in ("good", "exceeds")]
    return blank + [f for f in clipped if f not in blank]


def summary(told: dict[str, Any]) -> str:
    """A few lines for the terminal."""
    right = f"{100 * told['right_share']:.1f} % right"
    lines = [f"{told['frames']} frames, {right}, {len(told['worst'])} of the worst kind"]
    for name in ("film", "take"):
        lines += [f"{name} (rows: what is right; columns: what was found)"]
        lines += [f"  {truth:12s} {row}" for truth, row in told[name].items()]
    lines += [f"soft: {told['soft']}", f"framing: {told['framing']}", f"ms: {told['ms']}"]
    return "\n".join(lines)


def _right_word(word: str, right: tuple[str | None, ...]) -> str:
    """The row of a finding: its own where it is right, else the first that would be."""
    words = [str(w or "not told") for w in right]
    return word if word in words else words[0]


def _matrix(found: list[Found], right: Any, got: Any) -> Matrix:
    counts: dict[str, Counter[str]] = {}
    for one in found:
        counts.setdefault(right(one), Counter())[got(one)] += 1
    return {truth: dict(row) for truth, row in sorted(counts.items())}


def _softness(found: list[Found]) -> dict[str, float]:
    """Shares of soft takes caught, by what made them so, and of sharp ones accused."""
    figures: dict[str, float] = {}
    asked = [f for f in found if f.taken.truth.take[-1:] == ("soft",)]
    for fault in ("moved", "out of focus", "not flat"):
        named = [f.take == "soft" for f in asked if f.taken.truth.fault == fault]
        figures |= {f"{fault}: frames": len(named), f"{fault}: caught": _share(named)}
    sharp = [f for f in found if f.roll.startswith("soft") and f.taken.truth.fault == "none"]
    return figures | {"sharp: frames": len(sharp), "sharp: accused": _share([f.take == "soft" for f in sharp])}


def _framing(found: list[Found]) -> dict[str, Any]:
    """How far the worst corner is off, mm, where the film lay as it should."""
    off = [f.off_mm for f in found if f.off_mm is not None and f.taken.shot.frame is not None]
    looked = [f for f in found if f.taken.truth.corners is not None and "picture" in f.taken.truth.film]
    return {"off_mm": _spread(off), "over_1_mm": sum(o > 1 for o in off), "looked": len(looked), "found": len(off)}


def _spread(values: list[float]) -> dict[str, float]:
    if not values:
        return {}
    low, middle, high, most = np.percentile(values, [5, 50, 95, 100])
    return {name: round(float(v), 3) for name, v in (("5 %", low), ("median", middle), ("95 %", high), ("most", most))}


def _share(right: list[bool]) -> float:
    return round(sum(right) / len(right), 4) if right else 1.0
