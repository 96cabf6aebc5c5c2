"""All verbs of the command line in one Protocol: spoken to a desk in this process, or by HTTP to a running daemon."""

from __future__ import annotations

from typing import Protocol

from rigd.model.tally import Tally
from rigd.model.values import Job, Roll, Setup, Strip
from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone
from rigd.operations import checking, looking, rolls, running
from rigd.operations.checking import CheckReport
from rigd.operations.desk import Desk
from rigd.operations.looking import Status, VerifyReport
from rigd.operations.rolls import RollLine
from rigd.operations.running import Accepted


class Verbs(Protocol):
    """What a command can ask for; arguments and errors as the operations document them."""

    async def status(self) -> Status: ...
    async def verify(self, *, roll_id: str | None = None) -> VerifyReport: ...
    async def check(self) -> CheckReport: ...
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
    async def trigger(self, *, nonce: str = "", target: str | None = None) -> Accepted: ...
    async def retake(self, *, nonce: str = "", frame_id: str | None = None) -> Accepted: ...
    async def skip(self, *, target: str | None = None) -> Accepted: ...
    async def measure_gate(self) -> Accepted: ...
    async def pause(self) -> None: ...
    async def resume(self) -> None: ...
    async def recover(self) -> None: ...


class LocalVerbs:
    """The verbs on a desk that this process opened. Orders to the engine return when they have been carried out:
    the desk is closed right after."""

    SOURCE = "command line"

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    async def status(self) -> Status:
        return await looking.status(self._desk)

    async def verify(self, *, roll_id: str | None = None) -> VerifyReport:
        return await looking.verify(self._desk, roll_id=roll_id)

    async def check(self) -> CheckReport:
        return await checking.check(self._desk)

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

    async def trigger(self, *, nonce: str = "", target: str | None = None) -> Accepted:
        return await self._done(await running.trigger(self._desk, source=self.SOURCE, nonce=nonce, target=target))

    async def retake(self, *, nonce: str = "", frame_id: str | None = None) -> Accepted:
        return await self._done(await running.retake(self._desk, source=self.SOURCE, nonce=nonce, frame_id=frame_id))

    async def skip(self, *, target: str | None = None) -> Accepted:
        return await running.skip(self._desk, source=self.SOURCE, target=target)

    async def measure_gate(self) -> Accepted:
        return await self._done(await running.measure_gate(self._desk, source=self.SOURCE))

    async def pause(self) -> None:
        await running.pause(self._desk, by=self.SOURCE)

    async def resume(self) -> None:
        await running.resume(self._desk, by=self.SOURCE)

    async def recover(self) -> None:
        await running.recover(self._desk, by=self.SOURCE)
        await self._desk.engine().until_idle()

    async def _done(self, accepted: Accepted) -> Accepted:
        await self._desk.engine().until_idle()
        return accepted
