"""The verbs that look."""

from __future__ import annotations

from typing import Protocol

from rigd.operations import checking, looking, verifying
from rigd.operations.checking import CheckReport
from rigd.operations.desk import Desk
from rigd.operations.looking import Status
from rigd.operations.verifying import VerifyReport


class Looking(Protocol):
    """Status, reading back, checks."""

    async def status(self) -> Status: ...
    async def verify(self, *, roll_id: str | None = None) -> VerifyReport: ...
    async def check(self) -> CheckReport: ...


class AtDesk:
    """Something that works on one desk."""

    SOURCE = "command line"

    def __init__(self, desk: Desk) -> None:
        self._desk = desk


class LocalLooking(AtDesk):
    """`Looking` at a desk of this process."""

    async def status(self) -> Status:
        return await looking.status(self._desk)

    async def verify(self, *, roll_id: str | None = None) -> VerifyReport:
        return await verifying.verify(self._desk, roll_id=roll_id)

    async def check(self) -> CheckReport:
        return await checking.check(self._desk)
