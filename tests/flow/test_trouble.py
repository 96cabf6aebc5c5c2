"""What goes wrong in an evening: each a clear word with a remedy, the ledger true, nothing lost."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rigs import daemon_on, paper_work, settings_for, take, the_frame, the_roll

from rigd.app.desks import open_desk
from rigd.errors import CameraMissing, DiskFull, NotReady
from rigd.model.events import Settled, Troubled
from rigd.model.words import Decision, Quality, Stage
from rigd.operations import verifying

if TYPE_CHECKING:
    from conftest import Simulated


async def test_without_a_camera_the_page_is_up_and_says_so(tmp_path: Path) -> None:
    # Port 9 (discard, RFC 863) answers nobody on this machine.
    async with daemon_on(tmp_path, "ptpip:127.0.0.1:9:9") as (daemon, verbs):
        trouble = daemon.desk.state.trouble
        assert trouble is not None
        assert trouble.code == CameraMissing.code
        assert trouble.remedy
        await paper_work(verbs)
        await take(daemon, verbs)
        assert daemon.desk.state.take_count == 0
        assert (await verbs.status()).vitals.camera_ok is False


@pytest.mark.parametrize("kind", ["drop", "stall"])
async def test_a_camera_that_vanishes_in_mid_download(kind: str, simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.fault(kind, "download", after_bytes=1_000_000, seconds=3.0 if kind == "stall" else None)
        await take(daemon, verbs)
        frame = the_frame(daemon)
        assert len(frame.keeper) == 1
        # The shot was fetched again, not taken again.
        assert [t.stage for t in the_roll(daemon).takes.values()].count(Stage.LOST) == 0
        assert daemon.desk.state.unclaimed == 0
        assert (await verbs.verify()).bad == 0


async def test_a_camera_that_vanishes_while_the_shutter_is_open(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera, first_s=0.25) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.fault("drop", "event")
        await take(daemon, verbs)
        pictures = _pictures(simulated)
        claimed = sorted(f.name for t in the_roll(daemon).takes.values() for f in t.files)
        assert claimed == pictures
        assert len(the_frame(daemon).keeper) == 1


async def test_a_camera_switched_off_comes_back_by_one_button(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.call("power", on=False)
        await take(daemon, verbs)
        assert daemon.desk.state.trouble is not None
        assert the_frame(daemon).keeper == ()
        simulated.hand.call("power", on=True)
        await verbs.recover()
        await daemon.desk.engine().until_idle()
        assert daemon.desk.state.trouble is None
        await take(daemon, verbs)
        assert len(the_frame(daemon).keeper) == 1


async def test_a_picture_that_was_delivered_before_is_no_second_frame(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await take(daemon, verbs)
        simulated.hand.slide(frame=2, seconds=0.0)
        simulated.hand.call("still")
        simulated.hand.fault("stale_picture", "picture")
        await take(daemon, verbs, "s-0001#2")
        second = the_roll(daemon).frames["f-00002"]
        words = [the_roll(daemon).takes[t].verdict for t in second.takes]
        assert words[0] is not None
        assert words[0].take is Quality.STALE
        assert words[-1] is not None
        assert words[-1].take is Quality.GOOD
        assert second.keeper == (second.takes[-1],)


async def test_a_file_that_cannot_be_decoded_is_kept_and_taken_again(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.fault("short_file", "picture", after_bytes=200_000)
        await take(daemon, verbs)
        takes = list(the_roll(daemon).takes.values())
        assert takes[0].verdict is not None
        assert takes[0].verdict.film is None
        assert takes[0].decision is Decision.RETAKE
        assert (tmp_path / takes[0].path).exists()
        assert the_frame(daemon).keeper == (takes[-1].take_id,)


async def test_a_late_file_is_kept_apart_and_never_numbered(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.call("press")
        simulated.hand.call("taken", count=1)
        await take(daemon, verbs)
        assert daemon.desk.state.unclaimed == 1
        (kept,) = (p for p in (tmp_path / "unclaimed").iterdir() if p.suffix.lower() == ".dng")
        assert kept.name == "RIG_0001.DNG"
        assert all(f.name != "RIG_0001.DNG" for t in the_roll(daemon).takes.values() for f in t.files)


async def test_a_full_card_stops_with_a_word(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.fault("card_full", "capture")
        await take(daemon, verbs)
        trouble = daemon.desk.state.trouble
        assert trouble is not None
        assert trouble.code == "card-full"


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A volume of its own of 2.7 GB, room for 22 frames of unknown size, that can be filled without harm."""
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=2700m", "tmpfs", str(folder)], check=False)
    if made.returncode:
        pytest.skip("a full disk is tried on a volume of its own, and only root may mount one")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def _fill(folder: Path, leave: int = 0) -> Path:
    """Take all room that is left, but for `leave` bytes."""
    filler, free = folder / "filler", os.statvfs(folder)
    with filler.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, free.f_bavail * free.f_frsize - leave)
    return filler


