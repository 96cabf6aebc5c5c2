"""`judge`: from the last byte in the spool to durable, hashed, decoded, judged, committed, over LibRaw's bare unpack.

60 MP, uncompressed and losslessly compressed; the file is written anew for each pair (not timed), so that making it
durable is real work; the unpack reads the stored file by path, page cache warm. The engine's own code is measured.
"""

from __future__ import annotations

import asyncio
import shutil
import tempfile
import time
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import rawpy
from spread import spread

from rigd.app.desks import open_desk
from rigd.config import Settings
from rigd.engine.judging import Judging
from rigd.engine.places import placing
from rigd.engine.rig import Rig
from rigd.engine.steps import InSpool
from rigd.engine.taking import Taking
from rigd.model.events import Exposed, ExposureIntended, Fetched, Triggered
from rigd.model.values import CardFile, Exposure
from rigd.model.words import Purpose
from rigd.operations import rolls
from rigd.operations.desk import Desk
from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene import Scene, SceneSpec

PAIRS = 11
SECONDS = 1 / 30


def measure() -> dict[str, Any]:
    """`judge_over_unpack` for the uncompressed file, `judge_over_unpack_lossless` for the other; reach 1.5 and 1.15."""
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        files = _files(Path(folder))
        plain, lossless = (asyncio.run(_ratios(Path(folder) / name, file)) for name, file in files.items())
    return {
        "judge_over_unpack": plain["ratio"]["median"], "judge_over_unpack_lossless": lossless["ratio"]["median"],
        "uncompressed": plain, "lossless_jpeg": lossless, "megapixels": 60,
    }  # fmt: skip


def _files(folder: Path) -> dict[str, Path]:
    """One 60 MP frame in both kinds."""
    now = 0.0
    with Scene(SceneSpec(megapixels=60), lambda: now) as scene:
        scene.lay(1)
        scene.prepare()
        mosaic = scene.expose(10.0, SECONDS, 8.0, 100)
        small = scene.preview(10.0, 960)
    meta = ShotMeta(Fraction(1, 30), 8.0, 100, datetime(2026, 3, 1, 12), "RS0000001")
    files = {}
    for kind in ("none", "lossless-jpeg"):
        files[kind] = folder / f"{kind}.dng"
        files[kind].write_bytes(encode_dng(mosaic, meta, small, kind))
    return files


async def _ratios(root: Path, source: Path) -> dict[str, Any]:
    ours, theirs = [], []
    async with open_desk(root, Settings()) as desk:
        await rolls.open_job(desk, title="speed")
        await rolls.plan_roll(desk, label="S", film_format_name="120-6x6")
        await rolls.open_roll(desk, roll_id="r-0001")
        rig = Rig(camera=None, card=None, live=None, clock=desk.clock, hub=desk.hub, store=desk.store)  # type: ignore[arg-type]  # no device is touched
        judging = Judging(rig)
        taking = Taking(rig, judging)
        for number in range(PAIRS + 1):
            seconds, stored = await _one(desk, taking, source, number)
            await judging.close()
            bare = await asyncio.to_thread(_unpack, stored)
            if number:  # the first pair warms up
                ours.append(seconds)
                theirs.append(bare)
    ratios = [a / b for a, b in zip(ours, theirs, strict=True)]
    return {"ratio": spread(ratios), "judge_s": spread(ours), "unpack_s": spread(theirs)}


async def _one(desk: Desk, taking: Taking, source: Path, number: int) -> tuple[float, Path]:
    """One take from the spool to the judgement; seconds, and where the file is."""
    found = placing(desk.state)
    frame_id, take_id = found.placed.frame.frame_id, f"t-{number + 1:06d}"
    card = CardFile("/", source.name, source.stat().st_size)
    exposure = Exposure(SECONDS, "", 8.0, 100)
    await desk.hub.append(*found.events, Triggered(frame_id, "speed"))
    await desk.hub.append(ExposureIntended(take_id, frame_id, Purpose.WHOLE, number + 1, exposure))
    await desk.hub.append(Exposed(take_id, SECONDS, (card,)))
    part = desk.store.part_path(taking.folder(take_id), take_id)
    await asyncio.to_thread(shutil.copyfile, source, part)
    await desk.hub.append(Fetched(take_id, part.name, card.bytes or 0))
    take = desk.state.take(take_id)
    assert take is not None
    began = time.perf_counter()
    await taking.keep(InSpool(take_id, part, card.bytes or 0), take)
    seconds = time.perf_counter() - began
    done = desk.state.take(take_id)
    assert done is not None
    assert done.verdict is not None
    return seconds, desk.root / done.path


def _unpack(path: Path) -> float:
    began = time.perf_counter()
    with rawpy.RawPy() as raw:
        raw.open_file(str(path))
        raw.unpack()
    return time.perf_counter() - began
