"""The lock files: every package pinned with hashes, the development lock holding the runtime lock, nothing missing."""

from __future__ import annotations

import re
import tomllib

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from rigd_tree import ROOT


def pins(name: str) -> dict[str, str]:
    """Package -> version of a lock file."""
    found = re.findall(r"^([A-Za-z0-9._-]+)==([^\s;\\]+)", (ROOT / name).read_text(), re.MULTILINE)
    return {canonicalize_name(package): version for package, version in found}


def declared(requirements: list[str]) -> list[Requirement]:
    return [Requirement(line) for line in requirements]


def test_the_development_lock_holds_the_runtime_lock() -> None:
    """What was built for the tests is good for the demo too (.ci/venv counts on it)."""
    runtime = pins("requirements.lock")
    assert len(runtime) > 15
    assert runtime.items() <= pins("requirements-dev.lock").items()


def test_every_pin_has_hashes() -> None:
    for name in ("requirements.lock", "requirements-dev.lock"):
        blocks = re.split(r"^(?=[A-Za-z0-9])", (ROOT / name).read_text(), flags=re.MULTILINE)
        assert [block.split()[0] for block in blocks if block.strip() and "--hash=sha256:" not in block] == []


def test_what_is_declared_is_locked_within_its_bounds() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    wanted = {
        "requirements.lock": project["project"]["dependencies"],
        "requirements-dev.lock": project["dependency-groups"]["dev"],
    }
    for name, requirements in wanted.items():
        locked = pins(name)
        for requirement in declared(requirements):
            assert requirement.specifier.contains(locked[canonicalize_name(requirement.name)], prereleases=True)
