"""Who is looking: the open live lines by session, each woken when something about people changes, or ended."""

from __future__ import annotations

import asyncio

from rigd.server.sessions import Session


class Seat:
    """One open line. `news` is set when its people's news changed; `ended` when its session is over."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.news = asyncio.Event()
        self.ended = False


class Present:
    """All open lines."""

    def __init__(self) -> None:
        self._seats: set[Seat] = set()

    def __len__(self) -> int:
        return len(self._seats)

    def join(self, session: Session) -> Seat:
        seat = Seat(session)
        self._seats.add(seat)
        return seat

    def leave(self, seat: Seat) -> None:
        self._seats.discard(seat)

    def has(self, session_id: int) -> bool:
        """True if that session has a line open."""
        return any(seat.session.session_id == session_id for seat in self._seats)

    def tell(self) -> None:
        """Wake every line."""
        for seat in self._seats:
            seat.news.set()

    def end(self, session_id: int) -> None:
        """That session is over: its lines close."""
        for seat in self._seats:
            if seat.session.session_id == session_id:
                seat.ended = True
                seat.news.set()
