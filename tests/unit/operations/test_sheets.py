"""Contact sheets of rolls whose raws are there, of those whose previews are, and of those that have neither."""

from __future__ import annotations

import json
import shutil
from io import BytesIO
from pathlib import Path

import cv2
import numpy as np
import pypdf
import pytest
from click.testing import CliRunner
from tests.unit.operations.both_ways import Job
from tests.unit.operations.shots import raw_files
from tests.unit.operations.taken import take

from rigd import paths
from rigd.commands import cli
from rigd.errors import NotFound
from rigd.model import events as ev
from rigd.model.plan import RollChanges
from rigd.model.values import Frame, Strip
from rigd.operations import plans, sheets
from rigd.operations.desk import Desk
from rigd.operations.sheets import SheetOf


async def roll_with_raws(job: Job, count: int = 3) -> list[str]:
    said = RollChanges(label="HO 1957-031", film_format="120-6x6", expected=(count, count), where="cabinet 4")
    await job.verbs.do(plans.PLAN, plans.NewRoll(said))
    await job.verbs.open_roll(roll_id="HO 1957-031")
    await job.desk.hub.append(ev.StripLoaded(Strip("s-0001", "r-0001", 1, count)))
    return [await _frame(job.desk, n, content) for n, content in enumerate(raw_files(count), 1)]


async def _frame(desk: Desk, place: int, content: bytes) -> str:
    frame_id = f"f-{place:05d}"
    await desk.hub.append(ev.FramePlaced(Frame(frame_id, "r-0001", "s-0001", place)))
    return await take(desk, frame_id, content=content)


async def test_a_sheet_shows_every_frame_from_its_raw(open_job: Job) -> None:
    await roll_with_raws(open_job)
    found = await open_job.verbs.do(sheets.SHEET, SheetOf("HO 1957-031"))
    assert (found.name, found.pages, found.frames, found.blank) == ("HO_1957-031-contact", 1, 3, {})
    page = pypdf.PdfReader(BytesIO(found.files[0])).pages[0]
    assert len(page.images) == 3
    assert "cabinet 4" in page.extract_text()
    pictures = [np.asarray(one.image.convert("L"), np.float32) for one in page.images if one.image]
    assert all(picture.std() > 10 for picture in pictures)  # a picture of something, not a grey field


async def test_what_was_drawn_before_is_not_drawn_again(open_job: Job) -> None:
    await roll_with_raws(open_job)
    first = await open_job.verbs.do(sheets.SHEET, SheetOf("HO 1957-031", "Letter"))
    for raw in open_job.desk.root.rglob("*.dng"):
        raw.unlink()
    again = await open_job.verbs.do(sheets.SHEET, SheetOf("HO 1957-031", "Letter"))
    assert again == first


async def test_a_picture_that_cannot_be_drawn_leaves_its_place_blank(open_job: Job) -> None:
    takes = await roll_with_raws(open_job)
    gone = await open_job.desk.hub.look.take(takes[1])
    assert gone is not None
    (open_job.desk.root / gone.path).unlink()
    found = await open_job.verbs.do(sheets.SHEET, SheetOf("HO 1957-031", form="png"))
    assert list(found.blank) == ["f-00002"]
    assert cv2.imdecode(np.frombuffer(found.files[0], np.uint8), cv2.IMREAD_COLOR).shape == (2339, 1654, 3)


async def test_a_roll_that_nobody_knows(open_job: Job) -> None:
    with pytest.raises(NotFound, match="no roll HO 9"):
        await open_job.verbs.do(sheets.SHEET, SheetOf("HO 9"))


@pytest.fixture(scope="module")
def closed_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job with one empty roll and one of mounts, made by the commands."""
    root = tmp_path_factory.mktemp("job")
    for words in (
        ["job", "open", "survey", "--base", "safety"], ["rolls", "plan", "HO 1", "--film-format", "135"],
        ["rolls", "plan", "HO 2", "--film-format", "mount"],
    ):  # fmt: skip
        done = CliRunner().invoke(cli, [*words, "--job", str(root)])
        assert done.exit_code == 0, done.output
    return root


def _sheet(root: Path, *words: str, code: int = 0) -> str:
    done = CliRunner().invoke(cli, ["rolls", "sheet", *words, "--job", str(root)])
    assert done.exit_code == code, done.output
    return done.output


def test_one_sheet_a_roll_into_a_folder(closed_job: Path, tmp_path: Path) -> None:
    told = json.loads(_sheet(closed_job, "--all", "--to", str(tmp_path / "sheets"), "--json"))
    assert [one["roll"] for one in told] == ["HO 1", "HO 2"]
    assert sorted(p.name for p in (tmp_path / "sheets").iterdir()) == ["HO_1-contact.pdf", "HO_2-contact.pdf"]


def test_a_file_is_not_written_over_unasked(closed_job: Path, tmp_path: Path) -> None:
    to = tmp_path / "one.png"
    _sheet(closed_job, "HO 1", "--to", str(to))
    size = to.stat().st_size
    assert "There is a file" in _sheet(closed_job, "HO 1", "--to", str(to), code=1)
    assert to.stat().st_size == size
    _sheet(closed_job, "HO 1", "--to", str(to), "--paper", "Letter", "--replace")
    assert to.stat().st_size != size


def test_names_that_make_no_sense_are_refused(closed_job: Path, tmp_path: Path) -> None:
    assert "cannot be written as .gif" in _sheet(closed_job, "HO 1", "--to", str(tmp_path / "a.gif"), code=1)
    assert "do not fit into one file" in _sheet(closed_job, "--all", "--to", str(tmp_path / "a.pdf"), code=1)


def test_previews_may_be_thrown_away_and_are_no_part_of_the_job(closed_job: Path) -> None:
    folder = paths.previews_folder(closed_job)
    folder.mkdir(exist_ok=True)
    (folder / ".t-000001.part").write_bytes(b"x")
    shutil.rmtree(folder)
    _sheet(closed_job, "HO 1", "--to", str(closed_job / "x.pdf"))
