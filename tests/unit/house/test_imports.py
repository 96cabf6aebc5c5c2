"""The direction of imports is a test like any other, and the contracts are shown to bite."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
LINT = "from importlinter.cli import lint_imports_command as lint; lint(['--no-cache', '--no-logo'])"


def lint(root: Path) -> tuple[int, str]:
    """Run the contracts of `root`; exit code and report, its line breaks undone."""
    search = f"import sys; sys.path[:0] = [{str(root)!r}, {str(root / 'sim')!r}]; "
    done = subprocess.run([sys.executable, "-P", "-c", search + LINT], cwd=root, capture_output=True, text=True)
    return done.returncode, " ".join((done.stdout + done.stderr).split())


def test_the_contracts_hold() -> None:
    code, report = lint(ROOT)
    assert code == 0, report


OFFENCES = {
    "rigd/model/offence.py": "import rigd.ports",
    "rigd/imaging/offence.py": "import rigd.ledger",
    "rigd/drivers/offence.py": "import rigd.engine",
    "rigd/drivers/camera/offence.py": "import rigd.drivers.camera.worker",
    "rigd/engine/offence.py": "import rigd_sim",
    "sim/rigd_sim/offence.py": "import rigd.model",
    "rigd/app/offence.py": "import gphoto2",
    "rigd/attic/__init__.py": "",
}
"""One offence against each contract, and a room that has no floor."""

WORDS = [
    "rigd.model is not allowed to import rigd.ports",
    "rigd.imaging is not allowed to import rigd.ledger",
    "rigd.drivers is not allowed to import rigd.engine",
    "rigd.drivers.camera.offence -> rigd.drivers.camera.worker",
    "rigd.engine.offence -> rigd_sim",
    "rigd_sim is not allowed to import rigd:",
    "rigd is not allowed to import gphoto2",
    "rigd.attic",
]


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The report on a copy of the project with all the offences in it."""
    copy = tmp_path_factory.mktemp("spoilt")
    shutil.copy(ROOT / "pyproject.toml", copy)
    for folder in ("rigd", "sim"):
        shutil.copytree(ROOT / folder, copy / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for name, line in OFFENCES.items():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_text(line + "\n")
    code, report = lint(copy)
    assert code != 0
    return report


@pytest.mark.parametrize("words", WORDS)
def test_an_offence_is_seen(spoilt: str, words: str) -> None:
    assert words in spoilt


def test_no_room_but_the_camera_worker_loads_gphoto2() -> None:
    """By running, not by reading: import every module but that one's, then look at what is loaded."""
    code = f"""
import importlib, pathlib, sys
root = pathlib.Path({str(ROOT)!r})
sys.path[:0] = [str(root), str(root / "sim")]
for file in sorted((root / "rigd").rglob("*.py")):
    name = ".".join(file.relative_to(root).with_suffix("").parts).removesuffix(".__init__")
    if not name.startswith("rigd.drivers.camera.worker"):
        importlib.import_module(name)
print("gphoto2" in sys.modules)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split()[-1] == "False"
