"""What the folders of a job say by themselves: sidecars, lists, checksums; a lost ledger is built anew from them.

`sha256sum --check` (GNU coreutils) reads the checksum list; the raw files never change.
"""

from __future__ import annotations

import csv
import subprocess
from pathlib import Path

import pytest
from msgspec.structs import replace
from tests.unit.operations.both_ways import Job, job
from tests.unit.operations.taken import files, raw_file, strip_of, take

from rigd import paths
from rigd.app.desks import open_desk
from rigd.config import Settings
from rigd.drivers.clock import RealClock
from rigd.errors import InputError, LedgerHeld, NotFound, NotReady
from rigd.ledger import Ledger
from rigd.model import events as ev
from rigd.model.metadata import AboutChanges
from rigd.model.order import in_order
from rigd.model.plan import RollChanges
from rigd.model.state import RollState, State
from rigd.model.tally import tally
from rigd.model.words import BaseType, Film, Quality
from rigd.operations import correcting, describing, flagging, plans, verifying
from rigd.operations.rebuilding import rebuild
from rigd.operations.verifying import PapersOf
from rigd.store.papers import FRAMES, JOB, ROLL
from rigd.store.sidecar import sidecar_name


async def an_evening(job: Job) -> list[str]:
    """Two rolls; a retake, a blank by hand, a doubtful keeper, a skipped frame, a strip that went to the other roll."""
    verbs, desk = job.verbs, job.desk
    for label in ("HO 12", "HO 13/a"):
        about = AboutChanges(photographer="A. Lind", place="Vessling", dates="1957-05/1957-06")
        changes = RollChanges(label=label, film_format="135", exposures=36, about=about)
        await verbs.do(plans.PLAN, plans.NewRoll(changes))
    ids: list[str] = []
    for label, strips in (("HO 13/a", 1), ("HO 12", 2)):
        await verbs.open_roll(roll_id=label)
        for number in range(1, strips + 1):
            assert desk.state.roll is not None
            ids += await strip_of(desk, desk.state.roll, number, 3)
    await take(desk, ids[3], content=b"better")
    await take(desk, ids[4], quality=Quality.SOFT)
    await verbs.mark(frame_id=ids[5], film=Film.UNEXPOSED)
    await verbs.do(flagging.WANT, flagging.Wanting(ids=(ids[6],), why="a hair"))
    said = AboutChanges(title="Crane & <quay>", keywords=("quay", "crane"))
    await verbs.do(describing.DESCRIBE, describing.Describing(ids=(ids[3],), changes=said))
    await verbs.do(correcting.CORRECT, correcting.StripsAre("2", roll="HO 12", to="HO 13/a"))
    await verbs.skip()
    await verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="HO 14", film_format="120-6x6")))
    return ids


async def written(job: Job) -> None:
    await job.verbs.do(verifying.PAPERS, PapersOf())


def checked(folder: Path) -> str:
    command = ["sha256sum", "--check", "--strict", "--quiet", paths.MANIFEST]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


async def test_each_folder_tells_by_itself_what_it_holds(open_job: Job) -> None:
    root = open_job.desk.root
    await an_evening(open_job)
    before = files(root)
    await written(open_job)
    assert files(root) == before, "no raw has changed"
    for raw in before:
        assert (root / sidecar_name(raw)).is_file()
    for folder in ("HO_12", "HO_13-a"):
        assert checked(root / folder) == ""
        listed = (root / folder / paths.MANIFEST).read_text()
        lying = {p.name for p in (root / folder).iterdir()} - {paths.MANIFEST}
        assert {line.split("  ")[1] for line in listed.splitlines()} == lying
    assert (root / JOB).is_file()
    assert not (root / "HO_14").exists(), "nothing of it has been taken"


