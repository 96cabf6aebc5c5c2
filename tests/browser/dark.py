"""A dark room for the page's tests: the whole daemon, a simulated rig, and a hand at its film."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rigd.app.demo import DemoPlan, showing
from rigd.app.simulators import SimulatedFilm
from rigd.model.state import State
from rigd_sim.control import Hand

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes


@dataclass
class Room:
    """A dark room: the daemon, the simulated rig, and a hand at the film."""

    link: str
    url: str
    token: str
    hand: Hand
    daemon: Any

    @property
    def state(self) -> State:
        return self.daemon.desk.state  # type: ignore[no-any-return]

    def film(self, place: int, strip: int = 1) -> None:
        """A strip with that place in the gate, at rest."""
        self.hand.lay(strip=strip)
        self.hand.slide(frame=place, seconds=0.0)
        self.hand.call("still")
        self.hand.call("prepare")


@contextlib.asynccontextmanager
async def room(into: Path, eyes: Eyes | None = None, settle_s: float = 0.05) -> AsyncIterator[Room]:
    plan = DemoPlan(into / "job", SimulatedFilm(megapixels=2), settle_s=settle_s)
    async with showing(plan) as shown:
        with Hand(shown.rig.control) as hand:
            daemon = shown.daemon
            try:
                yield Room(daemon.link, daemon.url, daemon.token, hand, daemon)
            finally:
                if eyes:
                    await eyes.close_pages()
