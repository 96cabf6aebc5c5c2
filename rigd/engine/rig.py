"""What a cycle works with: the devices behind their ports, the ledger's hub, the store, and the operator's limits."""

from __future__ import annotations

from dataclasses import dataclass, field

from msgspec.structs import replace

from rigd.engine.pictures import Pictures
from rigd.engine.policy import Limits
from rigd.errors import CameraMissing, NotReady
from rigd.hub import Hub
from rigd.imaging import Limits as Metering
from rigd.model.state import State
from rigd.ports import Body, Camera, Card, Clock, LiveView
from rigd.store import Store


@dataclass
class Rig:
    """The rig as the engine sees it. `body` is None while no camera answers."""

    camera: Camera
    card: Card
    live: LiveView
    clock: Clock
    hub: Hub
    store: Store
    limits: Limits = field(default_factory=Limits)
    aim: str = "centre"
    metering: Metering = field(default_factory=Metering)
    first_s: float = 1 / 30
    settle_s: float = 0.5
    f_number: float | None = 8.0
    iso: int | None = 100
    body: Body | None = None
    pictures: Pictures = field(default_factory=Pictures)

    @property
    def state(self) -> State:
        return self.hub.state

    def joined(self) -> Body:
        """The connected body, or a clear word that there is none."""
        if self.body is None:
            raise CameraMissing(
                "No camera is connected.",
                "It was not found, or it went away.",
                "Connect it, switch it on, and press Recover.",
            )
        return self.body

    def job_is_open(self) -> None:
        """Raises NotReady where no job was opened in this folder."""
        if self.state.job is None:
            raise NotReady("No job is open here.", "", "Open one: rigd job open TITLE.")

    def phase(self, phase: str) -> None:
        """Tell the listeners what the cycle is doing."""
        self.hub.notice(replace(self.hub.vitals, phase=phase))
