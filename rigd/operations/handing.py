"""Verbs of the handover: what is to be made of a roll, as plans that workers can carry out without the ledger."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from rigd.errors import InputError, NotReady
from rigd.handover.planning import RollPlan, Wish, plan_roll
from rigd.handover.shift import Status
from rigd.handover.values import Print
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll
from rigd.operations.verb import Args, Nothing, Verb


class ToHand(Args, frozen=True):
    """`rolls`: ids or labels; none: the current one, or every roll of the job with `whole_job`. The rest as `Wish` in
    `rigd.handover.planning` says; `whole_sight`: nothing is cut off; `even` false: every frame printed as its roll."""

    rolls: tuple[str, ...] = ()
    whole_job: bool = False
    margin_mm: float = 0.0
    whole_sight: bool = False
    contrast: float = 1.1
    even: bool = True
    within_stops: float = 0.5
    proof_px: int = 1600

    def wish(self) -> Wish:
        """The same, checked. Raises InputError."""
        if not 0.2 <= self.contrast <= 4.0:
            raise InputError(f"A contrast of {self.contrast:g} cannot be.", "", "Use 0.2 to 4; 1.1 is usual.")
        if not 100 <= self.proof_px <= 20_000:
            raise InputError(f"A proof of {self.proof_px} pixels cannot be.", "", "Use 100 to 20000.")
        if not -10 <= self.margin_mm <= 50:
            raise InputError(f"A margin of {self.margin_mm:g} mm cannot be.", "", "Use -10 to 50.")
        margin = None if self.whole_sight else self.margin_mm
        return Wish(margin, Print(self.contrast), self.within_stops if self.even else None, self.proof_px)


class HandoverPlan(Struct, frozen=True):
    """All that workers need; `root` is the job's folder on this machine. `empty`: rolls without a picture yet."""

    job_id: str
    title: str
    root: str
    rolls: tuple[RollPlan, ...]
    empty: tuple[str, ...] = ()


async def plan_handover(desk: Desk, args: ToHand, by: str) -> HandoverPlan:
    """What is to be made of rolls: which takes, against which base, cut and turned how. Nothing is changed.

    Raises:
        NotReady: no job is open, a roll that was named has no picture yet, or its base was never measured.
    """
    job = desk.state.job
    if job is None:
        raise NotReady("There is no job to hand over.", "None is open here.", "Begin one: rigd job open TITLE.")
    names: tuple[str | None, ...] = args.rolls or (None,)
    if args.whole_job:
        names = tuple(line.roll.roll_id for line in await desk.hub.look.lines())
    wish = args.wish()
    plans, empty = [], []
    for name in names:
        roll = await known_roll(desk, name)
        if args.whole_job and not any(frame.keeper for frame in roll.frames.values()):
            empty.append(roll.roll.label)
            continue
        plans.append(plan_roll(desk.state, roll, wish))
    if not plans:
        raise NotReady("There is no picture to hand over.", "No roll of the job has one yet.", "See: rigd rolls tally.")
    return HandoverPlan(job.job_id, job.title, str(desk.root.resolve()), tuple(plans), tuple(empty))


class ToStart(ToHand, frozen=True):
    """As `ToHand`; `out`: the folder to write, on this machine; left out, one beside the job's."""

    out: str = ""


async def start(desk: Desk, args: ToStart, by: str) -> Status:
    """Begin to hand rolls over, in the daemon, beside its work; see how it stands by `handover/status`.

    Raises:
        Busy: another handover runs. NotReady, InputError: as the plan says.
    """
    plan = await plan_handover(desk, args, by)
    out = Path(args.out).expanduser() if args.out else desk.root.with_name(f"{desk.root.name}-handover")
    return desk.handover.begin(plan.job_id, plan.title, plan.rolls, desk.root, out.absolute())


async def pause(desk: Desk, args: Nothing, by: str) -> Status:
    """Begin no further frame of the handover. Raises NotReady where none runs."""
    return desk.handover.pause()


async def go_on(desk: Desk, args: Nothing, by: str) -> Status:
    """Go on with a paused handover. Raises NotReady where none runs."""
    return desk.handover.go_on()


async def cancel(desk: Desk, args: Nothing, by: str) -> Status:
    """End the handover; what was made stays, and the next one goes on with it. Raises NotReady where none runs."""
    return await desk.handover.cancel()


async def status(desk: Desk, args: Nothing, by: str) -> Status:
    """How the handover of this daemon stands: what is made, what is left, or what came of the last one."""
    return desk.handover.status()


START = Verb("handover/start", ToStart, Status, start, ToStart(("HO 1957-031",)), host=True)
PAUSE = Verb("handover/pause", Nothing, Status, pause, Nothing(), host=True)
GO_ON = Verb("handover/go-on", Nothing, Status, go_on, Nothing(), host=True)
CANCEL = Verb("handover/cancel", Nothing, Status, cancel, Nothing(), host=True)
STATUS = Verb("handover/status", Nothing, Status, status, Nothing(), reads=True)
PLAN = Verb("handover/plan", ToHand, HandoverPlan, plan_handover, ToHand(("HO 1957-031",)), reads=True, host=True)
VERBS = (PLAN, START, PAUSE, GO_ON, CANCEL, STATUS)
