"""`rigd handover`: from a finished roll to a folder that can be given away and checked."""

from __future__ import annotations

import asyncio
import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from msgspec import Struct
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from rigd.app.reach import reach
from rigd.commands.common import job_option, json_option, runs, show
from rigd.config import Settings
from rigd.handover.cluster import reached
from rigd.handover.deliver import Delivered, Delivery
from rigd.handover.deliver import Progress as Step
from rigd.handover.remote import Remote, Sent, send_bag
from rigd.handover.slots import LocalWorkers, Workers
from rigd.operations import handing
from rigd.operations.handing import HandoverPlan, ToHand


@click.command()
@click.argument("rolls", nargs=-1)
@click.option("--whole-job", is_flag=True, help="Every roll that has a picture.")
@click.option("--to", help="A folder, beside the job's by default; or an address (s3://bucket/folder, "
              "sftp://host/folder), to which that folder is then sent. An earlier run is gone on with.")
@click.option("--margin-mm", type=float, default=0.0, show_default=True,
              help="Rebate left about each picture; negative: tighter.")
@click.option("--whole-sight", is_flag=True, help="Cut nothing off: all that the camera saw.")
@click.option("--contrast", type=float, default=1.1, show_default=True, help="The print's contrast at middle grey.")
@click.option("--as-exposed", is_flag=True, help="Print every frame as its roll; else far ones are brought nearer.")
@click.option("--proof-px", type=int, default=1600, show_default=True, help="Longer side of the JPEG proofs.")
@click.option("--workers", type=click.IntRange(1, 64), help="Frames at once; as many as cores by default.")
@click.option("--cluster", metavar="ADDRESS", help="Work on an existing Dask cluster: tcp://host:8786.")
@job_option
@json_option
@runs
async def handover(
    rolls: tuple[str, ...], whole_job: bool, to: str | None, margin_mm: float, whole_sight: bool, contrast: float,
    as_exposed: bool, proof_px: int, workers: int | None, cluster: str | None, root: Path, as_json: bool,
) -> None:  # fmt: skip
    """Make readable positives of ROLLS (the current one by default) and put them with the raws into a bag (BagIt 1.0).

    Only what changed since the last run is made again."""
    args = ToHand(rolls, whole_job, margin_mm, whole_sight, contrast, not as_exposed, proof_px=proof_px)
    async with reach(root, Settings()) as verbs:
        plan = await verbs.do(handing.PLAN, args)
    remote = await asyncio.to_thread(Remote, to) if to and "://" in to else None
    out = Path(to) if to and remote is None else _beside(Path(plan.root))
    with _shown(quiet=as_json) as shown:
        done = await _deliver(plan, out, await reached(cluster) if cluster else LocalWorkers(workers), shown)
        sent = await _send(plan, out, remote, shown) if remote and done.whole else None
    show(Handed(done, sent), as_json, lambda: _lines(done, plan, sent))
    if not done.whole:
        sys.exit(1)


class Handed(Struct, frozen=True):
    """What the command tells programs: what lies in the folder, and what was sent from there (null: nothing was to)."""

    folder: Delivered
    sent: Sent | None


def _beside(root: Path) -> Path:
    return root.with_name(f"{root.name}-handover")


def _shown(quiet: bool) -> Progress:
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=Console(stderr=True), disable=quiet or not sys.stderr.isatty(), transient=True)


async def _send(plan: HandoverPlan, out: Path, remote: Remote, shown: Progress) -> Sent:
    task = shown.add_task("sending", total=None)

    def tell(done: int, of: int) -> None:
        shown.update(task, completed=done, total=of)

    return await asyncio.to_thread(send_bag, out, plan.job_id, remote, tell)


async def _deliver(plan: HandoverPlan, out: Path, workers: Workers, shown: Progress) -> Delivered:
    task = shown.add_task("reading", total=None)

    def tell(step: Step) -> None:
        done = step.made + step.kept + step.failed
        shown.update(task, description=_STEPS[step.step], completed=done, total=step.frames)

    delivery = Delivery(plan.job_id, plan.title, plan.rolls, Path(plan.root), out, workers, tell)
    return await delivery.run(datetime.now(UTC).date())


_STEPS = {"tones": "looking at the tones", "frames": "making positives", "raws": "copying raws",
          "checksums": "taking checksums", "done": "done"}  # fmt: skip


def _lines(done: Delivered, plan: HandoverPlan, sent: Sent | None) -> list[str]:
    size = f"{done.bytes / 1e6:.0f} MB in {done.files} files"
    lines = [f"{done.frames} pictures ({done.made} made, {done.kept} as they were), {size}: {done.folder}"]
    lines += [f"  no picture: frame {one.number}, {one.why}" for roll in plan.rolls for one in roll.left]
    lines += [f"  no picture yet: roll {label}" for label in plan.empty]
    if done.whole:
        lines.append("Complete: a bag with checksums of every file.")
        if sent is not None:
            lines.append(f"Sent and read back: {sent.files} files, {sent.now} of them now: {sent.url}")
        return lines
    return [*lines, "Not complete, and not a bag until it is:", *(f"  {t.what} {t.why}" for t in done.troubles)]
