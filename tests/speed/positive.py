"""`positive`: from a raw by its path to a durable 16-bit TIFF with an ICC profile, over LibRaw's own linear demosaic.

60 MP, colour negative, uncompressed, straightened by 0.2 degrees; the flat field is ready, as it is for all frames of a
roll but the first. LibRaw: `postprocess` with linear demosaic, 16 bits, no gamma, in memory, unpack included.
"""

from __future__ import annotations

import tempfile
import time
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import rawpy
from spread import spread

from rigd.handover.making import developed
from rigd.handover.tiff import write_tiff
from rigd.handover.values import FramePlan, Lie, Print, Source
from rigd.imaging import open_raw
from rigd.imaging.positive import Flat, flat_field
from rigd.model.words import Colour, Tone
from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene import Scene, SceneSpec

PAIRS = 9
SECONDS = 1 / 30
CORNERS = ((0.08, 0.07), (0.92, 0.0735), (0.9184, 0.9335), (0.0784, 0.93))


def measure() -> dict[str, Any]:
    """`positive_over_libraw`; reach 0.75."""
    with tempfile.TemporaryDirectory(prefix="rigd-speed-") as folder:
        top = Path(folder)
        frame, empty = _files(top)
        flat = flat_field([open_raw(empty)])
        ours, theirs = [], []
        for number in range(PAIRS + 1):
            seconds, bare = _ours(frame, flat, top / "out.tif"), _libraw(frame)
            if number:  # the first pair warms up
                ours.append(seconds)
                theirs.append(bare)
    ratios = [a / b for a, b in zip(ours, theirs, strict=True)]
    found = spread(ratios)
    return {"positive_over_libraw": found["median"], "ratio": found, "positive_s": spread(ours),
            "libraw_s": spread(theirs), "megapixels": 60}  # fmt: skip


def _files(folder: Path) -> tuple[Path, Path]:
    now = 0.0
    names = []
    with Scene(SceneSpec(megapixels=60, film_format="135", colour="colour"), lambda: now) as scene:
        for name, strip, seconds in (("frame", 1, SECONDS), ("empty", None, 1 / 125)):
            scene.lay(strip)
            scene.prepare()
            mosaic = scene.expose(10.0, seconds, 8.0, 100)
            meta = ShotMeta(Fraction(seconds).limit_denominator(1000), 8.0, 100, datetime(2026, 3, 1, 12), "RS0000001")
            names.append(folder / f"{name}.dng")
            names[-1].write_bytes(encode_dng(mosaic, meta, scene.preview(10.0, 960), "none"))
    return names[0], names[1]


def _ours(path: Path, flat: Flat, out: Path) -> float:
    level = 4.0
    plan = FramePlan(
        "f-1", "speed", Tone.NEGATIVE, Colour.COLOUR, (Source(path.name, "", SECONDS),), (), (level, level, level),
        (0.6,) * 3, (0.7,) * 3, Print(), Lie(CORNERS, px_per_mm=220.0),
    )  # fmt: skip
    out.unlink(missing_ok=True)
    began = time.perf_counter()
    picture = developed(plan, [open_raw(path)], flat)
    write_tiff(out, picture, plan.lie.px_per_mm, plan.name)
    return time.perf_counter() - began


def _libraw(path: Path) -> float:
    began = time.perf_counter()
    with rawpy.RawPy() as raw:
        raw.open_file(str(path))
        raw.unpack()
        raw.postprocess(demosaic_algorithm=rawpy.DemosaicAlgorithm.LINEAR, output_bps=16, gamma=(1, 1),
                        no_auto_bright=True, use_camera_wb=True)  # fmt: skip
    return time.perf_counter() - began
