"""How the board and its lamp are, told to everybody who looks: asked now and then while nothing is in hand."""

from __future__ import annotations

from msgspec.structs import replace

from rigd.drivers.board import BoardClient
from rigd.errors import BoardError, NotReady
from rigd.hub import Vitals
from rigd.operations.desk import Desk

# Somebody who looks at a lamp that warms up for minutes, or at a board that is silent, is served by a few seconds.
_ASK_S = 5.0


class BoardGauge:
    """Runs until it is cancelled. A board that does not answer keeps the time at which it was heard last."""

    def __init__(self, desk: Desk, board: BoardClient) -> None:
        self._desk, self._board = desk, board

    async def run(self) -> None:
        while True:
            if self._desk.hub.vitals.board_ok and not self._desk.engine().busy:
                await self.look()
            await self._desk.clock.sleep(_ASK_S)

    async def look(self) -> None:
        """Ask once, and tell."""
        try:
            place, lamp = await self._board.place(), await self._board.shining()
        except (BoardError, NotReady):
            self._tell(lamp_level=None, lamp_colour="", lamp_warm_in_s=None)
            return
        self._tell(
            board_heard=self._desk.clock.now(), board_film=place.film, board_stopped=place.stopped,
            lamp_level=round(lamp.level, 3), lamp_colour=lamp.colour, lamp_warm_in_s=round(lamp.warm_in_s, 1),
        )  # fmt: skip

    def _tell(self, **known: object) -> None:
        vitals: Vitals = replace(self._desk.hub.vitals, **known)
        self._desk.hub.notice(vitals)
