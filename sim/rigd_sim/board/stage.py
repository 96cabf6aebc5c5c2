"""The board's part in the shared scene: its motor moves the film that the simulated camera sees, its lamp lights it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from rigd_sim.board.board import Board, Outside
from rigd_sim.board.motion import TICKS_PER_MS
from rigd_sim.control import ControlError, Hand

LOOK_S = 0.2  # between looks at film laid or moved by hand; it counts as come after 20 ms anyway
CATCH_UP_S = 0.05  # a motion that ended early: the scene's film comes to rest where the board's did
TICKS_PER_S = 1000 * TICKS_PER_MS


class Stage:
    """Follows the camera's control socket at `path`. `sensor_mm`: the film sensor lies so far before the gate's middle.

    Film runs so that the strip's millimetres at the gate grow with forward steps. Where the scene does not answer any
    more, the board goes on without film.
    """

    def __init__(self, path: Path, outside: Outside, sensor_mm: float) -> None:
        self._hand = Hand(path)
        self._outside, self._sensor_mm = outside, sensor_mm
        self._thread = ThreadPoolExecutor(1, "board-scene")  # one call after the other, in order
        self._going = False
        self._promised = 0
        self._moves = 0
        outside.began, outside.rested, outside.shone = self._began, self._rested, self._shone

    def _do(self, call: Callable[[], object]) -> None:
        self._thread.submit(_quietly, call)

    def _steps_per_mm(self, board: Board) -> float:
        return board.settings["gear"] / 1000

    def _slide(self, board: Board, seconds: float, ahead: int = 0) -> None:
        track = self._outside.track
        if track.length and not track.stuck:
            to_mm = (track.at - track.lead + ahead) / self._steps_per_mm(board) - self._sensor_mm
            self._do(lambda: self._hand.slide(to_mm=to_mm, seconds=seconds))

    def _began(self, board: Board) -> None:
        ahead, until = board.motion.forecast()
        self._going, self._moves = True, self._moves + 1
        self._promised = self._outside.track.at + ahead
        self._slide(board, (until - board.tick) / TICKS_PER_S, ahead)

    def _rested(self, board: Board) -> None:
        self._going = False
        if self._outside.track.at != self._promised:
            self._slide(board, CATCH_UP_S)

    def _shone(self, levels: tuple[int, ...]) -> None:
        self._do(lambda: self._hand.lamp(any(levels), max(levels) / 255))

    async def follow(self, board: Callable[[], Board]) -> None:
        """See what a hand does to the film while the motor rests. Until cancelled."""
        loop = asyncio.get_running_loop()
        while True:
            moves = self._moves
            seen = await loop.run_in_executor(self._thread, _quietly, self._hand.film)
            if not self._going and moves == self._moves:
                self._lay(board(), seen)
            await asyncio.sleep(LOOK_S)

    def _lay(self, board: Board, seen: Any) -> None:
        track = self._outside.track
        if not seen or seen["strip"] is None:
            track.length = 0
        elif not seen["moving"]:
            # The strip's ends lie as far from its outer frames as half a gap: at both ends the same.
            first, last = seen["frames"][0], seen["frames"][-1]
            before = first["centre_mm"] - first["size_mm"][0] / 2
            length = last["centre_mm"] + last["size_mm"][0] / 2 + before
            scale = self._steps_per_mm(board)
            track.lead, track.length = 0, round(length * scale)
            track.at = round((seen["position_mm"] + self._sensor_mm) * scale)

    def close(self) -> None:
        self._thread.shutdown(wait=True)
        self._hand.close()


def _quietly(call: Callable[[], object]) -> object:
    try:
        return call()
    except ControlError:
        return None
