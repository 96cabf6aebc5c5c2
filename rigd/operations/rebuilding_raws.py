"""Raws that no paper knows: taken just before the ledger was lost, or in a folder whose papers are gone. Their names
tell the strip, the place and the take."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace

from rigd.errors import RigdError
from rigd.imaging import open_raw
from rigd.model.state import FrameState, RollState
from rigd.model.values import Exposure, Frame, Strip, Take
from rigd.model.words import Film, Purpose, Stage

_ENDS = r"-(\d{3,})-(\d{3,})-(\d{2,})(?:-[a-z]+)?(?:-t-\d+)?\.([a-z0-9]+)"
_PAPERS = ("xmp", "csv", "json", "txt", "tif", "jpg", "pdf", "png")
_DOUBT = "found without papers when the ledger was built anew"


T = TypeVar("T")


class Numbers:
    """Ids that nobody has yet. `known`: takes, frames and strips so far, or more."""

    def __init__(self, takes: int, frames: int, strips: int) -> None:
        self._next = {"t": takes, "f": frames, "s": strips}

    def fresh(self, kind: str, width: int) -> str:
        """The next id of that kind: `t` a take, `f` a frame, `s` a strip."""
        self._next[kind] += 1
        return f"{kind}-{self._next[kind]:0{width}d}"

    @property
    def counted(self) -> tuple[int, int, int]:
        return self._next["t"], self._next["f"], self._next["s"]


def with_raws(root: Path, roll: RollState, known: set[str], numbers: Numbers) -> tuple[RollState, list[str], list[str]]:
    """A roll with the raws of its folder that nobody knows; the paths of these, and of those that are no pictures."""
    folder = root / roll.roll.folder
    shape = re.compile(re.escape(roll.roll.folder) + _ENDS)
    found: list[str] = []
    unread: list[str] = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        match = shape.fullmatch(path.name)
        name = path.relative_to(root).as_posix()
        if match is None or match[4] in _PAPERS or name in known:
            continue
        try:
            take = _take(path, name, numbers, int(match[3]))
        except (RigdError, OSError) as error:
            unread.append(f"{name}: {error}")
            continue
        roll = _joined(roll, int(match[1]), int(match[2]), take, numbers)
        found.append(name)
    return roll, found, unread


def _take(path: Path, name: str, numbers: Numbers, number: int) -> Take:
    raw = open_raw(path)
    exposure = Exposure(raw.seconds, "", raw.f_number or None, round(raw.iso) or None)
    content = path.read_bytes()
    at = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    return Take(numbers.fresh("t", 6), None, Purpose.WHOLE, number, exposure, Stage.STORED, path=name,
                sha256=hashlib.sha256(content).hexdigest(), bytes=len(content), at=at)  # fmt: skip


def _joined(roll: RollState, number: int, place: int, take: Take, numbers: Numbers) -> RollState:
    """The take in its frame; a frame and a strip that nobody knew are new."""
    strip = _first(s for s in roll.strips.values() if s.number == number)
    if strip is None:
        strip = Strip(numbers.fresh("s", 4), roll.roll.roll_id, number, roll.roll.strip_places, assumed=True)
    known = _first(f for f in roll.frames.values() if (f.frame.strip_id, f.frame.place) == (strip.strip_id, place))
    frame = known or FrameState(Frame(numbers.fresh("f", 5), roll.roll.roll_id, strip.strip_id, place))
    take = replace(take, frame_id=frame.frame.frame_id)
    frame = replace(frame, takes=(*frame.takes, take.take_id), skipped=False)
    if not frame.keeper:
        frame = replace(frame, keeper=(take.take_id,), judged=Film.PICTURE, film=Film.PICTURE, by="rigd", doubt=_DOUBT)
    return replace(
        roll,
        strips={**roll.strips, strip.strip_id: strip},
        frames={**roll.frames, frame.frame.frame_id: frame},
        takes={**roll.takes, take.take_id: take},
        last_at=max(filter(None, (roll.last_at, take.at)), default=None),
    )


def _first(some: Iterable[T]) -> T | None:
    return next(iter(some), None)
