"""The advancer board on its own: to be built, calibrated and looked at without a job and without a daemon."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator

from rigd.config import Settings
from rigd.drivers.board import BoardClient
from rigd.drivers.clock import RealClock
from rigd.errors import NotReady

SETTINGS = (
    "gear", "top", "ramp", "creep", "span", "longest", "silence", "tail", "overrun", "slack", "warm", "dark", "flip",
)  # fmt: skip
"""Names of what the board keeps, in the order of hardware/PROTOCOL.md, "Settings"."""


@contextlib.asynccontextmanager
async def board_alone(settings: Settings, address: str = "") -> AsyncIterator[BoardClient]:
    """The board at `address`, or the one that the settings name, greeted; given back with the block.

    Raises:
        NotReady: none is named. BoardMissing: it does not answer, or a daemon has it.
    """
    port = address or settings.board.address
    if not port:
        raise NotReady("No board is named.", "", "Give --port, or set [board] address in the settings file.")
    client = BoardClient(port, RealClock())
    try:
        await client.ready()
        yield client
    finally:
        await client.close()
