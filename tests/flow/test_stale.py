"""What the camera returns is not always what was asked for: old files, wrong clocks, another shutter."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rigs import daemon_on, paper_work, take, the_frame, the_roll

from rigd.model.words import Decision, Quality

if TYPE_CHECKING:
    from conftest import Simulated


async def test_a_file_from_another_hour_is_stale_and_taken_again(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.fault("wrong_time", "picture", seconds=-7200.0)
        await take(daemon, verbs)
        first, second = (the_roll(daemon).takes[t] for t in the_frame(daemon).takes)
        assert first.verdict is not None
        assert first.verdict.take is Quality.STALE
        assert "2.0 hours before the shutter was released" in first.verdict.why
        assert (tmp_path / first.path).exists()
        assert the_frame(daemon).keeper == (second.take_id,)


async def test_a_camera_clock_that_was_off_from_the_start_is_no_fault(simulated: Simulated, tmp_path: Path) -> None:
    simulated.hand.call("clock", offset=-31_536_000.0)
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await take(daemon, verbs)
        takes = [the_roll(daemon).takes[t].verdict for t in the_frame(daemon).takes]
        assert all(v is not None and v.take is not Quality.STALE for v in takes)


async def test_a_clock_that_was_changed_is_told_from_an_old_picture(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.call("clock", offset=3600.0)
        await take(daemon, verbs)
        last = the_roll(daemon).takes[the_frame(daemon).takes[-1]]
        assert last.decision is Decision.ASK
        assert "clock was changed. Press Recover" in last.why
        assert the_frame(daemon).keeper == ()
        await verbs.recover()
        await daemon.desk.engine().until_idle()
        await take(daemon, verbs)
        assert len(the_frame(daemon).keeper) == 1


async def test_a_shutter_that_was_not_asked_for_is_stale(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        simulated.hand.fault("other_shutter", "picture", seconds=0.5)
        await take(daemon, verbs)
        first, second = (the_roll(daemon).takes[t] for t in the_frame(daemon).takes)
        assert first.verdict is not None
        assert first.verdict.take is Quality.STALE
        assert "The file says 0.5 s" in first.verdict.why
        assert second.want.shutter_s == first.want.shutter_s
        assert the_frame(daemon).keeper == (second.take_id,)


async def test_an_old_file_after_the_film_moved_is_never_the_next_frame(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await take(daemon, verbs)
        for place in (2, 3):
            await simulated.hand.acall("slide", frame=place, seconds=0.0)
            await simulated.hand.acall("still")
            simulated.hand.fault("stale_picture", "picture")
            await take(daemon, verbs, f"s-0001#{place}")
            frame = the_roll(daemon).frames[f"f-{place:05d}"]
            first, *more = (the_roll(daemon).takes[t] for t in frame.takes)
            assert first.verdict is not None
            assert first.verdict.take is Quality.STALE
            assert frame.keeper == (more[-1].take_id,)


async def test_film_that_did_not_move_is_said(simulated: Simulated, tmp_path: Path) -> None:
    async with daemon_on(tmp_path, simulated.camera) as (daemon, verbs):
        await paper_work(verbs)
        await take(daemon, verbs)
        await take(daemon, verbs, "s-0001#2")
        second = the_roll(daemon).frames["f-00002"]
        assert second.keeper == () or the_roll(daemon).takes[second.takes[-1]].decision is Decision.ASK
        words = [the_roll(daemon).takes[t].verdict for t in second.takes]
        assert all(v is not None and v.take is Quality.STALE for v in words)
        assert "The same picture as on an earlier frame" in words[0].why  # type: ignore[union-attr]
