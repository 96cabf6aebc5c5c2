"""What an operation may touch."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from msgspec import Struct

from rigd.engine.aftercare import Aftercare
from rigd.engine.copying import Copying
from rigd.engine.papers import Papers
from rigd.engine.runner import Runner
from rigd.errors import NotReady
from rigd.handover.shift import Shift
from rigd.hub import Hub
from rigd.model.state import State
from rigd.ports import Clock
from rigd.store import Store

CheckState = Literal["ok", "attend", "unknown", "missing"]


class CheckLine(Struct, frozen=True):
    """One thing looked at: `ok`, worth attention, not to be told, or missing; with what to do."""

    what: str
    state: CheckState
    detail: str
    remedy: str = ""


class CheckReport(Struct, frozen=True):
    lines: tuple[CheckLine, ...]
    missing: int


@dataclass
class Desk:
    """The open job folder with its ledger and store, and the engine where a camera is asked for."""

    hub: Hub
    store: Store
    clock: Clock
    runner: Runner | None = None
    aftercare: Aftercare | None = None
    survey: Callable[[], Awaitable[CheckReport]] | None = None
    handover: Shift = field(default_factory=Shift)
    papers: Papers = field(init=False)
    copying: Copying = field(init=False)

    def __post_init__(self) -> None:
        self.papers = Papers(self.hub, self.store, self.clock, self._idle)
        self.copying = Copying(self.hub, self.store, self.clock, self._idle)
        self.papers.on_written = self.copying.papers_written

    def _idle(self) -> bool:
        return self.runner is None or not self.runner.busy

    @property
    def root(self) -> Path:
        """The job's folder."""
        return self.store.root

    @property
    def state(self) -> State:
        return self.hub.state

    def film_changed(self) -> None:
        """Somebody laid other film into the gate: what moves film must find out anew where it is."""
        if self.runner is not None and self.runner.feed is not None:
            self.runner.feed.forget()

    def engine(self) -> Runner:
        """The engine, or a clear word that this desk works without a camera."""
        if self.runner is None:
            raise NotReady("No camera is in use here.", "This desk has the ledger alone.", "Start: rigd run.")
        return self.runner
