"""`rigd board` against a running board, as somebody does who builds one: firmware and twin."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tests.contract.board.bed import Bed, board_bed

from rigd.commands import cli


@pytest.fixture
def running(kind: str, folder: Path) -> Iterator[Bed]:
    with board_bed(kind, folder, held=False) as made:
        yield made


def rigd_board(bed: Bed, *words: str) -> Result:
    return CliRunner().invoke(cli, ["board", *words[:1], "--port", bed.url, *words[1:]])


def test_a_board_is_calibrated_from_the_command_line(running: Bed) -> None:
    told = json.loads(rigd_board(running, "show", "--json").stdout)
    assert told["settings"]["gear"] == 80000  # PROTOCOL.md, "Settings"
    assert len(told["settings"]) == 13
    kept = rigd_board(running, "keep", "gear", "81000")
    assert kept.exit_code == 0, kept.stderr
    assert json.loads(rigd_board(running, "show", "--json").stdout)["settings"]["gear"] == 81000
    before = running.count()
    moved = rigd_board(running, "move", "10")
    assert moved.exit_code == 0, moved.output
    assert running.count() - before == 810
    back = rigd_board(running, "move", "--", "-10")
    assert back.exit_code == 0, back.output
    assert running.count() - before == 1620


def test_a_stop_is_told_and_lifted(running: Bed) -> None:
    running.call("pin", name="stop", on=True)
    refused = rigd_board(running, "move", "10")
    assert refused.exit_code == 1
    assert "The advancer is stopped." in refused.stderr
    assert rigd_board(running, "clear").exit_code == 1, "the switch is still pressed"
    running.call("pin", name="stop", on=False)
    assert rigd_board(running, "clear").exit_code == 0
    assert rigd_board(running, "move", "1").exit_code == 0


def test_values_out_of_range_are_refused(running: Bed) -> None:
    refused = rigd_board(running, "keep", "top", "99999")
    assert refused.exit_code == 1
    assert "outside of the setting's range" in refused.stderr
