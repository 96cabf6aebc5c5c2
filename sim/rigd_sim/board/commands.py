"""One command at a time: words in, one answer or one refusal out."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from rigd_sim.board.motion import Seek
from rigd_sim.board.ramp import plan_ms
from rigd_sim.board.settings import ROWS, fits

if TYPE_CHECKING:
    from rigd_sim.board.board import Board

_NUMBER = re.compile(r"[+-]?[0-9]{1,9}")
WORDS_MAX = 6
LEAST_SPEED = 50  # steps/s: slower, an interval would not fit the timer


class Refused(Exception):
    """The board says no; the text is the refusal's words."""


def carry_out(board: Board, words: str) -> str:
    """Do what the words say; the answer's words. Raises Refused."""
    verb, *rest = words.split(" ")
    if len(rest) >= WORDS_MAX:
        raise Refused("ARGUMENT")
    if verb in _BARE and not rest:
        return _BARE[verb](board)
    if verb in _VERBS:
        return _VERBS[verb](board, rest)
    raise Refused("UNKNOWN")


def _number(word: str) -> int:
    if not _NUMBER.fullmatch(word):
        raise Refused("ARGUMENT")
    return int(word)


def _may_move(board: Board) -> None:
    if board.latched:
        raise Refused("STOPPED")
    if board.pin["fault"]:
        raise Refused("FAULT")
    if board.motion.going:
        raise Refused("MOVING")


def _begin(board: Board, steps: int, speed: int, seek: Seek) -> str:
    _may_move(board)
    settings = board.settings
    if not steps:
        raise Refused("ARGUMENT")
    if abs(steps) > settings["span"]:
        raise Refused(f"LIMIT span={settings['span']}")
    if speed > settings["top"]:
        raise Refused(f"LIMIT top={settings['top']}")
    if speed < LEAST_SPEED:
        raise Refused(f"LIMIT least={LEAST_SPEED}")
    ms = plan_ms(abs(steps), speed, settings["ramp"])
    if seek is Seek.NOTHING and ms > settings["longest"]:
        raise Refused(f"LIMIT longest={settings['longest']}")
    board.begin(steps, speed, seek)
    return f"steps={steps} ms={ms}"


def _move(board: Board, rest: list[str]) -> str:
    if len(rest) not in (1, 2):
        raise Refused("ARGUMENT")
    steps, *speed = map(_number, rest)
    return "MOVE " + _begin(board, steps, speed[0] if speed else board.settings["top"], Seek.NOTHING)


def _seek(board: Board, rest: list[str]) -> str:
    if len(rest) != 2 or rest[0] not in ("film", "clear"):
        raise Refused("ARGUMENT")
    return "SEEK " + _begin(board, _number(rest[1]), board.settings["creep"], Seek(rest[0]))


def _halt(board: Board) -> str:
    board.motion.ease("halt")
    return "HALT"


def _clear(board: Board) -> str:
    board.latched = board.pin["stop"]
    if board.latched:
        raise Refused("HELD")
    return "CLEAR"


def _place(board: Board, rest: list[str]) -> str:
    if len(rest) != 1:
        raise Refused("ARGUMENT")
    at = _number(rest[0])
    _may_move(board)
    board.motion.declare(at)
    return f"PLACE at={at}"


def _grip(board: Board, rest: list[str]) -> str:
    if rest not in (["on"], ["off"]):
        raise Refused("ARGUMENT")
    _may_move(board)
    board.motion.grip(rest == ["on"])
    return f"GRIP {rest[0]}"


def _lamp(board: Board, rest: list[str]) -> str:
    if len(rest) not in (0, 4):
        raise Refused("ARGUMENT")
    levels = tuple(map(_number, rest))
    if any(not 0 <= level <= 255 for level in levels):
        raise Refused("ARGUMENT")
    if levels and board.latched:
        raise Refused("STOPPED")
    if levels:
        board.lamp.set(levels, board.ms)
    white, red, green, blue = board.lamp.levels
    return f"LAMP w={white} r={red} g={green} b={blue} warm={board.lamp.warm_in_ms(board.ms)}"


def _read(board: Board, rest: list[str]) -> str:
    if len(rest) != 1 or rest[0] not in ROWS:
        raise Refused("ARGUMENT")
    return f"READ {rest[0]}={board.settings[rest[0]]}"


def _keep(board: Board, rest: list[str]) -> str:
    if len(rest) != 2 or rest[0] not in ROWS:
        raise Refused("ARGUMENT")
    name, value = rest[0], _number(rest[1])
    if board.motion.going:
        raise Refused("MOVING")
    if not fits(name, value):
        raise Refused("LIMIT")
    board.settings.keep(name, value)
    return f"KEEP {name}={value}"


def _hello(board: Board) -> str:
    settings = board.settings
    identity = "film-advancer proto=1 fw=1.0 pedals=2 lamp=wrgb"
    return f"HELLO {identity} boot={settings.boot} kept={int(settings.kept)}"


def _ask(board: Board) -> str:
    motion = board.motion
    return (
        f"ASK at={motion.at} go={int(motion.going)} sure={int(motion.sure)} grip={int(motion.gripped)}"
        f" film={int(motion.film.there)} stop={int(board.latched)} why={motion.why}"
        f" edges={motion.film.edges} boot={board.settings.boot}"
    )


_BARE: dict[str, Callable[[Board], str]] = {"HELLO": _hello, "ASK": _ask, "HALT": _halt, "CLEAR": _clear}
_VERBS: dict[str, Callable[[Board, list[str]], str]] = {
    "MOVE": _move,
    "SEEK": _seek,
    "PLACE": _place,
    "GRIP": _grip,
    "LAMP": _lamp,
    "READ": _read,
    "KEEP": _keep,
}
