"""Work on a Dask cluster: the same bag, bit for bit; nobody there."""

from __future__ import annotations

import asyncio
import sys
from datetime import date
from pathlib import Path

import msgspec
import pytest
from tests.unit.handover.test_delivery import Inline

from rigd.errors import InputError
from rigd.handover.cluster import reached
from rigd.handover.deliver import Delivery


async def test_a_cluster_makes_the_same_bag(tmp_path, make_roll):
    roll = make_roll(3)
    await Delivery("j-1", "Survey", (roll,), tmp_path / "job", tmp_path / "out", Inline()).run(date(2026, 3, 1))
    (tmp_path / "plan.json").write_bytes(msgspec.json.encode(roll))
    script, words = Path(__file__).with_name("on_cluster.py"), [tmp_path / n for n in ("plan.json", "job", "other")]
    child = await asyncio.create_subprocess_exec(sys.executable, script, *words, stdout=asyncio.subprocess.PIPE)
    said, _ = await child.communicate()
    assert said.split() == [b"2", b"3"]
    inline, far = ((tmp_path / name / "manifest-sha512.txt").read_bytes() for name in ("out", "other"))
    assert inline == far


async def test_nobody_there_is_said():
    with pytest.raises(InputError, match="No cluster answers"):
        await reached("tcp://127.0.0.1:1", timeout_s=0.5)
