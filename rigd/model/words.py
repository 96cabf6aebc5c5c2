"""The closed sets of words: what a frame on film can be, what a take can be, why a take was made."""

from __future__ import annotations

from enum import StrEnum


class Tone(StrEnum):
    NEGATIVE = "negative"
    POSITIVE = "positive"


class Colour(StrEnum):
    MONO = "mono"
    COLOUR = "colour"


class BaseType(StrEnum):
    SAFETY = "safety"
    NITRATE = "nitrate"
    UNKNOWN = "unknown"


class Emulsion(StrEnum):
    """The side on which the emulsion lies, as the film lies in the gate."""

    UP = "up"
    DOWN = "down"


class Film(StrEnum):
    """What the film itself shows. Never mixed with `Quality`, which is about one exposure of it."""

    PICTURE = "picture"
    UNEXPOSED = "unexposed"
    FOGGED = "fogged"
    NO_FILM = "no film"


class Quality(StrEnum):
    """What one take is worth."""

    GOOD = "good"
    LOW = "low"
    HIGH = "high"
    CLIPPED = "clipped"
    EXCEEDS = "exceeds"
    SOFT = "soft"
    MISPLACED = "misplaced"
    STALE = "stale"
    SUSPECT = "suspect"


class Purpose(StrEnum):
    WHOLE = "whole"
    TILE = "tile"
    BRACKET = "bracket"
    CHANNEL = "channel"
    LABEL = "label"
    BASE = "base"
    FLAT = "flat"
    DARK = "dark"


class Aim(StrEnum):
    """Where a histogram is to sit: its own middle, or the base of a held roll."""

    CENTRE = "centre"
    BASE = "base"


class Mains(StrEnum):
    """The mains that a lamp ripples with, Hz; only times of whole ripples are used."""

    OFF = "off"
    HZ_50 = "50"
    HZ_60 = "60"
    BOTH = "both"


class Second(StrEnum):
    """What to do about a picture whose range one exposure cannot hold."""

    OFFER = "offer"
    TAKE = "take"


class Stage(StrEnum):
    """How far a take has come. Every stage but the last two has one defined recovery after a crash."""

    INTENDED = "intended"
    EXPOSED = "exposed"
    FETCHED = "fetched"
    STORED = "stored"
    JUDGED = "judged"
    LOST = "lost"


class Decision(StrEnum):
    KEEP = "keep"
    RETAKE = "retake"
    ASK = "ask"
    STOP = "stop"
