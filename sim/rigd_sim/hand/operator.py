"""What the operator does with one roll: measure the empty gate, then strip by strip, frame by frame."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass

from rigd_sim.control import Hand
from rigd_sim.hand.phone import Event, Phone


@dataclass(frozen=True)
class Habits:
    """How fast the operator works, and the one clumsy moment: a kick at the table during the exposure of frame
    `kick_at` of the roll (0: never), with an amplitude of `kick_um` at the film."""

    slide_s: float = 1.5
    strip_s: float = 4.0
    kick_at: int = 9
    kick_um: float = 120.0


class Operator:
    """Both hands on the film, ears open; the trigger is pressed for each frame."""

    def __init__(self, hand: Hand, phone: Phone, habits: Habits) -> None:
        self._hand = hand
        self._phone = phone
        self._habits = habits
        self._taken = 0

    async def measure_gate(self) -> None:
        """No film in the gate: let the rig measure the bare lamp."""
        await self._hand.acall("lay", strip=None)
        await self._phone.press("/api/gate")
        await self._phone.hear(lambda e: e["type"] in ("LampMeasured", "Troubled"))

    async def roll(self, frames: int, strip: int) -> None:
        """Feed a whole roll, `strip` frames to the strip."""
        for number, first in enumerate(range(0, frames, strip), 1):
            await self._strip(number, min(strip, frames - first))

    async def _strip(self, number: int, places: int) -> None:
        # The strip is laid so that its first frame already lies in the gate; the change takes the hand its time.
        await self._hand.acall("lay", strip=number, seconds=0.0)
        await asyncio.sleep(self._habits.strip_s)
        loaded = await self._phone.press("/api/strips", places=places, emulsion="down", turn=0)
        for place in range(1, places + 1):
            await self._slide(place)
            await self._take(f"{loaded['strip_id']}#{place}")

    async def _slide(self, place: int) -> None:
        seconds = self._habits.slide_s
        await self._hand.acall("slide", frame=place, seconds=seconds)
        await asyncio.sleep(seconds)

    async def _take(self, target: str) -> None:
        """Trigger, and wait for the tone that says: move on. Called instead, the operator looks and moves on too."""
        self._taken += 1
        await self._phone.trigger(target)
        if self._taken == self._habits.kick_at:
            await self._phone.hear(lambda e: e["type"] == "Settled")
            await self._hand.acall("kick", amplitude_um=self._habits.kick_um)
        if (await self._phone.hear(_over))["type"] == "Troubled":
            await self._phone.press("/api/skip")
            await self._phone.hear(lambda e: e["type"] == "Advanced")


class Feeder:
    """Both hands on the film, ears open, and nothing is pressed: the rig triggers by itself. What is heard tells when
    to slide on. Only when called, this operator touches the page: the frame is left as it is, and the rig armed again.
    """

    def __init__(self, hand: Hand, phone: Phone, habits: Habits) -> None:
        self._hand = hand
        self._phone = phone
        self._habits = habits
        self._taken = 0

    async def measure_gate(self) -> None:
        """No film in the gate: let the rig measure the bare lamp, then let it watch."""
        await self._hand.acall("lay", strip=None)
        await self._phone.press("/api/gate")
        await self._phone.hear(lambda e: e["type"] in ("LampMeasured", "Troubled"))
        await self._arm()

    async def roll(self, frames: int, strip: int) -> None:
        """Feed a whole roll, `strip` frames to the strip."""
        for number, first in enumerate(range(0, frames, strip), 1):
            await self._strip(number, min(strip, frames - first))

    async def _strip(self, number: int, places: int) -> None:
        # Half the change is finding the next strip; the other half it comes in, its first frame into the gate.
        seconds = self._habits.strip_s / 2
        await asyncio.sleep(seconds)
        await self._hand.acall("lay", strip=number, seconds=seconds)
        for place in range(1, places + 1):
            if place > 1:
                await self._hand.acall("slide", frame=place, seconds=self._habits.slide_s)
            await self._taken_by_itself()
        await self._hand.acall("lay", strip=None, seconds=self._habits.slide_s)
        await asyncio.sleep(self._habits.slide_s)

    async def _taken_by_itself(self) -> None:
        self._taken += 1
        if self._taken == self._habits.kick_at:
            await self._phone.hear(lambda e: e["type"] == "Settled")
            await self._hand.acall("kick", amplitude_um=self._habits.kick_um)
        if (await self._phone.hear(_over_or_called))["type"] != "Advanced":
            await self._phone.press("/api/skip")
            await self._phone.hear(lambda e: e["type"] == "Advanced")
            await self._arm()

    async def _arm(self) -> None:
        await self._phone.press("/api/arm")
        await self._phone.hear(lambda e: e["type"] == "Armed")


def _over_or_called(event: Event) -> bool:
    return event["type"] in ("Advanced", "Disarmed")


def _over(event: Event) -> bool:
    return event["type"] in ("Advanced", "Troubled")
