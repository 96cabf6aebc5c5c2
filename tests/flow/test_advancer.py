"""Film fed by the advancer: strips begin, end and are called for; slips, uneven gaps and a film that is shorter."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from advancing import advancing

from rigd.engine.caution import LampGuard
from rigd.errors import NotReady
from rigd.model.events import Advanced, Settled, Triggered, Troubled
from rigd.model.events_feed import FilmEnded, GearLearned
from rigd.model.plan import RollChanges
from rigd.model.words import BaseType, Film
from rigd.operations import feeding, plans

if TYPE_CHECKING:
    from conftest import Advancer, Simulated


async def test_strips_are_drawn_in_taken_and_called_for(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    """Two strips, one of them with the roll's blank; nobody presses anything."""
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.verbs.arm()
        for strip in (1, 2):
            await rig.push_in(strip)
            await rig.hear(FilmEnded)
            await rig.daemon.desk.engine().until_idle()
        assert rig.places() == [(strip, place) for strip in (1, 2) for place in (1, 2, 3, 4)]
        # The scene's script: the seventh frame of twelve was never exposed.
        assert [f.film for f in rig.frames] == [Film.UNEXPOSED if n == 7 else Film.PICTURE for n in range(1, 9)]
        rig.all_true()
        # Closed loop: at most two corrections, and the blank is found by the count alone.
        assert all(move.tries <= 2 for move in rig.moves())
        assert [move.off_mm is None for move in rig.moves() if move.frame_id] == [False] * 4 + [True] + [False]
        # What the motor's millimetres are worth was learned from the film's own movement, once.
        (learned,) = [event for event in rig.heard if isinstance(event, GearLearned)]
        film = await rig.hand.acall("film")
        assert abs(learned.gear) == pytest.approx(1.0, abs=0.02)
        assert rig.daemon.desk.state.armed
        assert film["strip"] == 2


async def test_a_strip_that_is_shorter_than_announced_ends_with_a_call(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    async with advancing(tmp_path, simulated, advancer, places=6) as rig:
        await rig.into_gate(1)
        await rig.trigger()
        ended = await rig.hear(FilmEnded)
        assert isinstance(ended, FilmEnded)
        assert ended.places == 4
        trouble = await rig.hear(Troubled)
        assert isinstance(trouble, Troubled)
        assert (trouble.code, trouble.why) == ("strip-ended", "6 frames were announced.")
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        rig.all_true()
        assert rig.daemon.desk.state.target == "new#1"


async def test_film_that_slips_is_driven_on_and_film_that_sticks_is_told(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.into_gate(1)
        await rig.trigger()
        await rig.hear(Advanced)
        await rig.hear(Settled)
        # The rollers lose the film for one whole advance, then hold it again.
        await rig.board.acall("stick", on=True)
        await rig.hear(Advanced)
        await rig.moving()
        await rig.board.acall("stick", on=False)
        await rig.hear(Settled)
        # And now for good.
        await rig.board.acall("stick", on=True)
        trouble = await rig.hear(Troubled)
        assert isinstance(trouble, Troubled)
        assert trouble.what == "The film does not follow the motor."
        await rig.at_rest()
        assert rig.places() == [(1, 1), (1, 2), (1, 3)]
        await rig.board.acall("stick", on=False)
        await rig.trigger()
        await rig.hear(FilmEnded)
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        rig.all_true()


async def test_what_a_hand_did_to_the_film_meanwhile_is_seen(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    """Paused, and the film slid back by a frame: the next order finds out by looking, and takes nothing twice."""
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.into_gate(1)
        await rig.trigger()
        await rig.hear(Advanced)
        await rig.hear(Advanced)
        await rig.verbs.pause()
        await rig.at_rest()
        await rig.hand.acall("slide", frame=1, off_mm=1.5, seconds=0.2)
        await rig.hand.acall("still", within_um=50.0)
        await rig.verbs.resume()
        await rig.hear(FilmEnded)
        assert rig.places() == [(1, 1), (1, 2), (1, 3), (1, 4)]
        rig.all_true()
        triggers = [event for event in rig.heard if isinstance(event, Triggered)]
        assert len(triggers) == 4


async def test_nitrate_is_not_run_by_a_motor(simulated: Simulated, advancer: Advancer, tmp_path: Path) -> None:
    # NFPA 40 (from memory): cellulose nitrate can ignite by itself; it is fed by hand.
    async with advancing(tmp_path, simulated, advancer) as rig:
        assert rig.daemon.desk.engine().fed
        await rig.verbs.do(plans.CHANGE, plans.RollChange("HO 12", RollChanges(base_type=BaseType.NITRATE)))
        assert not rig.daemon.desk.engine().fed
        with pytest.raises(NotReady, match="nitrate"):
            await rig.verbs.do(feeding.FEED_BY, feeding.FeedBy("advancer"))
        assert not rig.moves()


async def test_no_lamp_burns_unattended_under_film_that_may(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    # NFPA 40 (from memory): heat alone can set cellulose nitrate on fire.
    async with advancing(tmp_path, simulated, advancer) as rig:
        desk = rig.daemon.desk
        lamp = desk.engine().feed._lamp
        assert lamp is not None
        await lamp.shine(0.5)
        guard = LampGuard(desk.hub, lamp, desk.clock, after_s=0.3)
        async with asyncio.TaskGroup() as group:
            guarding = group.create_task(guard.run())
            changed = plans.RollChange("HO 12", RollChanges(base_type=BaseType.UNKNOWN))
            await rig.verbs.do(plans.CHANGE, changed)
            trouble = await rig.hear(Troubled)
            guarding.cancel()
        assert isinstance(trouble, Troubled)
        assert trouble.code == "lamp-out"
        assert (await lamp.shining()).level == 0