async def test_a_disk_that_fills_up_in_mid_frame(simulated: Simulated, small_disk: Path) -> None:
    async with daemon_on(small_disk, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        listener = daemon.desk.hub.subscribe()
        await verbs.trigger(nonce="a" * 16)
        async for item in listener:
            if isinstance(getattr(item, "event", None), Settled):
                break
        filler = _fill(small_disk)
        await daemon.desk.engine().until_idle()
        trouble = daemon.desk.state.trouble
        assert trouble is not None
        assert trouble.code == DiskFull.code
        assert daemon.desk.state.working == "t-000001"
        with pytest.raises((NotReady, DiskFull)):
            await verbs.trigger(nonce="b" * 16)
        filler.unlink()
        await verbs.recover()
        await daemon.desk.engine().until_idle()
        # The shot on the card was fetched; the shutter was not released for it again.
        assert the_frame(daemon).takes[0] == "t-000001"
        assert the_roll(daemon).takes["t-000001"].stage is Stage.JUDGED
        assert (await verbs.verify()).bad == 0
        daemon.desk.hub.leave(listener)


async def test_a_nearly_full_disk_refuses_before_the_shutter(simulated: Simulated, small_disk: Path) -> None:
    _fill(small_disk, leave=1 << 30)
    async with daemon_on(small_disk, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        with pytest.raises(DiskFull, match="more frames"):
            await verbs.trigger(nonce="c" * 16)
        assert daemon.desk.state.take_count == 0


async def test_a_damaged_file_is_found_and_named(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await take(daemon, verbs)
        path = tmp_path / the_roll(daemon).takes[the_frame(daemon).keeper[0]].path
    with path.open("r+b") as file:
        file.seek(1_000_000)
        byte = file.read(1)
        file.seek(1_000_000)
        file.write(bytes([byte[0] ^ 1]))
    async with open_desk(tmp_path, settings_for(simulated.camera)) as desk:
        report = await verifying.verify(desk)
    assert report.bad == 1
    assert path.name in next(line.path for line in report.lines if not line.ok)


def _pictures(simulated: Simulated) -> list[str]:
    truth = simulated.hand.truth()
    camera = truth["camera"]
    assert isinstance(camera, dict)
    return sorted(p["name"] for p in camera["pictures"])


async def test_a_camera_that_goes_away_while_nothing_is_asked(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        listener = daemon.desk.hub.subscribe()
        simulated.hand.call("power", on=False)
        async for item in listener:
            if isinstance(getattr(item, "event", None), Troubled):
                break
        daemon.desk.hub.leave(listener)
        assert daemon.desk.state.trouble is not None
        assert daemon.desk.state.trouble.code.startswith("camera")
        simulated.hand.call("power", on=True)
        await daemon.desk.engine().until_idle()
        await verbs.recover()
        await daemon.desk.engine().until_idle()
        await take(daemon, verbs)
        assert len(the_frame(daemon).keeper) == 1
