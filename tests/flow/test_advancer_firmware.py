"""A strip fed by the compiled firmware itself, in its emulator: the engine, the driver, the wire and the C program.

The emulator knows no scene: what its motor does is carried over to the simulated camera's film here.
"""

from __future__ import annotations

import asyncio
import contextlib
import tempfile
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from advancing import SENSOR_MM, advancing
from tests.contract.board.bed import LACKING, Bed, board_bed, build

from conftest import Advancer
from rigd.model.events_feed import FilmEnded

if TYPE_CHECKING:
    from conftest import Simulated

STEPS_PER_MM = 80  # the usual gear (hardware/PROTOCOL.md, "Settings")
LOOK_S = 0.03
FIRST_OFF_MM = 0.8


@pytest.fixture
def bed() -> Iterator[Bed]:
    build()
    with tempfile.TemporaryDirectory(prefix="rigd-board-") as folder, board_bed("firmware", Path(folder), False) as bed:
        yield bed


class Rollers:
    """The firmware's motor moves the scene's film; the film lies under the firmware's sensor."""

    def __init__(self, bed: Bed, simulated: Simulated) -> None:
        self._bed, self._hand = bed, simulated.hand
        self._at_mm = 0.0
        self._net = 0

    async def lay(self, strip: int) -> None:
        """Its first frame into the gate, a little off."""
        await self._hand.acall("lay", strip=strip)
        await self._hand.acall("slide", frame=1, off_mm=FIRST_OFF_MM, seconds=0.0)
        film = await self._hand.acall("film")
        first, last = film["frames"][0], film["frames"][-1]
        gap = first["centre_mm"] - first["size_mm"][0] / 2
        length = last["centre_mm"] + last["size_mm"][0] / 2 + gap
        self._at_mm = film["position_mm"]
        lead = -round((self._at_mm + SENSOR_MM) * STEPS_PER_MM)
        told = await self._bed.hand.acall("film", lead=lead, length=round(length * STEPS_PER_MM))
        self._net = told["net"]

    async def run(self) -> None:
        """Carry the motor's steps over, until cancelled."""
        seen = self._net
        while True:
            net = (await self._bed.hand.acall("look"))["net"]
            if net != seen:
                seen = net
                to_mm = self._at_mm + (net - self._net) / STEPS_PER_MM
                await self._hand.acall("slide", to_mm=to_mm, seconds=LOOK_S)
            await asyncio.sleep(LOOK_S)


@contextlib.asynccontextmanager
async def running(rollers: Rollers) -> AsyncIterator[None]:
    task = asyncio.create_task(rollers.run(), name="rollers")
    try:
        yield
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


@pytest.mark.skipif(bool(LACKING), reason=f"not installed: {', '.join(LACKING)}")
async def test_a_strip_by_the_compiled_firmware(simulated: Simulated, bed: Bed, tmp_path: Path) -> None:
    """With `overrun` as it comes, 0: the film's end stops the motor before the last frame is there, and it goes on."""
    rollers = Rollers(bed, simulated)
    async with advancing(tmp_path, simulated, Advancer(bed.url, bed.hand)) as rig:
        await rig.board_answers()
        await rollers.lay(1)
        async with running(rollers):
            await rig.trigger()
            await rig.hear(FilmEnded)
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        rig.all_true()
        assert all(move.tries <= 2 for move in rig.moves())
