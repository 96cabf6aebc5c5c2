"""How the board and its lamp are, as everybody who looks is told: the simulated board, through the real driver."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from advancing import advancing

if TYPE_CHECKING:
    from conftest import Advancer, Simulated


async def test_film_stop_and_lamp_are_told_and_a_board_that_goes_keeps_its_last_word(
    simulated: Simulated, advancer: Advancer, tmp_path: Path
) -> None:
    async with advancing(tmp_path, simulated, advancer) as rig:
        await rig.push_in(1)
        await rig.see(lambda vitals: vitals.board_film is True and vitals.board_stopped is False)
        told = rig.daemon.desk.hub.vitals
        assert told.lamp_level is not None
        assert told.lamp_warm_in_s is not None
        heard = told.board_heard
        assert heard is not None
        await rig.board.acall("plug", on=False)
        await rig.see(lambda vitals: not vitals.board_ok)
        gone = rig.daemon.desk.hub.vitals
        assert gone.board_heard is not None
        assert gone.board_heard >= heard
        assert gone.board, "it is still the one that is named"
