"""What the board's lines mean: answers, refusals, and the things it tells unasked."""

from __future__ import annotations

from msgspec import Struct

from rigd.drivers.board.codec import Line


class Answer(Struct, frozen=True):
    """`verb` and what was said about it: bare words, and pairs."""

    number: int
    verb: str
    words: tuple[str, ...]
    pairs: dict[str, str]

    def number_of(self, name: str) -> int:
        """A whole number among the pairs. Raises ValueError if it is missing or none."""
        return int(self.pairs.get(name, ""))


class Refusal(Struct, frozen=True):
    """`code` as in the protocol; `number` 0 where the board could not even read the command (GARBLED)."""

    number: int
    code: str
    pairs: dict[str, str]


class Boot(Struct, frozen=True):
    why: str
    boot: int


class Rest(Struct, frozen=True):
    """A motion has ended at step `at`; `edge` where an end of the film passed the sensor during it."""

    at: int
    why: str
    edge: int | None = None


class FilmMoved(Struct, frozen=True):
    there: bool
    at: int


class PedalEdge(Struct, frozen=True):
    """`ms` by the board's own clock since its boot."""

    pedal: int
    down: bool
    ms: int


class Stopped(Struct, frozen=True):
    """`by`: `input` or `host`."""

    by: str
    at: int


class LampTold(Struct, frozen=True):
    warm: bool


class Greeted(Struct, frozen=True):
    """Not from the wire: the driver has greeted the board and been answered."""


class Untold(Struct, frozen=True):
    """An event that this driver does not know: a newer firmware, or numbers that do not fit."""

    words: str


Event = Boot | Rest | FilmMoved | PedalEdge | Stopped | LampTold | Greeted | Untold


def split(words: str) -> tuple[list[str], dict[str, str]]:
    """Bare words, and pairs of name=value."""
    parts = words.split()
    pairs = dict(part.split("=", 1) for part in parts if "=" in part)
    return [part for part in parts if "=" not in part], pairs


def reply_of(line: Line) -> Answer | Refusal:
    """The meaning of a line of kind "<" or "!"."""
    bare, pairs = split(line.words)
    first = bare[0] if bare else ""
    if line.kind == "!":
        return Refusal(line.number, first, pairs)
    return Answer(line.number, first, tuple(bare[1:]), pairs)


def event_of(line: Line) -> Event:
    """The meaning of a line of kind "#"."""
    bare, pairs = split(line.words)
    try:
        return _event(bare, pairs)
    except (KeyError, ValueError, IndexError):
        return Untold(line.words)


def _event(bare: list[str], pairs: dict[str, str]) -> Event:
    match bare:
        case ["BOOT"]:
            return Boot(pairs["why"], int(pairs["boot"]))
        case ["REST"]:
            edge = pairs.get("edge")
            return Rest(int(pairs["at"]), pairs["why"], None if edge is None else int(edge))
        case ["FILM", "in" | "out" as way]:
            return FilmMoved(way == "in", int(pairs["at"]))
        case ["PEDAL", which, "down" | "up" as way]:
            return PedalEdge(int(which), way == "down", int(pairs["ms"]))
        case ["STOP"]:
            return Stopped(pairs["by"], int(pairs["at"]))
        case ["LAMP", "warm" | "off" as how]:
            return LampTold(how == "warm")
    raise ValueError(bare)
