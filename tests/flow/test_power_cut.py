"""The power goes at any moment: what was acknowledged is there, and the work can go on.

A real run of ledger and store is recorded by strace(1). Then, after every single call, the disk is laid out as a power
cut may have left it, and the real code must open it. `kill -9` is no power cut: memory survives it (see the tests of
the ledger's owner).
"""

from __future__ import annotations

import asyncio
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

import pytest
from tests.flow.power_cut_check import now, require_safe
from tests.flow.power_cut_medium import Medium, Names, lay_out
from tests.flow.power_cut_steps import Recorder, Step
from tests.flow.power_cut_trace import COMMAND, calls
from tests.flow.power_cut_writer import TAKES

from rigd.errors import RigdError
from rigd.ledger import Ledger
from rigd.model.events import AnyEvent, Stored, Unclaimed

WRITER = Path(__file__).with_name("power_cut_writer.py")


@dataclass(frozen=True)
class Run:
    """An uncut run: its steps on the disk, its events, and the folder it left."""

    steps: tuple[Step, ...]
    story: tuple[AnyEvent, ...]
    root: Path


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    folder = tmp_path_factory.mktemp("power-cut").resolve()
    _require_strace(folder)
    root, record, told = folder / "job", folder / "record", folder / "told"
    command = [*COMMAND, "-o", str(record), sys.executable, "-B", str(WRITER), str(root), str(told)]
    subprocess.run(command, check=True, cwd=WRITER.parents[2], env={"PYTHONPATH": str(WRITER.parents[2])})
    steps = Recorder(PurePosixPath(root), PurePosixPath(told)).follow(calls(record))
    shutil.copytree(root, folder / "opened")
    story = asyncio.run(_events(folder / "opened"))
    return Run(tuple(steps), story, root)


def _require_strace(folder: Path) -> None:
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed: the power cut cannot be tried (Debian: apt-get install strace)")
    probe = subprocess.run([*COMMAND, "-o", folder / "probe", "true"], capture_output=True, text=True, check=False)
    if probe.returncode != 0:
        pytest.skip(f"strace may not trace here ({probe.stderr.strip()}): the power cut cannot be tried")


async def _events(root: Path) -> tuple[AnyEvent, ...]:
    ledger = await Ledger.open(root, now)
    try:
        return tuple(committed.event for committed in await ledger.read())
    finally:
        await ledger.close()


Left = tuple[dict[int, bytes], Names]


def cuts(steps: Iterable[Step], kinds: Callable[[Medium], Iterable[Left]]) -> Iterator[tuple[Medium, Left]]:
    """What a cut after each step may leave; the same folder with the same acknowledgements comes only once."""
    medium, seen = Medium(), set()
    for step in steps:
        medium.take(step)
        for files, names in kinds(medium):
            key = (
                medium.told,
                frozenset(names.items()),
                frozenset((n, hash(files.get(n, b""))) for n in names.values()),
            )
            if key not in seen:
                seen.add(key)
                yield medium, (files, names)


def examined(left: Iterable[tuple[Medium, Left]], story: tuple[AnyEvent, ...]) -> int:
    """Lay out and check each; the number of them."""

    async def all_of_them() -> int:
        count = 0
        for count, (medium, (files, names)) in enumerate(left, 1):  # noqa: B007
            # In memory: nothing here depends on a disk any more.
            with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as folder:
                lay_out(Path(folder, "job"), files, names, medium.folders)
                await require_safe(Path(folder, "job"), medium.told, story)
        return count

    return asyncio.run(all_of_them())


def test_the_record_is_complete(run: Run, tmp_path: Path) -> None:
    """With every step applied, the folder is the one that the run really left: nothing was misread or overlooked."""
    medium = Medium()
    for step in run.steps:
        medium.take(step)
    lay_out(tmp_path / "job", *medium.everything(), medium.folders)
    assert tree(tmp_path / "job") == tree(run.root)
    assert medium.told == len(run.story)
    assert sum(isinstance(event, Stored) for event in run.story) == TAKES
    assert sum(isinstance(event, Unclaimed) for event in run.story) == 1


def tree(root: Path) -> dict[str, bytes | None]:
    return {p.relative_to(root).as_posix(): p.read_bytes() if p.is_file() else None for p in root.rglob("*")}


def test_all_that_was_not_synced_is_gone(run: Run) -> None:
    assert examined(cuts(run.steps, lambda medium: [medium.nothing_more()]), run.story) > 100


def test_all_that_was_not_synced_is_there_all_the_same(run: Run) -> None:
    assert examined(cuts(run.steps, lambda medium: [medium.everything()]), run.story) > 300


@pytest.mark.parametrize("seed", [1, 2])
def test_any_part_of_what_was_not_synced_is_there(run: Run, seed: int) -> None:
    chance = random.Random(seed)
    assert examined(cuts(run.steps, lambda medium: [medium.anything(chance)]), run.story) > 300


@pytest.mark.parametrize(
    "forgotten", [".part", "ledger.sqlite", "ledger.sqlite-journal", "Pier_7", "Pier_8", "unclaimed", "the job's own"]
)
def test_a_sync_that_was_forgotten_would_be_found(run: Run, forgotten: str) -> None:
    """The test itself is tested: without the syncs of some file or folder, the same cuts must be found unsafe."""
    named = {step.file for step in run.steps if step.kind == "name" and step.name.endswith(forgotten)}
    without = named or {0}
    steps = [s for s in run.steps if not (s.kind.startswith("sync") and s.file in without)]
    # The journal is what saves a page that was torn; all else is missed as soon as it is not there.
    chance = random.Random(3)
    torn = forgotten.endswith("journal")
    with pytest.raises((AssertionError, RigdError)):
        examined(cuts(steps, lambda m: [m.anything(chance) if torn else m.nothing_more()]), run.story)
