"""Frozen plans: all that a worker needs to know of a frame, so that nobody but the owner opens the ledger."""

from __future__ import annotations

import hashlib

import msgspec
from msgspec import Struct

from rigd.model.values import About
from rigd.model.words import Colour, Tone

Three = tuple[float, float, float]

PLAN_VERSION = 1
"""Part of every key: raised when the same plan would give other pixels."""


class Source(Struct, frozen=True):
    """One take of a frame: its file relative to the job's folder, that file's checksum, its true time in seconds, its
    purpose (`whole`, `bracket`, `channel`, `flat`), and which lamp colour it was (0 red, 1 green, 2 blue) for a channel
    take."""

    path: str
    sha256: str
    seconds: float
    purpose: str = "whole"
    lamp: int | None = None


class Print(Struct, frozen=True):
    """The print's tones: contrast, and densities of paper white and black; `lighter_stops` of this frame alone."""

    contrast: float = 1.1
    white: float = 0.05
    black: float = 2.1
    lighter_stops: float = 0.0


class Lie(Struct, frozen=True):
    """How the picture lies in its takes: corners as shares of the sensor (clockwise from the upper left; empty where
    they were not found: the whole sight is delivered), what is left about them in mm, the turn in quarters clockwise,
    whether it is mirrored, and pixels a mm (0.0 where nobody knows)."""

    corners: tuple[tuple[float, float], ...] = ()
    margin_mm: float = 0.0
    quarters: int = 0
    mirrored: bool = False
    px_per_mm: float = 0.0


class FramePlan(Struct, frozen=True):
    """One picture to be made. `name`: file name without its ending. `clear_1s`: L (stops under saturation) for 1 s
    where the film has no density of its own, in R, G, B. `gamma`, `middle`: the balance. `matrix`: camera colours
    to linear sRGB for positives in colour, row by row, or empty. `proof_px`: longer side of the JPEG proof;
    `xmp`: what is told about the picture, for the TIFF."""

    frame_id: str
    name: str
    tone: Tone
    colour: Colour
    sources: tuple[Source, ...]
    flats: tuple[Source, ...]
    clear_1s: Three
    gamma: Three
    middle: Three
    print: Print
    lie: Lie
    about: About = About()
    matrix: tuple[Three, ...] = ()
    proof_px: int = 1600
    xmp: bytes = b""

    def key(self) -> str:
        """The same key, the same files: sha256 over everything that the pixels and their metadata come from."""
        return hashlib.sha256(b"%d %s" % (PLAN_VERSION, msgspec.json.encode(self, order="deterministic"))).hexdigest()


class Made(Struct, frozen=True):
    """One file that was made: path relative to the delivery's payload, size in bytes."""

    path: str
    bytes: int


class FrameMade(Struct, frozen=True):
    """What came of one plan: its key, the files, the size of the picture in pixels, seconds by step."""

    frame_id: str
    key: str
    files: tuple[Made, ...]
    width: int
    height: int
    seconds: dict[str, float] = {}


class Digests(Struct, frozen=True):
    """Both checksums of a file, in hexadecimal, and its size."""

    sha256: str
    sha512: str
    bytes: int
