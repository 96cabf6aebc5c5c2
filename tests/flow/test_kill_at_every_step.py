"""kill -9 before and after the commit of every event of a cycle, and in mid-exposure: each shot is accounted for."""

from __future__ import annotations

import hashlib
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
import pytest

from rigd.model.state import State
from rigd.model.words import Stage

if TYPE_CHECKING:
    from conftest import Simulated

HERE = Path(__file__).parent
STEPS = ("FramePlaced", "Settled", "ExposureIntended", "Exposed", "Fetched", "Stored", "Judged", "KeeperChosen")


class End(msgspec.Struct):
    state: State
    card: list[str]
    target: str | None


def _run(root: Path, camera: str, *words: str, env: dict[str, str]) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, str(HERE / "crash_rig.py"), str(root), camera, *words]
    return subprocess.run(command, capture_output=True, timeout=60, env=env, check=False)


def _crash_and_go_on(root: Path, simulated: Simulated, env: dict[str, str], *words: str) -> End:
    died = _run(root, simulated.camera, *words, env=env)
    assert died.returncode == -signal.SIGKILL, died.stderr.decode()
    again = _run(root, simulated.camera, "never", "-", env=env)
    assert again.returncode == 0, again.stderr.decode()
    return msgspec.json.decode(again.stdout, type=End)


def _all_accounted_for(root: Path, end: End) -> None:
    """One frame, one keeper; each file on the card is one take's; each stored file is there with its checksum."""
    roll = end.state.rolls["r-0001"]
    assert len(roll.frames) == 1
    (frame,) = roll.frames.values()
    assert len(frame.keeper) == 1
    assert end.state.working is None
    assert end.target == "s-0001#2"
    left = [t for t in roll.takes.values() if t.stage is not Stage.LOST]
    assert all(t.stage is Stage.JUDGED and t.verified for t in left)
    assert sorted(f.name for t in left for f in t.files) == sorted(end.card)
    for take in left:
        assert hashlib.sha256((root / take.path).read_bytes()).hexdigest() == take.sha256
    on_disk = sorted(p.name for p in (root / roll.roll.folder).iterdir() if p.suffix == ".dng")
    assert on_disk == sorted(Path(t.path).name for t in left)
    assert not (root / "unclaimed").exists()


@pytest.mark.parametrize("moment", ["before", "after"])
@pytest.mark.parametrize("step", STEPS)
def test_killed_at(step: str, moment: str, simulated: Simulated, tmp_path: Path, env: dict[str, str]) -> None:
    end = _crash_and_go_on(tmp_path, simulated, env, moment, step)
    _all_accounted_for(tmp_path, end)


def test_killed_in_mid_exposure(simulated: Simulated, tmp_path: Path, env: dict[str, str]) -> None:
    # 0.5 s exposure, killed 0.2 s into it: the camera finishes it alone, and the card tells.
    end = _crash_and_go_on(tmp_path, simulated, env, "after", "ExposureIntended", "0.2")
    _all_accounted_for(tmp_path, end)
    assert all(t.stage is Stage.JUDGED for t in end.state.rolls["r-0001"].takes.values())
