"""Verbs of the paper work, by HTTP. Contracts and errors as in `rigd.operations.rolls`."""

from __future__ import annotations

from urllib.parse import quote

from rigd.client.running import Done
from rigd.client.wire import Wire
from rigd.model.tally import Tally
from rigd.model.values import Job, Roll, Setup, Strip
from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone
from rigd.operations.rolls import RollLine


class Rolls:
    """Job, set-up, rolls, strips, marks."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    async def open_job(self, *, title: str, default_base: BaseType) -> Job:
        return await self._wire.post("/api/job", {"title": title, "default_base": default_base}, Job)

    async def describe_setup(self, *, holder: str, lens: str, f_number: float, iso: int, lamp: str) -> Setup:
        body = {"holder": holder, "lens": lens, "f_number": f_number, "iso": iso, "lamp": lamp}
        return await self._wire.post("/api/setup", body, Setup)

    async def plan_roll(
        self, *, label: str, film_format_name: str, tone: Tone, colour: Colour, expected: tuple[int, int] | None,
        strip_places: int | None, base_type: BaseType | None, stock: str, process: str, where: str,
    ) -> Roll:  # fmt: skip
        body = {
            "label": label, "film_format": film_format_name, "tone": tone, "colour": colour, "expected": expected,
            "strip_places": strip_places, "base_type": base_type, "stock": stock, "process": process, "where": where,
        }  # fmt: skip
        return await self._wire.post("/api/rolls", body, Roll)

    async def open_roll(self, *, roll_id: str) -> Roll:
        return await self._wire.post(f"/api/rolls/{_part(roll_id)}/open", {}, Roll)

    async def close_roll(self, *, roll_id: str) -> Tally:
        return await self._wire.post(f"/api/rolls/{_part(roll_id)}/close", {}, Tally)

    async def list_rolls(self) -> tuple[RollLine, ...]:
        return await self._wire.get("/api/rolls", tuple[RollLine, ...])

    async def tally(self, *, roll_id: str | None = None) -> Tally:
        return await self._wire.get(f"/api/rolls/{_part(roll_id)}/tally" if roll_id else "/api/tally", Tally)

    async def load_strip(
        self, *, places: int | None = None, emulsion: Emulsion | None = None, turn: int | None = None
    ) -> Strip:
        return await self._wire.post("/api/strips", {"places": places, "emulsion": emulsion, "turn": turn}, Strip)

    async def mark(self, *, frame_id: str, film: Film | None) -> None:
        await self._wire.post("/api/mark", {"frame_id": frame_id, "film": film}, Done)


def _part(text: str) -> str:
    """A label or id as one part of a path: labels may hold blanks and slashes."""
    return quote(text, safe="")
