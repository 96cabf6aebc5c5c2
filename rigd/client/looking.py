"""Verbs that only look, by HTTP. Contracts and errors as in `rigd.operations.looking` and `.checking`."""

from __future__ import annotations

from rigd.client.wire import Wire
from rigd.operations.checking import CheckReport
from rigd.operations.looking import Status
from rigd.operations.verifying import VerifyReport

# A terabyte at the 300 MB/s of a slow disk: an hour.
VERIFY_S = 3600.0


class Looking:
    """Status, checks, and reading every file back."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    async def status(self) -> Status:
        return await self._wire.get("/api/state", Status, whole="true")

    async def check(self) -> CheckReport:
        return await self._wire.get("/api/check", CheckReport)

    async def verify(self, *, roll_id: str | None = None) -> VerifyReport:
        return await self._wire.post("/api/verify", {"roll_id": roll_id}, VerifyReport, patience_s=VERIFY_S)
