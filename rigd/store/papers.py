"""What a roll's folder says by itself: a sidecar beside each raw, `frames.csv` for people, `roll.json` for programs.

From `roll.json` and `job.json` the ledger can be built anew. Pure: bytes by path, to be written by the store.
"""

from __future__ import annotations

import csv
import io
from typing import Any

import msgspec
from msgspec import Struct

from rigd.model.events import LampMeasured, Unclaimed
from rigd.model.metadata import FIELDS, about_frame
from rigd.model.order import numbers
from rigd.model.state import FrameState, RollState
from rigd.model.tally import is_suspect, kind_of
from rigd.model.values import Job, Roll, Setup, Take
from rigd.model.words import Stage
from rigd.store.sidecar import sidecar, sidecar_name

FRAMES = "frames.csv"
ROLL = "roll.json"
JOB = "job.json"
_COLUMNS = ("number", "strip", "place on strip", "edge mark", "counts as", "files", "other files", "judged", "to do")
# Raised when a reader of the old number would misread the new one. Fields that are added get a default instead.
NUMBER = 1


class RollPaper(Struct, frozen=True, kw_only=True):
    """`roll.json`: the roll with strips, frames and takes as the ledger has them, and the job it is of."""

    rigd_roll: int = NUMBER
    job: Job | None = None
    state: RollState


class JobPaper(Struct, frozen=True, kw_only=True):
    """`job.json`: what belongs to no roll. `rolls`: all that are planned; `loose`: takes of no film; `strays`: files
    that belong to no take, `dismissed` those of no use, with why; `counted`: takes, frames, strips and rolls so far, so
    that no number is ever given twice."""

    rigd_job: int = NUMBER
    job: Job | None = None
    setup: Setup | None = None
    lamp: LampMeasured | None = None
    rolls: tuple[Roll, ...] = ()
    loose: dict[str, Take] = {}
    strays: dict[str, Unclaimed] = {}
    dismissed: dict[str, str] = {}
    counted: tuple[int, int, int, int] = (0, 0, 0, 0)


def papers_of(job: Job | None, roll: RollState) -> dict[str, bytes]:
    """Every paper of a roll by its path in the job's folder. Sidecars lie beside their raws, which may be in the folder
    of the roll that a frame was taken for one of."""
    number = numbers(roll)
    found = {
        sidecar_name(take.path): sidecar(job, roll, take, number.get(take.frame_id or ""))
        for take in roll.takes.values() if take.path
    }  # fmt: skip
    found[f"{roll.roll.folder}/{FRAMES}"] = _table(job, roll, number)
    found[f"{roll.roll.folder}/{ROLL}"] = as_json(RollPaper(job=job, state=roll))
    return found


def as_json(value: Any) -> bytes:
    """JSON that people can read too."""
    return msgspec.json.format(msgspec.json.encode(value), indent=1) + b"\n"


def read_roll(body: bytes) -> RollPaper:
    """Raises msgspec.DecodeError."""
    return msgspec.json.decode(body, type=RollPaper)


def read_job(body: bytes) -> JobPaper:
    """Raises msgspec.DecodeError."""
    return msgspec.json.decode(body, type=JobPaper)


def _table(job: Job | None, roll: RollState, number: dict[str, int]) -> bytes:
    """One frame a line, in the order of the film (RFC 4180), with the mark by which spreadsheets know UTF-8."""
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerow((*_COLUMNS, *FIELDS))
    for frame_id, n in number.items():
        frame = roll.frames[frame_id]
        told = about_frame(job, roll.roll, frame)
        table.writerow((*_line(roll, frame, n), *(_cell(getattr(told, name)) for name in FIELDS)))
    return text.getvalue().encode("utf-8-sig")


def _line(roll: RollState, frame: FrameState, number: int) -> tuple[object, ...]:
    at = frame.frame
    kept = [roll.takes[t] for t in frame.keeper if t in roll.takes]
    others = [roll.takes[t] for t in frame.takes if t in roll.takes and t not in frame.keeper]
    verdicts = [take.verdict.take.value for take in kept if take.verdict]
    return (number, roll.strips[at.strip_id].number, at.place, at.mark, kind_of(frame), _files(roll, kept),
            _files(roll, others), "; ".join(verdicts), _to_do(roll, frame))  # fmt: skip


def _files(roll: RollState, takes: list[Take]) -> str:
    """Names of files; with their folder where that is another one."""
    start = f"{roll.roll.folder}/"
    stored = [take for take in takes if take.path and take.stage in (Stage.STORED, Stage.JUDGED)]
    return "; ".join(t.path.removeprefix(start) if t.path.startswith(start) else f"../{t.path}" for t in stored)


def _to_do(roll: RollState, frame: FrameState) -> str:
    if frame.again:
        return f"take again: {frame.again}"
    if is_suspect(frame, roll):
        return f"look at it: {frame.doubt}" if frame.doubt else "look at it"
    return {"skipped": "skipped: take it", "open": "take it"}.get(kind_of(frame), "")


def _cell(value: str | tuple[str, ...] | None) -> str:
    return "; ".join(value) if isinstance(value, tuple) else value or ""
