"""Simulated rigs for whole-daemon tests: the simulator as a process of its own, the daemon's parts in this one."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from rigd_sim.control import Hand


@dataclass(frozen=True)
class Simulated:
    """A running simulated camera: its address for the camera library, and a hand at it."""

    camera: str
    hand: Hand
    control: Path


@dataclass(frozen=True)
class Advancer:
    """A running film advancer that moves that camera's film: its serial port, and a hand at the board."""

    port: str
    hand: Hand


Simulating = Callable[..., contextlib.AbstractContextManager[Simulated]]


@pytest.fixture
def simulated(request: pytest.FixtureRequest, simulating: Simulating) -> Iterator[Simulated]:
    """A 2 MP camera over the demo's roll, with the first frame in the gate; over another roll by indirect parameters,
    further words for the simulator."""
    with simulating(*(str(word) for word in getattr(request, "param", ()))) as found:
        yield found


@pytest.fixture
def simulating(tmp_path_factory: pytest.TempPathFactory) -> Simulating:
    """The same with further words for the simulator, as a context manager."""
    return lambda *more: _simulated(tmp_path_factory.mktemp("s") / "c", more)


@contextlib.contextmanager
def _simulated(control: Path, more: tuple[str, ...]) -> Iterator[Simulated]:
    words = ["camera", "--listen", "127.0.0.1:0:0", "--control", str(control), "--until-stdin-closes"]
    command = [sys.executable, "-m", "rigd_sim", *words, "--megapixels", "2", *more]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment()) as process:
        assert process.stdout is not None
        assert process.stdin is not None
        ready = json.loads(process.stdout.readline())
        try:
            with Hand(control) as hand:
                hand.lay(strip=1)
                hand.call("prepare")
                yield Simulated(f"ptpip:{ready['camera']}", hand, control)
        finally:
            process.stdin.close()
            process.wait(timeout=20)


@pytest.fixture
def advancer(simulated: Simulated, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Advancer]:
    """The board's twin at the simulated camera's film."""
    folder = tmp_path_factory.mktemp("b")
    words = ["board", "--pty", str(folder / "p"), "--control", str(folder / "c"), "--scene", str(simulated.control)]
    command = [sys.executable, "-m", "rigd_sim", *words, "--until-stdin-closes"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment()) as process:
        assert process.stdout is not None
        assert process.stdin is not None
        assert json.loads(process.stdout.readline())["ready"]
        try:
            with Hand(folder / "c") as hand:
                yield Advancer(str(folder / "p"), hand)
        finally:
            process.stdin.close()
            process.wait(timeout=20)


@pytest.fixture
def env() -> dict[str, str]:
    """The environment for a Python process that uses the checkout."""
    return environment()


def environment() -> dict[str, str]:
    """This process's environment with the packages of the checkout on the path."""
    here = Path(__file__).resolve().parents[2]
    return {**os.environ, "PYTHONPATH": f"{here}{os.pathsep}{here / 'sim'}"}
