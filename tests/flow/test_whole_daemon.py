"""The daemon on a simulated rig, driven as a phone or a command line drives it: by HTTP."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import rawpy
from rigs import daemon_on, nonce, paper_work

from rigd.app.desks import open_desk
from rigd.config import Settings
from rigd.errors import Busy, LedgerHeld, NotFound, NotReady, StaleCommand
from rigd.ledger import read_run_file, remove_run_file, write_run_file
from rigd.model.words import Film, Quality, Stage

if TYPE_CHECKING:
    from conftest import Simulated


async def test_a_trigger_becomes_a_safe_and_judged_file(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await verbs.trigger(nonce=nonce(), target="s-0001#1")
        await daemon.desk.engine().until_idle()
        status = await verbs.status()
        assert status.state.roll is not None
        (frame,) = status.state.roll.frames.values()
        take = status.state.roll.takes[frame.keeper[0]]
        assert (frame.film, take.stage) == (Film.PICTURE, Stage.JUDGED)
        assert take.verdict is not None
        assert take.verdict.take is Quality.GOOD
        with rawpy.imread(str(tmp_path / take.path)) as raw:
            assert raw.raw_image_visible.shape == (1152, 1728)
        report = await verbs.verify()
        assert (report.files, report.bad) == (len(status.state.roll.takes), 0)


async def test_a_second_trigger_is_refused_and_nothing_queues(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await verbs.trigger(nonce=nonce(), target="s-0001#1")
        with pytest.raises(Busy):
            await verbs.trigger(nonce=nonce(), target="s-0001#1")
        await daemon.desk.engine().until_idle()
        roll = daemon.desk.state.roll
        assert roll is not None
        assert list(roll.frames) == ["f-00001"]


async def test_a_stale_trigger_never_takes_another_frame(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        with pytest.raises(StaleCommand, match="another frame"):
            await verbs.trigger(nonce=nonce(), target="s-0001#2")
        assert daemon.desk.state.take_count == 0


async def test_the_open_gate_is_measured_and_film_out_is_told(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.lay(strip=None)
        await verbs.measure_gate()
        await daemon.desk.engine().until_idle()
        assert daemon.desk.state.lamp is not None
        await verbs.trigger(nonce=nonce(), target="s-0001#1")
        await daemon.desk.engine().until_idle()
        trouble = daemon.desk.state.trouble
        assert trouble is not None
        assert "Lay the film" in trouble.why
        assert daemon.desk.state.target == "s-0001#1"


async def test_a_frame_is_taken_again_on_request(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await verbs.trigger(nonce=nonce(), target="s-0001#1")
        await daemon.desk.engine().until_idle()
        before = daemon.desk.state.take_count
        await verbs.retake(nonce=nonce(), frame_id="f-00001")
        await daemon.desk.engine().until_idle()
        roll = daemon.desk.state.roll
        assert roll is not None
        assert daemon.desk.state.take_count > before
        assert roll.frames["f-00001"].keeper == (roll.frames["f-00001"].takes[-1],)
        assert daemon.desk.state.target == "s-0001#2"
        with pytest.raises(NotFound):
            await verbs.retake(nonce=nonce(), frame_id="f-00099")


async def test_the_ledger_has_one_owner_and_its_key_is_private(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, _):
        run = read_run_file(tmp_path)
        assert run is not None
        assert run.token == daemon.token
        with pytest.raises(LedgerHeld):
            async with open_desk(tmp_path, Settings()):
                pass
    assert read_run_file(tmp_path) is None


async def test_pause_refuses_until_resumed(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await verbs.pause()
        with pytest.raises(NotReady, match="paused"):
            await verbs.trigger(nonce=nonce())
        await verbs.resume()
        await verbs.trigger(nonce=nonce())
        await daemon.desk.engine().until_idle()
        assert daemon.desk.state.take_count >= 1


def test_run_files_are_for_this_user_alone(tmp_path: Path) -> None:
    place = write_run_file(tmp_path, "http://127.0.0.1:1", "secret")
    try:
        assert stat.S_IMODE(place.stat().st_mode) == 0o600
    finally:
        remove_run_file(tmp_path)