async def test_frames_are_listed_in_the_order_of_the_film(open_job: Job) -> None:
    root = open_job.desk.root
    await an_evening(open_job)
    await written(open_job)
    rows = list(csv.DictReader((root / "HO_12" / FRAMES).read_text("utf-8-sig").splitlines()))
    assert [(r["number"], r["counts as"], r["to do"]) for r in rows] == [
        ("1", "picture", ""), ("2", "picture", "look at it"), ("3", "unexposed", ""),
        ("4", "skipped", "skipped: take it"),
    ]  # fmt: skip
    told = [rows[0][name] for name in ("title", "photographer", "keywords")]
    assert told == ["Crane & <quay>", "A. Lind", "quay; crane"]
    assert len(rows[0]["other files"].split("; ")) == 1
    moved = list(csv.DictReader((root / "HO_13-a" / FRAMES).read_text("utf-8-sig").splitlines()))
    assert moved[3]["files"].startswith("../HO_12/"), "a frame of a corrected strip: its file stays where it was stored"


async def test_what_is_told_later_is_in_the_sidecar_later(open_job: Job) -> None:
    root = open_job.desk.root
    ids = await an_evening(open_job)
    await written(open_job)
    raw = open_job.desk.state.rolls["r-0001"].takes[open_job.desk.state.rolls["r-0001"].frames[ids[3]].keeper[0]].path
    before = (root / sidecar_name(raw)).read_text()
    assert "Crane &amp; &lt;quay&gt;" in before
    changed = describing.Describing(ids=(ids[3],), changes=AboutChanges(title="South mole"))
    await open_job.verbs.do(describing.DESCRIBE, changed)
    await open_job.verbs.do(plans.CHANGE_JOB, plans.JobChange(about=AboutChanges(rights="Port of Vessling")))
    await written(open_job)
    after = (root / sidecar_name(raw)).read_text()
    assert "South mole" in after
    assert "Port of Vessling" in after
    assert checked(root / "HO_12") == ""


async def test_what_somebody_else_wrote_into_a_sidecar_is_kept(open_job: Job) -> None:
    root = open_job.desk.root
    await an_evening(open_job)
    await written(open_job)
    raw = next(iter(files(root)))
    place = root / sidecar_name(raw)
    theirs = place.read_bytes().replace(b"</rdf:Description>", b"<xmp:Rating>4</xmp:Rating></rdf:Description>")
    place.write_bytes(theirs)
    await open_job.verbs.do(plans.CHANGE_JOB, plans.JobChange(about=AboutChanges(rights="Port of Vessling")))
    await written(open_job)
    assert place.with_name(f"{place.stem}.theirs.xmp").read_bytes() == theirs
    assert b"Port of Vessling" in place.read_bytes()


async def test_verify_tells_missing_changed_and_surplus(open_job: Job) -> None:
    root = open_job.desk.root
    await an_evening(open_job)
    await written(open_job)
    good = await open_job.verbs.verify()
    assert (good.bad, good.papers, good.surplus) == (0, (), ())
    raws = list(files(root))
    (root / raws[0]).unlink()
    (root / raws[1]).write_bytes(b"other")
    (root / sidecar_name(raws[2])).unlink()
    (root / raws[3]).with_suffix(".tif").write_bytes(b"a scan of somebody")
    (root / "notes.txt").write_text("x")
    found = await open_job.verbs.verify()
    assert {line.path: line.state for line in found.lines if not line.ok} == {raws[0]: "missing", raws[1]: "changed"}
    assert sidecar_name(raws[2]) in found.papers
    assert set(found.surplus) == {str(Path(raws[3]).with_suffix(".tif")), "notes.txt"}


def truth(state: State) -> dict[str, RollState]:
    """Rolls without what counts seconds and the order of planning."""
    gone = {"first_at": None, "last_at": None, "worked_s": 0.0, "paced": 0}
    return {key: replace(roll, **gone) for key, roll in state.rolls.items()}


