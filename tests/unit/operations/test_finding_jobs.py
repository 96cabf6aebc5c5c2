"""Finding rolls in all jobs of this machine, with the jobs closed, open elsewhere, moved, and away."""

from __future__ import annotations

import json
import shutil
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.unit.operations.both_ways import Job, job
from tests.unit.operations.taken import strip_of

from rigd import paths
from rigd.commands import cli
from rigd.errors import InputError
from rigd.model.found import years_of
from rigd.model.metadata import AboutChanges
from rigd.model.plan import RollChanges
from rigd.operations import describing, finding_jobs, plans
from rigd.operations.finding_jobs import Words, find_everywhere, remember


@pytest.fixture(autouse=True)
def state(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine that knows no job yet."""
    folder = tmp_path_factory.mktemp("machine")
    monkeypatch.setenv("XDG_STATE_HOME", str(folder))
    return folder


def run(*words: str, code: int = 0) -> str:
    done = CliRunner().invoke(cli, list(words))
    assert done.exit_code == code, done.output
    return done.output


def two_jobs(folder: Path) -> tuple[Path, Path]:
    """The harbour office's and a shipyard's, each with two rolls, by commands; both closed."""
    office, yard = folder / "office", folder / "yard"
    run("job", "open", "Harbour office: survey negatives", "--base", "safety", "--job", str(office))
    run("rolls", "plan", "HO 1957-031", "--film-format", "120-6x6", "--title", "North mole", "--dates", "1955/1960",
        "--where", "cabinet 4, drawer 2", "--stock", "pan 100", "--job", str(office))  # fmt: skip
    run("rolls", "plan", "HO 1957-032", "--film-format", "135", "--place", "Vessling", "--job", str(office))
    run("job", "open", "Shipyard Brandt: launches", "--base", "safety", "--job", str(yard))
    run("rolls", "plan", "B 12", "--film-format", "mount", "--title", "Launch of the Kestrel", "--where", "box 7",
        "--dates", "1961-04-02", "--job", str(yard))  # fmt: skip
    return office, yard


def labels(*words: str) -> list[str]:
    found = json.loads(run("find", *words, "--json"))
    return [one["roll"]["label"] for one in found["rolls"]]


def test_every_kind_of_word_leads_to_the_shelf(tmp_path: Path) -> None:
    two_jobs(tmp_path)
    assert labels("mole") == ["HO 1957-031"]
    assert labels("MOLE", "pan", "cabinet") == ["HO 1957-031"]
    assert labels("vessling") == ["HO 1957-032"]
    assert labels("harbour office") == ["HO 1957-031", "HO 1957-032"]  # the job's own title
    assert labels("box 7") == ["B 12"]
    assert labels("mole", "kestrel") == []
    told = run("find", "kestrel")
    assert "kept in: box 7" in told
    assert "Shipyard Brandt" in told


def test_a_year_between_two_dates_is_found(tmp_path: Path) -> None:
    two_jobs(tmp_path)
    assert labels("1958") == ["HO 1957-031"]
    assert labels("1961") == ["B 12"]
    assert years_of("1955/1960") == (1955, 1960)
    assert years_of("1957~") == (1957, 1957)
    assert years_of("") is None


def test_a_year_later_with_the_disk_away(tmp_path: Path) -> None:
    office, _ = two_jobs(tmp_path)
    shutil.move(office, tmp_path / "elsewhere")
    told = run("find", "mole")
    assert "cabinet 4, drawer 2" in told
    assert "not there now" in told
    run("rolls", "list", "--job", str(tmp_path / "elsewhere"))  # looked at in its new place, it is there again
    assert "not there now" not in run("find", "mole")
    assert str(tmp_path / "elsewhere") in run("find", "mole")


def test_a_job_is_forgotten_on_request(tmp_path: Path) -> None:
    office, _ = two_jobs(tmp_path)
    assert "Forgotten: Harbour office" in run("find", "--forget", str(office))
    assert labels("mole") == []
    assert (office / paths.LEDGER).exists()
    assert "No job" in run("find", "--forget", str(office), code=1)


def test_what_cannot_be_read_is_told_and_stops_nothing(tmp_path: Path) -> None:
    two_jobs(tmp_path)
    broken = paths.known_jobs() / "broken.json"
    broken.write_bytes(b'{"job": ')
    told = run("find", "kestrel")
    assert "B 12" in told
    assert "job broken cannot be read" in told


def test_no_word_is_no_question() -> None:
    assert "No word was given" in run("find", code=1)
    with pytest.raises(InputError):
        find_everywhere(["  "], 10)


async def test_the_open_job_is_found_as_it_is_now(tmp_path: Path) -> None:
    async with job("daemon", tmp_path) as open_job:
        await open_job.verbs.open_job(title="survey", default_base=plans.BaseType.SAFETY)
        assert (await _found(open_job, "gate")).rolls == ()
        await open_job.verbs.do(plans.PLAN, plans.NewRoll(RollChanges(label="HO 9", film_format="135")))
        roll = await open_job.desk.hub.look.roll("HO 9")
        assert roll is not None
        (frame_id,) = await strip_of(open_job.desk, roll, 1, 1, 6)
        about = AboutChanges(title="The lock gate, open")
        await open_job.verbs.do(describing.DESCRIBE, describing.Describing(ids=(frame_id,), changes=about))
        found = await _found(open_job, "lock", "gate")
        assert [one.roll.label for one in found.rolls] == ["HO 9"]
        assert found.rolls[0].tally.pictures == 1


async def _found(open_job: Job, *words: str) -> finding_jobs.FindReport:
    return await open_job.verbs.do(finding_jobs.FIND, Words(words))


async def test_only_this_user_can_read_it_and_nothing_is_written_twice(tmp_path: Path) -> None:
    async with job("alone", tmp_path) as open_job:
        await open_job.verbs.open_job(title="survey", default_base=plans.BaseType.SAFETY)
        await remember(open_job.desk)
        (file,) = paths.known_jobs().iterdir()
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        first = file.stat().st_ino
        await remember(open_job.desk)
        assert file.stat().st_ino == first
