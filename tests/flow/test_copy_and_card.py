"""The second copy beside a running daemon, and the card cleared over PTP only after both copies were read back."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rigs import daemon_on, paper_work, take, the_roll

from rigd.app.daemon import Daemon
from rigd.errors import NotReady
from rigd.hub import Vitals
from rigd.operations import clearing, copies, outlook
from rigd.operations.copies import CopyTo
from rigd.operations.flagging import Some
from rigd.operations.verb import Nothing
from rigd.store.second import MARK

if TYPE_CHECKING:
    from conftest import Simulated


async def until(daemon: Daemon, fits: Callable[[Vitals], bool]) -> None:
    """Wait until the vitals are so."""
    hub = daemon.desk.hub
    listener = hub.subscribe()
    try:
        async with asyncio.timeout(40):
            if fits(hub.vitals):
                return
            async for _ in listener:
                if fits(hub.vitals):
                    return
    finally:
        hub.leave(listener)


def raws(root: Path) -> dict[str, bytes]:
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in root.rglob("*.dng")}


async def test_from_the_card_to_two_disks_and_then_off_the_card(simulated: Simulated, tmp_path: Path) -> None:
    job, other = tmp_path / "job", tmp_path / "other"
    async with daemon_on(job, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        with pytest.raises(NotReady, match="no second copy"):
            await verbs.do(clearing.CLEAR, Some(roll="HO 12"))
        await verbs.do(copies.COPY_TO, CopyTo(str(other), same_disk=True))
        await take(daemon, verbs)
        files = sum(bool(t.path) for t in the_roll(daemon).takes.values())
        await until(daemon, lambda v: v.copied == v.to_copy == files)
        assert raws(other) == raws(job)
        seen = await verbs.do(clearing.ON_CARD, Nothing())
        assert (seen.files, seen.unclaimed) == (files, 0)

        (other / MARK).rename(tmp_path / "pulled")
        await take(daemon, verbs, "s-0001#2")
        await until(daemon, lambda v: "not there" in v.copy_trouble)
        done = await verbs.do(clearing.CLEAR, Some(roll="HO 12"))
        assert done.frames == (), "the disk is not there: nothing can be read back"
        (tmp_path / "pulled").rename(other / MARK)

        copy = next(other.rglob("*.dng"))
        good = copy.read_bytes()
        copy.write_bytes(good[:-1] + bytes([good[-1] ^ 1]))
        refused = await verbs.do(clearing.CLEAR, Some(ids=("f-00001",)))
        assert (refused.frames, refused.left[0].frame_id) == ((), "f-00001")
        copy.write_bytes(good)

        assert (await verbs.do(clearing.CLEAR, Some(ids=("f-00001",)))).frames == ("f-00001",)
        left = sum(bool(t.path) and not t.cleared for t in the_roll(daemon).takes.values())
        assert (await verbs.do(clearing.ON_CARD, Nothing())).files == left > 0
        again = await verbs.do(clearing.CLEAR, Some(ids=("f-00001",)))
        assert again == clearing.Cleared(("f-00001",), ()), "twice is once"
        assert (await verbs.verify()).bad == 0


async def test_the_evening_begins_with_what_still_fits(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (_, verbs):
        await paper_work(verbs)
        found = await verbs.do(outlook.OUTLOOK, Nothing())
        assert found.disk is not None
        assert found.card is not None
        assert found.battery is not None
        assert found.to_come == 12
        assert "the camera's card" in found.words[0]


async def test_a_copier_that_was_killed_goes_on(simulated: Simulated, tmp_path: Path) -> None:
    """A second daemon finds what the first had not copied, and what it left half done."""
    job, other = tmp_path / "job", tmp_path / "other"
    async with daemon_on(job, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await take(daemon, verbs)
        await verbs.do(copies.COPY_TO, CopyTo(str(other), same_disk=True))
    first = next(iter(raws(job)))
    (other / first).parent.mkdir(exist_ok=True)
    (other / first).with_name(f".copy-{Path(first).name}.part").write_bytes(b"half")
    async with daemon_on(job, simulated.camera) as (daemon, _):
        await until(daemon, lambda v: bool(v.to_copy) and v.copied == v.to_copy)
    assert raws(other) == raws(job)
    assert not list(other.rglob("*.part"))
