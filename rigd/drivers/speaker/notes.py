"""Notes as a WAV file. They stand in one file, which the page plays from too: here and there it sounds the same."""

from __future__ import annotations

import io
import wave
from pathlib import Path
from typing import Literal

import msgspec
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Shape = Literal["sine", "square", "triangle", "sawtooth"]
Note = tuple[float, float, float, Shape]
"""Hertz, seconds, loudness 0 to 1 (0: a rest), shape of the wave."""

RATE = 44_100
# A note swells and fades for so long, or it would click.
_EDGE_S = 0.005


class Tune(Struct, frozen=True):
    """A sound: what it says, whether the cycle needs it, and its notes."""

    says: str
    needed: bool
    notes: tuple[Note, ...]


def load_tunes(place: Path) -> dict[str, Tune]:
    """Every sound by its name, from the file of notes."""
    return msgspec.json.decode(place.read_bytes(), type=dict[str, Tune])


def wav(notes: tuple[Note, ...], volume: float = 1.0) -> bytes:
    """A WAV file: 16 bit, mono, 44.1 kHz; `volume` 0 to 1."""
    samples = np.concatenate([_sung(note) for note in notes]) * volume
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(np.rint(np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return out.getvalue()


def _sung(note: Note) -> NDArray[np.float64]:
    hertz, seconds, loud, shape = note
    count = round(seconds * RATE)
    turns = np.arange(count) / RATE * hertz
    edge = np.minimum(np.arange(count), np.arange(count)[::-1]) / (_EDGE_S * RATE)
    return _wave(turns, shape) * np.clip(edge, 0.0, 1.0) * loud


def _wave(turns: NDArray[np.float64], shape: Shape) -> NDArray[np.float64]:
    """-1 to 1 over whole turns, beginning at zero and rising, as Web Audio's oscillators do."""
    if shape == "sine":
        return np.sin(2 * np.pi * turns)
    if shape == "square":
        return np.where(turns % 1.0 < 0.5, 1.0, -1.0)
    if shape == "sawtooth":
        return 2.0 * ((turns + 0.5) % 1.0) - 1.0
    return 1.0 - 4.0 * np.abs((turns + 0.25) % 1.0 - 0.5)
