"""Every command of the command line, without a daemon and beside a running one: the same words, the same outcome."""

from __future__ import annotations

import contextlib
import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from conftest import Simulated


class CommandLine:
    """`rigd` as a process of its own, on one job."""

    def __init__(self, job: Path, config: Path, env: dict[str, str]) -> None:
        self._words = ["--job", str(job)]
        self._config = ["--config", str(config)]
        self._env = env

    def run(self, *words: str, config: bool = False) -> subprocess.CompletedProcess[str]:
        more = self._words + (self._config if config else [])
        command = [sys.executable, "-m", "rigd", *words, *more]
        return subprocess.run(command, capture_output=True, text=True, timeout=90, env=self._env, check=False)

    def json(self, *words: str, config: bool = False) -> Any:
        done = self.run(*words, "--json", config=config)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    @contextlib.contextmanager
    def daemon(self) -> Iterator[None]:
        command = [sys.executable, "-m", "rigd", "run", "--port", "0", *self._words, *self._config]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=self._env) as process:
            assert process.stdout is not None
            assert "Job:" in process.stdout.readline()
            assert "#" in process.stdout.readline()
            try:
                yield
            finally:
                process.send_signal(signal.SIGINT)
                assert process.wait(timeout=30) == 0


@pytest.fixture
def line(simulated: Simulated, tmp_path: Path, env: dict[str, str]) -> CommandLine:
    config = tmp_path / "rigd.toml"
    config.write_text(
        f'[camera]\naddress = "{simulated.camera}"\n[settle]\ndelay_s = 0.05\n[server]\nport = 0\n', "utf-8"
    )
    return CommandLine(tmp_path / "job", config, {**env, "XDG_RUNTIME_DIR": str(tmp_path)})


def _plan(line: CommandLine) -> None:
    line.json("job", "open", "Port of Vessling", "--base", "safety")
    setup = line.json("job", "setup", "--holder", "holder 6x6", "--f-number", "8")
    assert setup["holder"] == "holder 6x6"
    roll = line.json(
        "rolls", "plan", "HO 12", "--film-format", "120-6x6", "--expected", "12", "--strip", "4", "--where", "box 2"
    )
    assert (roll["base_type"], roll["expected"], roll["where"]) == ("safety", [12, 12], "box 2")
    assert line.json("rolls", "open", "HO 12")["roll_id"] == "r-0001"
    assert line.json("strip", "--emulsion", "up")["emulsion"] == "up"


def _work(line: CommandLine) -> None:
    assert line.json("trigger", "--target", "s-0001#1", config=True)["target"] == "s-0001#1"
    _until_idle(line, frames=1)
    line.json("retake", "f-00001", config=True)
    _until_idle(line, frames=1)
    assert line.json("skip", "--target", "s-0001#2")["target"] == "s-0001#3"
    assert line.json("back")["target"] == "s-0001#2"
    assert line.json("skip")["target"] == "s-0001#3"
    line.json("mark", "f-00002", "fogged")
    line.json("mark", "f-00002", "picture")
    assert line.json("undo") == {"undone": True}
    assert line.json("status")["state"]["rolls"]["r-0001"]["frames"]["f-00002"]["film"] == "fogged"
    line.json("mark", "f-00002", "unexposed")
    assert line.json("pause") == {"paused": True}
    refused = line.run("trigger", config=True)
    assert refused.returncode == 1
    assert "paused" in refused.stderr
    line.json("resume")
    line.json("recover", config=True)


def _until_idle(line: CommandLine, frames: int) -> None:
    """Beside a daemon, orders return when accepted: look until the frame has its keeper and nothing is in hand."""
    for _ in range(60):
        found = line.json("status")
        roll = found["state"]["rolls"]["r-0001"]
        kept = [f for f in roll["frames"].values() if f["keeper"]]
        if len(kept) == frames and found["state"]["working"] is None and found["state"]["frame_id"] is None:
            return
    raise AssertionError(found)


def _look(line: CommandLine) -> None:
    tally = line.json("rolls", "tally")
    assert (tally["expected"], tally["pictures"], tally["unexposed"], tally["missing"]) == (12, 1, 1, 10)
    assert tally["retaken"] == 1
    report = line.json("verify")
    assert report["bad"] == 0
    assert report["files"] == tally["takes"]
    checked = line.json("check", config=True)
    assert {"camera", "shutter", "disk"} <= {item["what"] for item in checked["lines"]}
    assert line.json("rolls", "list")[0]["current"]
    assert line.json("rolls", "close", "HO 12")["pictures"] == 1
    for words in (("status",), ("rolls", "list"), ("rolls", "tally", "HO 12"), ("verify",)):
        shown = line.run(*words)
        assert shown.returncode == 0
        assert shown.stdout.strip()


@pytest.mark.parametrize("way", ["alone", "daemon"])
def test_every_command(way: str, line: CommandLine) -> None:
    with line.daemon() if way == "daemon" else contextlib.nullcontext():
        _plan(line)
        _work(line)
        _look(line)


@pytest.mark.parametrize("way", ["alone", "daemon"])
def test_what_is_refused_says_what_to_do(way: str, line: CommandLine) -> None:
    with line.daemon() if way == "daemon" else contextlib.nullcontext():
        line.json("job", "open", "Port of Vessling")
        for words, said in (
            (("rolls", "open", "nowhere"), "There is no roll nowhere"),
            (("rolls", "plan", " ", "--film-format", "135"), "label"),
            (("rolls", "plan", "A", "--film-format", "135", "--expected", "9-3"), "cannot be"),
            (("mark", "f-00077", "fogged"), "no frame f-00077"),
            (("strip",), "No roll is open"),
        ):
            refused = line.run(*words)
            assert refused.returncode == 1, words
            assert said in refused.stderr
            assert "Traceback" not in refused.stderr


def test_a_folder_without_a_job_is_told(line: CommandLine) -> None:
    refused = line.run("status")
    assert refused.returncode == 1
    assert "There is no job" in refused.stderr
    assert "rigd job open" in refused.stderr
