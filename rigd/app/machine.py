"""The film advancer and the pedals of a desk: built from the settings, listened to, and given back."""

from __future__ import annotations

import asyncio
from pathlib import Path

from msgspec.structs import replace

from rigd.app.gauges import BoardGauge
from rigd.app.sounds import speaker_lines
from rigd.config import PressesSection, Settings
from rigd.drivers.board import BoardClient, BoardPedals
from rigd.drivers.clock import RealClock
from rigd.drivers.pedal import Timing
from rigd.drivers.pedal.host import HostPedal
from rigd.engine.caution import LampGuard
from rigd.engine.feed import Feed
from rigd.engine.feed_values import FeedLimits
from rigd.errors import BoardError, PedalError
from rigd.model.events import Troubled
from rigd.operations.checking import CheckLine
from rigd.operations.desk import Desk
from rigd.operations.machine import board_told
from rigd.operations.pressing import Pedal, obey
from rigd.ports import Change, Press, Trigger

_AGAIN_S = 2.0


class Machine:
    """`run` listens until it is cancelled. Without a board or a pedal in the settings there is nothing to do."""

    def __init__(self, desk: Desk, settings: Settings) -> None:
        self._desk, self._settings = desk, settings
        self._board: BoardClient | None = None
        self._pedals: list[tuple[Trigger, Pedal]] = []
        if settings.board.address:
            self._board = BoardClient(settings.board.address, desk.clock)
            if settings.board.feed:
                desk.engine().feed = _feed(desk, settings, self._board)
        if settings.pedal.device:
            self._pedals.append((_host_pedal(desk, settings), Pedal(desk, gestures(settings.pedal))))

    async def run(self) -> None:
        """Listen to the board and to the pedals."""
        async with asyncio.TaskGroup() as group:
            if self._board is not None:
                group.create_task(self._hear_board(self._board), name="board")
                guard = LampGuard(self._desk.hub, self._board, self._desk.clock)
                group.create_task(guard.run(), name="lamp guard")
                group.create_task(BoardGauge(self._desk, self._board).run(), name="board gauge")
            for trigger, pedal in self._pedals:
                group.create_task(self._hear_pedal(trigger, pedal), name="pedal")

    async def close(self) -> None:
        """Give everything back."""
        for trigger, _ in self._pedals:
            await trigger.close()
        if self._board is not None:
            await self._board.close()

    async def lines(self) -> list[CheckLine]:
        """What `rigd check` tells of board and pedal; moves nothing."""
        return [*(await board_lines(self._board)), *pedal_lines(self._settings), *speaker_lines(self._settings.speaker)]

    # -- inside ------------------------------------------------------------------------------------------------------

    async def _hear_board(self, board: BoardClient) -> None:
        section = self._settings.board
        both = {
            f"board pedal {number}": Pedal(self._desk, gestures(one))
            for number, one in enumerate((section.pedal_1, section.pedal_2), 1)
        }
        timing = _timing(*(section.pedal_1, section.pedal_2))
        pedals = BoardPedals(board, self._desk.clock, timing)
        await self._opened(pedals)
        self._say_board(True)
        try:
            async with asyncio.TaskGroup() as group:
                queues: dict[str, _Queue] = {source: _Queue() for source in both}
                for source, pedal in both.items():
                    group.create_task(obey(self._desk, pedal, queues[source]), name=source)
                while True:
                    found = await pedals.next()
                    if isinstance(found, Press):
                        queues[found.source].put(found)
                    else:
                        await self._changed(found)
        finally:
            await pedals.close()

    async def _opened(self, pedals: BoardPedals) -> None:
        """It may be plugged in later. That it is missing is told by the engine, or by nobody who feeds by hand."""
        self._say_board(False)
        while True:
            try:
                await pedals.open()
            except BoardError:
                await self._desk.clock.sleep(_AGAIN_S)
            else:
                return

    async def _changed(self, change: Change) -> None:
        if change.what in ("gone", "restarted"):
            self._say_board(False)
        elif change.what == "back":
            self._say_board(True)
        await board_told(self._desk, change)

    async def _hear_pedal(self, trigger: Trigger, pedal: Pedal) -> None:
        try:
            await trigger.open()
        except PedalError as error:
            await self._desk.hub.append(Troubled(error.code, error.what, error.why, error.remedy))
            return
        await obey(self._desk, pedal, trigger)

    def _say_board(self, there: bool) -> None:
        vitals = self._desk.hub.vitals
        self._desk.hub.notice(replace(vitals, board=self._settings.board.address, board_ok=there))


class _Queue:
    """Presses of one of the board's pedals, as a Trigger."""

    def __init__(self) -> None:
        self._presses: asyncio.Queue[Press] = asyncio.Queue()

    def put(self, press: Press) -> None:
        self._presses.put_nowait(press)

    async def open(self) -> str:
        return ""

    async def next(self) -> Press | Change:
        return await self._presses.get()

    async def close(self) -> None:
        return None


def gestures(section: PressesSection) -> dict[str, str]:
    """What the settings assign to short, long and double presses."""
    return {"short": section.short, "long": section.long, "double": section.double}


def _timing(*sections: PressesSection) -> Timing:
    """A gesture that nothing is assigned to is not waited for."""
    usual = Timing()
    unused = [all(getattr(section, name) == "none" for section in sections) for name in ("long", "double")]
    return Timing(usual.debounce, None if unused[0] else usual.long, None if unused[1] else usual.double)


def _host_pedal(desk: Desk, settings: Settings) -> HostPedal:
    pedal = settings.pedal
    return HostPedal(
        Path(pedal.device), desk.clock, pedal.key, _timing(pedal), keyboard_confirmed=pedal.keyboard
    )


def _feed(desk: Desk, settings: Settings, board: BoardClient) -> Feed:
    section, engine = settings.board, desk.engine()
    limits = FeedLimits(section.sensor_mm, section.tolerance_mm, lamp=section.lamp, colour=section.colour)
    return Feed(engine.rig, engine.cycle, engine.eyes, board, limits, board)


async def machine_lines(settings: Settings) -> list[CheckLine]:
    """Board and pedal where no daemon has them; moves nothing."""
    board = BoardClient(settings.board.address, RealClock()) if settings.board.address else None
    try:
        return [*(await board_lines(board)), *pedal_lines(settings), *speaker_lines(settings.speaker)]
    finally:
        if board is not None:
            await board.close()


async def board_lines(board: BoardClient | None) -> list[CheckLine]:
    """The board as it answers now; nothing where none is named."""
    if board is None:
        return []
    try:
        drive = await board.reach()
        place = await board.place()
    except BoardError as error:
        return [CheckLine("advancer", "missing", f"{error.what} {error.why}".strip(), error.remedy)]
    told = f"{drive.name} {drive.version}, {1 / drive.mm_per_step:.0f} steps/mm, {drive.pedals} pedals"
    if place.stopped:
        return [CheckLine("advancer", "attend", f"{told}; a stop is latched", "Look after the film, then clear it.")]
    return [CheckLine("advancer", "ok", f"{told}; {'film' if place.film else 'no film'} at its sensor")]


def pedal_lines(settings: Settings) -> list[CheckLine]:
    """The host's pedal, if one is named."""
    device = settings.pedal.device
    if not device:
        return []
    if Path(device).exists():
        return [CheckLine("pedal", "ok", device)]
    return [CheckLine("pedal", "missing", f"{device} is not there.", "Plug it in, or choose another: rigd pedal.")]
