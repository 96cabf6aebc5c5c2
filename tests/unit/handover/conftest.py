"""A small roll on disk: raws written with an independent library, and the plans that belong to them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile
from msgspec.structs import replace

from rigd.handover.planning import Left, RawPlan, RollPlan
from rigd.handover.values import FramePlan, Lie, Print, Source
from rigd.model.state import FrameState, RollState
from rigd.model.values import About, Frame, Roll, Strip
from rigd.model.words import Colour, Tone
from rigd.store.papers import RollPaper, as_json

SIZE = (200, 300)
CORNERS = ((0.2, 0.15), (0.8, 0.15), (0.8, 0.85), (0.2, 0.85))
BASE = 0.8  # light of the clear base, as a share of saturation, at 1/60 s


def write_raw(path: Path, seed: int, seconds: int = 60) -> str:
    """A negative: bright base about a darker picture that rises from left to right; its sha256."""
    rng = np.random.default_rng(seed)
    share = np.full(SIZE, BASE)
    ramp = np.linspace(0.05, 0.4, 180)
    share[30:170, 60:240] = ramp * rng.uniform(0.8, 1.2)
    share = share * 60 / seconds
    mosaic = np.clip(512 + share * 15871 + rng.normal(0, 3, SIZE), 0, 16383).astype(np.uint16)
    unit = tuple(x for i in range(9) for x in ((1, 1) if i % 4 == 0 else (0, 1)))
    tags = [(50706, "B", 4, bytes([1, 4, 0, 0]), True), (50708, "s", 0, "Plain", True)]
    tags += [(50714, "H", 1, 512, True), (50717, "H", 1, 16383, True)]
    tags += [(33434, "2I", 1, (1, seconds), True), (33437, "2I", 1, (8, 1), True)]
    tags += [(33421, "H", 2, (2, 2), True), (33422, "B", 4, bytes((0, 1, 1, 2)), True)]
    tags += [(50721, "2i", 9, unit, True), (50728, "2I", 3, (1, 1) * 3, True)]
    path.parent.mkdir(parents=True, exist_ok=True)
    tifffile.imwrite(path, mosaic, photometric=32803, extratags=tags, metadata=None)
    return hashlib.sha256(path.read_bytes()).hexdigest()


def frame_plan(root: Path, number: int, **changes: object) -> FramePlan:
    path = f"Q_7/q-{number:03d}.dng"
    sha256 = write_raw(root / path, number)
    level = float(np.log2(BASE * 60))
    plan = FramePlan(
        f"f-{number:05d}", f"q-{number:03d}", Tone.NEGATIVE, Colour.MONO, (Source(path, sha256, 1 / 60),), (),
        (level,) * 3, (0.62,) * 3, (0.7,) * 3, Print(), Lie(CORNERS, px_per_mm=5.0), About(title=f"Quay {number}"),
    )  # fmt: skip
    return replace(plan, **changes)


@pytest.fixture
def make_frame(tmp_path: Path) -> Callable[..., FramePlan]:
    return lambda number=1, **changes: frame_plan(tmp_path / "job", number, **changes)


@pytest.fixture
def make_roll(tmp_path: Path) -> Callable[..., RollPlan]:
    def made(frames: int = 3, **changes: object) -> RollPlan:
        plans = tuple(frame_plan(tmp_path / "job", n + 1, **changes) for n in range(frames))
        raws = tuple(RawPlan(plan.sources[0], f"raw/{plan.name}.dng") for plan in plans)
        roll = Roll("r-1", "Q 7", "Q_7", "120-6x6", Tone.NEGATIVE, Colour.MONO)
        there = {f.frame_id: FrameState(Frame(f.frame_id, "r-1", "s-1", n)) for n, f in enumerate(plans, 1)}
        state = RollState(roll, {"s-1": Strip("s-1", "r-1", 1, frames)}, there)
        papers = {"roll.json": as_json(RollPaper(state=state)), "frames.csv": b"number"}
        return RollPlan("r-1", "Q 7", "Q_7", plans, (Left("f-00009", 9, "unexposed"),), raws, papers, 0.5)

    return made
