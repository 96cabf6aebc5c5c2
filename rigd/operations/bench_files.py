"""Checks of the set-up on raw files from disk, without a camera, a ledger or a daemon."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from msgspec.structs import replace

from rigd.bench import evenness, flicker, noise, stray
from rigd.bench.optics import Advice, advise
from rigd.bench.values import Figure, Finding
from rigd.errors import InputError
from rigd.imaging import Raw, open_gate, open_raw
from rigd.model.values import Exposure

# Bands of a depth under this, in per cent, are hardly seen (common practice, no source).
_SEEN_PCT = 0.1
# Third-stop times that a body may offer, for the advice on flicker (common practice, no source).
_TIMES = tuple(1 / n for n in (10, 13, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 160, 200, 250, 320, 400, 500))


def even(files: Sequence[Path], turned: Sequence[Path] = ()) -> tuple[Finding, tuple[Figure, ...]]:
    """Evenness of light from takes of the empty, lit gate; with `turned`, takes with the lamp turned by 180 degrees,
    what is the lamp's and what stays. Blocking.

    Raises:
        RawUnreadable: a file cannot be decoded. InputError: a take says nothing about evenness.
    """
    straight = evenness.light([open_raw(path) for path in files])
    apart = evenness.turned(straight, evenness.light([open_raw(path) for path in turned])) if turned else ()
    return evenness.finding(straight), apart


def stray_light(dark: Path, gate: Path) -> Finding:
    """Stray light from a take with the lamp off and one of the open, lit gate. Blocking. Raises as `even` does."""
    lit = open_raw(gate)
    lamp = open_gate(lit, Exposure(lit.seconds, ""))
    if lamp is None:
        raise InputError(f"{gate.name} does not measure the lamp.", "Its middle is saturated or black.",
                         "Take the open gate with another time.")  # fmt: skip
    found = stray.room_light(open_raw(dark), lamp)
    return stray.finding("stray light", found, "Darken the room, turn the screen away, cover what shines on the film.")


def bands(file: Path, readout_ms: float | None = None) -> Finding:
    """Flicker from one take of the empty, lit gate; `readout_ms`: what the shutter takes to cross the frame, where it
    is known, for the frequency and the times that are safe. Blocking. Raises as `even` does."""
    raw = open_raw(file)
    found = flicker.bands(raw)
    # Bands that are hardly seen have no frequency worth telling.
    if not readout_ms or found.depth_pct < max(_SEEN_PCT, 3 * found.noise_pct):
        return flicker.finding(found, ())
    hertz = flicker.frequency(found, readout_ms / 1000)
    depth = flicker.depth_of_ripple(found, hertz, raw.seconds)
    said = flicker.finding(found, flicker.safe_times(_TIMES, hertz, depth))
    known = () if math.isnan(depth) else (Figure("its depth", 100 * depth, "%"),)
    return _with(said, Figure("ripple", hertz, "Hz"), *known)


def noise_and_range(files: Sequence[Path]) -> Finding:
    """Noise and range from pairs of like takes of an even field at four times or more; pairs are found by their time.
    Blocking. Raises as `even` does."""
    by_time: dict[float, list[Path]] = defaultdict(list)
    first: Raw | None = None
    for path in files:
        raw = open_raw(path)
        first = first or raw
        by_time[round(raw.seconds, 7)].append(path)
    pairs = [noise.pair(open_raw(two[0]), open_raw(two[1])) for two in by_time.values() if len(two) >= 2]
    if first is None or not pairs:
        raise InputError("There are no pairs.", "Two like takes at each time are needed.", "Name all of the series.")
    return noise.finding(noise.measure(pairs, first.black[first.pattern.index(1)], first.white))


def aperture(magnification: float, pitch_um: float, f_numbers: Sequence[float]) -> Advice:
    """Apertures compared by their numbers. Raises InputError for numbers that cannot be."""
    try:
        return advise(magnification, pitch_um, f_numbers)
    except ValueError as error:
        raise InputError("No advice can be given.", f"{error}.", "Give numbers over 0.") from error


def _with(said: Finding, *more: Figure) -> Finding:
    return replace(said, others=(*said.others, *more))
