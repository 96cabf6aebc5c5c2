"""The verbs of the paper work."""

from __future__ import annotations

from typing import Protocol

from rigd.model.tally import Tally
from rigd.model.values import Job, Roll, Setup, Strip
from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone
from rigd.operations import rolls
from rigd.operations.rolls import RollLine
from rigd.operations.verbs.looking import AtDesk


class Paper(Protocol):
    """Jobs, set-ups, rolls, strips, marks."""

    async def open_job(self, *, title: str, default_base: BaseType) -> Job: ...
    async def describe_setup(self, *, holder: str, lens: str, f_number: float, iso: int, lamp: str) -> Setup: ...
    async def plan_roll(
        self, *, label: str, film_format_name: str, tone: Tone, colour: Colour, expected: tuple[int, int] | None,
        strip_places: int | None, base_type: BaseType | None, stock: str, process: str, where: str,
    ) -> Roll: ...  # fmt: skip
    async def open_roll(self, *, roll_id: str) -> Roll: ...
    async def close_roll(self, *, roll_id: str) -> Tally: ...
    async def list_rolls(self) -> tuple[RollLine, ...]: ...
    async def tally(self, *, roll_id: str | None = None) -> Tally: ...
    async def load_strip(
        self, *, places: int | None = None, emulsion: Emulsion | None = None, turn: int | None = None
    ) -> Strip: ...
    async def mark(self, *, frame_id: str, film: Film | None) -> None: ...


class LocalPaper(AtDesk):
    """`Paper` at a desk of this process."""

    async def open_job(self, *, title: str, default_base: BaseType) -> Job:
        return await rolls.open_job(self._desk, title=title, default_base=default_base)

    async def describe_setup(self, *, holder: str, lens: str, f_number: float, iso: int, lamp: str) -> Setup:
        return await rolls.describe_setup(
            self._desk, holder=holder, lens=lens, f_number=f_number, iso=iso, lamp=lamp
        )

    async def plan_roll(
        self, *, label: str, film_format_name: str, tone: Tone, colour: Colour, expected: tuple[int, int] | None,
        strip_places: int | None, base_type: BaseType | None, stock: str, process: str, where: str,
    ) -> Roll:  # fmt: skip
        return await rolls.plan_roll(
            self._desk, label=label, film_format_name=film_format_name, tone=tone, colour=colour, expected=expected,
            strip_places=strip_places, base_type=base_type, stock=stock, process=process, where=where,
        )  # fmt: skip

    async def open_roll(self, *, roll_id: str) -> Roll:
        return await rolls.open_roll(self._desk, roll_id=roll_id)

    async def close_roll(self, *, roll_id: str) -> Tally:
        return await rolls.close_roll(self._desk, roll_id=roll_id)

    async def list_rolls(self) -> tuple[RollLine, ...]:
        return await rolls.list_rolls(self._desk)

    async def tally(self, *, roll_id: str | None = None) -> Tally:
        return await rolls.tally(self._desk, roll_id=roll_id)

    async def load_strip(
        self, *, places: int | None = None, emulsion: Emulsion | None = None, turn: int | None = None
    ) -> Strip:
        return await rolls.load_strip(self._desk, places=places, emulsion=emulsion, turn=turn)

    async def mark(self, *, frame_id: str, film: Film | None) -> None:
        await rolls.mark(self._desk, frame_id=frame_id, film=film, by=self.SOURCE)
