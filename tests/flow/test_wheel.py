"""What is handed out: a wheel that holds everything and runs a roll away from this checkout."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path, PurePosixPath
from typing import Any

import pytest
from rigd_tree import ROOT, files

PATIENCE_S = 300
"""A whole roll takes well under a minute; five of them on a busy machine mean that it hangs."""


def run(*command: str | Path, cwd: Path, env: dict[str, str] | None = None) -> str:
    done = subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, timeout=PATIENCE_S)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def build(target: str, folder: Path, source: Path = ROOT) -> Path:
    """By the build tool of the development lock itself, so that nothing is fetched."""
    run(sys.executable, "-m", "hatchling", "build", "-t", target, "-d", folder, cwd=source)
    (built,) = folder.iterdir()
    return built


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build("wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def sdist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build("sdist", tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bin folder of an environment that has rigd from the wheel alone; the other packages are lent by this one."""
    place = tmp_path_factory.mktemp("elsewhere") / "venv"
    run(sys.executable, "-m", "venv", "--without-pip", place, cwd=Path("/"))
    python = place / "bin/python"
    pip = [sys.executable, "-m", "pip", "--python", str(python), "--disable-pip-version-check"]
    run(*pip, "install", "--quiet", "--no-index", "--no-deps", wheel, cwd=Path("/"))
    ours = run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=Path("/"), env=bare())
    # A folder named in a .pth file is searched, but .pth files inside it are not read: this checkout stays out.
    Path(ours.strip(), "lent.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return place / "bin"


def bare(home: Path | None = None) -> dict[str, str]:
    """The environment of somebody who has never seen this checkout; `home` also takes the demo's own folder."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "XDG_"))}
    return {**kept, "HOME": str(home), "TMPDIR": str(home)} if home else kept


def wheel_names(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def test_the_wheel_holds_the_two_packages_and_the_page_and_nothing_else(wheel: Path) -> None:
    names = {name for name in wheel_names(wheel) if ".dist-info/" not in name}
    tracked = [PurePosixPath(path.as_posix()) for path in files()]
    wanted = {str(path) for path in tracked if path.parts[0] == "rigd"}
    wanted |= {str(path.relative_to("sim")) for path in tracked if path.parts[0] == "sim"}
    wanted |= {str("rigd/_static" / path.relative_to("web")) for path in tracked if path.parts[0] == "web"}
    assert names == wanted
    assert {"rigd/__main__.py", "rigd_sim/__main__.py", "rigd/_static/index.html"} <= names


def test_the_wheel_carries_the_command_and_no_development_package(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (about,) = [archive.read(name).decode() for name in archive.namelist() if name.endswith("/METADATA")]
        (entries,) = [archive.read(name).decode() for name in archive.namelist() if name.endswith("entry_points.txt")]
    assert "rigd = rigd.__main__:main" in entries
    assert "Requires-Python: >=3.11" in about
    assert "pytest" not in about


def test_the_source_archive_is_whole(sdist: Path, wheel: Path, tmp_path: Path) -> None:
    """From the source archive alone comes the same wheel, and everything that is tracked is in it."""
    run("tar", "-xzf", sdist, "-C", tmp_path, cwd=tmp_path)
    (source,) = [folder for folder in tmp_path.iterdir() if folder.is_dir()]
    missing = [str(path) for path in files() if not (source / path).is_file()]
    assert not missing
    again = build("wheel", tmp_path / "wheel", source)
    assert wheel_names(again) == wheel_names(wheel)


def test_rigd_comes_from_the_wheel_and_knows_its_version(installed: Path) -> None:
    ask = "import rigd, rigd_sim; print(rigd.__file__, rigd_sim.__file__, rigd.__version__)"
    *places, version = run(installed / "python", "-c", ask, cwd=Path("/"), env=bare()).split()
    assert all(Path(place).is_relative_to(installed.parent) for place in places)
    assert run(installed / "rigd", "--version", cwd=Path("/"), env=bare()).split()[-1] == version


@pytest.fixture(scope="module")
def demo(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    home = tmp_path_factory.mktemp("home")
    report = home / "report.json"
    command = [installed / "rigd", "demo", "--once", "--megapixels", "2", "--json", report]
    run(*command, cwd=Path("/"), env=bare(home))
    return json.loads(report.read_text())


def test_the_demo_digitises_a_roll_away_from_the_checkout(demo: dict[str, Any]) -> None:
    assert demo["expected"] > 0
    assert demo["pictures"] + demo["unexposed"] == demo["expected"]
    assert not demo["missing"]
    assert len(demo["frames"]) == demo["expected"]
    assert demo["takes"] >= demo["expected"]
    assert demo["seconds"] > 0


def test_every_file_of_the_demo_is_what_the_report_says(demo: dict[str, Any]) -> None:
    """From the report alone: whoever reads it need not know where the demo put its job."""
    for frame in demo["frames"]:
        data = Path("/", frame["path"]).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (frame["bytes"], frame["sha256"])
        assert frame["shutter_s"] > 0
        assert frame["film"] in {"picture", "unexposed"}
