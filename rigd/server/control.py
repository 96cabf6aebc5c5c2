"""Who works the rig: one session at a time, and everybody sees which.

Nobody has to ask for it while nobody has it: the first command takes it. It is kept while its holder's page is open,
and can be given up, or taken over at once by another operator, which both pages show. Pause and stop need no control:
whoever sees something go wrong may stop it.
"""

from __future__ import annotations

from msgspec import Struct

from rigd.server.present import Present, Seat
from rigd.server.problems import Problem
from rigd.server.sessions import Role, Session


class Holder(Struct, frozen=True):
    """The one that holds control."""

    id: int
    name: str


class Control:
    """Control, and the lines of those who watch."""

    def __init__(self) -> None:
        self.present = Present()
        self._holder: Holder | None = None
        self._shown: Holder | None = None

    @property
    def holder(self) -> Holder | None:
        """Who has control now: the last to take it, while a page of theirs is open."""
        holder = self._holder
        return holder if holder is not None and self.present.has(holder.id) else None

    def join(self, session: Session) -> Seat:
        """A line opens. A holder who comes back has control again, unless somebody took it meanwhile."""
        seat = self.present.join(session)
        self._tell()
        return seat

    def leave(self, seat: Seat) -> None:
        self.present.leave(seat)
        self._tell()

    def take(self, session: Session) -> None:
        """Take control, from whoever has it."""
        self._holder = Holder(session.session_id, session.name)
        self._tell()

    def give_up(self, session: Session) -> None:
        """Let go of it, if it is held; the host may free it from whoever has it."""
        if self._holder is not None and (self._holder.id == session.session_id or session.role is Role.HOST):
            self._holder = None
            self._tell()

    def renamed(self, session_id: int, name: str) -> None:
        """The holder is called something else now."""
        if self._holder is not None and self._holder.id == session_id:
            self._holder = Holder(session_id, name)
            self._tell()

    def refusal(self, session: Session) -> Problem | None:
        """None if `session` may command now, and then it has control if its page is open; else why not."""
        holder = self.holder
        if holder is not None and holder.id != session.session_id:
            return Problem(
                409, "control", f"{holder.name} works the rig.", "One at a time does, so that no two hands meet.",
                "Take control first, by the button on the page; on the command line: rigd devices free.",
            )  # fmt: skip
        if holder is None and self.present.has(session.session_id):
            self.take(session)
        return None

    def ended(self, session_id: int) -> None:
        """That session is over."""
        if self._holder is not None and self._holder.id == session_id:
            self._holder = None
        self.present.end(session_id)
        self._tell()

    def _tell(self) -> None:
        if self.holder != self._shown:
            self._shown = self.holder
            self.present.tell()