async def test_a_lost_ledger_is_built_anew_from_the_folders(tmp_path: Path) -> None:
    async with job("alone", tmp_path) as found:
        await found.verbs.open_job(title="survey of the quays", default_base=BaseType.SAFETY)
        ids = await an_evening(found)
        await written(found)
        before, last = found.desk.state, found.desk.state.seq
    with pytest.raises(InputError, match="already"):
        await rebuild(tmp_path, RealClock())
    paths.ledger_file(tmp_path).unlink()
    with pytest.raises(NotReady, match="is lost"):  # nobody begins the job anew beside its pictures
        async with open_desk(tmp_path, Settings()):
            pass
    done = await rebuild(tmp_path, RealClock())
    assert (done.rolls, done.missing, done.unread, done.kept) == (3, (), (), "")
    ledger = await Ledger.open(tmp_path, RealClock().now)
    try:
        state = ledger.state
        assert {i: tally(roll) for i, roll in state.rolls.items()} == {i: tally(r) for i, r in before.rolls.items()}
        assert truth(state) == truth(before)
        assert state.job == before.job
        assert (state.take_count, state.frame_count, state.strip_count) == (
            before.take_count, before.frame_count, before.strip_count,
        )  # fmt: skip
        assert state.seq < last + 50
        assert await ledger.append(ev.FrameRecalled(ids[0])), "and it goes on"
    finally:
        await ledger.close()


async def test_a_damaged_ledger_is_put_aside_and_replaced(tmp_path: Path) -> None:
    async with job("alone", tmp_path) as found:
        await found.verbs.open_job(title="survey of the quays", default_base=BaseType.SAFETY)
        await an_evening(found)
        await written(found)
        with pytest.raises(LedgerHeld):
            await rebuild(tmp_path, RealClock(), replace_ledger=True)
    place = paths.ledger_file(tmp_path)
    damaged = b"damaged" + place.read_bytes()[7:]
    place.write_bytes(damaged)
    (tmp_path / "HO_13-a" / ROLL).write_bytes(b"{")
    done = await rebuild(tmp_path, RealClock(), replace_ledger=True)
    assert (tmp_path / done.kept).read_bytes() == damaged
    unread = [what.partition(":")[0] for what in done.unread]
    assert unread == [f"HO_13-a/{ROLL}"]


async def test_raws_without_papers_are_placed_by_their_names_and_doubted(tmp_path: Path) -> None:
    """The power went before the papers of the last strip were written, and with it the ledger."""
    async with job("alone", tmp_path) as found:
        await found.verbs.open_job(title="survey of the quays", default_base=BaseType.SAFETY)
        await found.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="HO 12", film_format="135", expected=(5, 5))))
        await found.verbs.open_roll(roll_id="HO 12")
        assert found.desk.state.roll is not None
        await strip_of(found.desk, found.desk.state.roll, 1, 2)
        await written(found)
    paths.ledger_file(tmp_path).unlink()
    for place in (1, 2):
        raw_file(tmp_path, f"HO_12-002-{place:03d}-01.dng", "HO_12")
    raw_file(tmp_path, "HO_12-002-002-02.dng", "HO_12")
    raw_file(tmp_path, "somebody's.dng", "HO_12")
    done = await rebuild(tmp_path, RealClock())
    assert [Path(path).name for path in done.without] == [
        "HO_12-002-001-01.dng", "HO_12-002-002-01.dng", "HO_12-002-002-02.dng",
    ]  # fmt: skip
    ledger = await Ledger.open(tmp_path, RealClock().now)
    try:
        roll = ledger.state.rolls["r-0001"]
        count = tally(roll)
        assert (count.pictures, count.missing, count.suspect, count.retaken) == (4, 1, 2, 1)
        assert [(roll.strips[f.frame.strip_id].number, f.frame.place, len(f.takes)) for f in in_order(roll)] == [
            (1, 1, 1), (1, 2, 1), (2, 1, 1), (2, 2, 2),
        ]  # fmt: skip
        assert (ledger.state.take_count, ledger.state.frame_count, ledger.state.strip_count) == (5, 4, 2)
        assert ledger.state.target == "s-0002#3", "the film goes on after the last frame that anybody knows"
    finally:
        await ledger.close()


async def test_a_folder_that_says_nothing_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        await rebuild(tmp_path, RealClock())
