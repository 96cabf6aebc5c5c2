"""The operator beside a film advancer: pushes each strip in until the film sensor has it, and otherwise listens."""

from __future__ import annotations

import asyncio

from rigd_sim.control import Hand
from rigd_sim.hand.operator import Habits
from rigd_sim.hand.phone import Event, Phone

PUSHED_MM = 6.0
"""So far beyond the film sensor a hand pushes a strip."""


class Loader:
    """Arms the rig once; what comes to the sensor is drawn in, taken to its end, and the next one is called for. Called
    for anything else, this operator leaves the frame as it is and arms again. `sensor_mm`: from the film sensor to the
    gate's middle."""

    def __init__(self, hand: Hand, phone: Phone, habits: Habits, sensor_mm: float = 50.0) -> None:
        self._hand = hand
        self._phone = phone
        self._habits = habits
        self._sensor_mm = sensor_mm
        self._begun = 0

    async def measure_gate(self) -> None:
        """No film in the gate: let the rig measure the bare lamp, then arm it."""
        await self._hand.acall("lay", strip=None)
        await self._phone.press("/api/gate")
        await self._phone.hear(lambda e: e["type"] in ("LampMeasured", "Troubled"))
        await self._arm()

    async def roll(self, frames: int, strip: int) -> None:
        """Lay in a whole roll, `strip` frames to the strip."""
        for number, _ in enumerate(range(0, frames, strip), 1):
            await self._strip(number)

    async def _strip(self, number: int) -> None:
        # Half the change is taking the old strip and finding the next; the other half it is pushed in.
        seconds = self._habits.strip_s / 2
        await self._hand.acall("lay", strip=None)
        await asyncio.sleep(seconds)
        await self._hand.acall("lay", strip=number, at_mm=PUSHED_MM - self._sensor_mm, seconds=seconds)
        while (await self._over())["type"] != "FilmEnded":
            await self._phone.press("/api/skip")
            await self._arm()

    async def _over(self) -> Event:
        """The strip's end, or that somebody is needed; kicks the table on the way, at the frame of the habits."""
        while True:
            event = await self._phone.hear(lambda e: e["type"] in ("FilmEnded", "Disarmed", "Settled"))
            if event["type"] != "Settled":
                return event
            self._begun += 1
            if self._begun == self._habits.kick_at:
                await self._hand.acall("kick", amplitude_um=self._habits.kick_um)

    async def _arm(self) -> None:
        await self._phone.press("/api/arm")
        await self._phone.hear(lambda e: e["type"] == "Armed")
