"""What a cycle works with: the devices behind their ports, the ledger's hub, the store, and the operator's limits."""

from __future__ import annotations

from dataclasses import dataclass, field

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.pictures import Pictures
from rigd.engine.policy import Limits
from rigd.errors import CameraMissing, NotReady
from rigd.hub import Hub
from rigd.imaging import Limits as Metering
from rigd.imaging.mains import RIPPLES_HZ
from rigd.model.exposing import inherited
from rigd.model.state import RollState, State
from rigd.model.values import Exposing, Exposure, Held
from rigd.model.words import Aim, Mains, Second, Tone
from rigd.ports import Body, Camera, Card, Clock, LiveView
from rigd.store import Store


class Stilling(Struct, frozen=True):
    """How stillness is measured. `measure` False: never, the fixed wait alone. `pictures`: so many live pictures must
    show no movement; they should cover the slowest swing of the rig. `pace_s`: time between pictures while they are
    waited for. `deadline_s`: after that long somebody must look. `margin_mm`: so much film must be seen beyond a
    frame on either side before it is taken without a press."""

    measure: bool = True
    pictures: int = 4
    pace_s: float = 0.05
    deadline_s: float = 8.0
    margin_mm: float = 0.5


_RIPPLES = {Mains.HZ_50: RIPPLES_HZ[:1], Mains.HZ_60: RIPPLES_HZ[1:], Mains.BOTH: RIPPLES_HZ}


@dataclass
class Rig:
    """The rig as the engine sees it. `body` is None while no camera answers; `sensor_px` the sensor's width, None
    until a file has told it. `exposing`: how frames are exposed where job and roll say nothing else, `limits` what no
    roll changes. `in_force`: what the camera was set to last, None where nobody knows. `settle_s`: how long the film
    must have lain still, since live view cannot see a fast vibration die away; and the fixed wait where nothing can be
    measured."""

    camera: Camera
    card: Card
    live: LiveView
    clock: Clock
    hub: Hub
    store: Store
    limits: Limits = field(default_factory=Limits)
    exposing: Exposing = field(default_factory=Exposing)
    metering: Metering = field(default_factory=Metering)
    first_s: float = 1 / 30
    settle_s: float = 0.5
    stilling: Stilling = field(default_factory=Stilling)
    f_number: float | None = 8.0
    iso: int | None = 100
    body: Body | None = None
    in_force: Exposure | None = None
    sensor_px: int | None = None
    pictures: Pictures = field(default_factory=Pictures)

    @property
    def state(self) -> State:
        return self.hub.state

    @property
    def still_for_s(self) -> float:
        """How long the film must have lain still: as measured for this set-up, else as set."""
        setup = self.state.setup
        return self.settle_s if setup is None or setup.still_s is None else setup.still_s

    def rules(self, roll: RollState | None = None) -> Exposing:
        """How a roll (the current one) is exposed: its own word, the job's, the device settings'; nothing is None but
        limits that nobody set."""
        roll, job = roll or self.state.roll, self.state.job
        said = [one.exposing for one in (roll.roll if roll else None, job) if one is not None]
        rules = inherited(*said, self.exposing, Exposing(Aim.CENTRE, Mains.OFF, Second.OFFER))
        positive = roll is not None and roll.roll.tone is Tone.POSITIVE
        # A positive has no base: its clear is the lamp.
        return replace(rules, aim=Aim.CENTRE) if positive else rules

    def bounds(self, roll: RollState | None = None) -> Limits:
        """The limits of the shutter for a roll (the current one)."""
        rules = self.rules(roll)
        return replace(
            self.limits,
            shortest_s=rules.fastest_s or self.limits.shortest_s,
            longest_s=rules.slowest_s or self.limits.longest_s,
            ripples_hz=_RIPPLES.get(rules.mains or Mains.OFF, ()),
            second=rules.second or Second.OFFER,
        )

    @property
    def held(self) -> Held | None:
        """The shutter that is held for the current roll; None where each frame has its own."""
        roll = self.state.roll
        return roll.held if roll is not None and self.rules(roll).aim is Aim.BASE else None

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
