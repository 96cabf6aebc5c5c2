"""Starting a simulated camera as a process of its own, for whoever wants to drive it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from rigd_sim.control.hand import ControlError, Hand

END_WITHIN = 30.0  # s for a clean end; drawing film ahead is finished first


@dataclass(frozen=True)
class SimulatedCamera:
    """A running camera. address: HOST:CMD:EVT as for `ptpip:`. hand: a client of its control socket."""

    address: str
    control: Path
    hand: Hand
    process: subprocess.Popen[bytes]


@contextmanager
def simulated_camera(*arguments: str, listen: str = "127.0.0.1:0:0") -> Iterator[SimulatedCamera]:
    """Run `python -m rigd_sim camera` with these further arguments until the block ends.

    Raises ControlError if it does not come up, or does not end by itself with exit code 0. It ends with this process
    too, however that ends: it watches the pipe on its standard input.
    """
    with tempfile.TemporaryDirectory(prefix="rigd-sim-") as folder:
        control = Path(folder) / "control"
        fixed = ["--listen", listen, "--control", str(control), "--until-stdin-closes"]
        process = _start([*fixed, *arguments])
        try:
            address = _ready(process)
            with Hand(control) as hand:
                yield SimulatedCamera(address, control, hand, process)
        finally:
            code = _end(process)
        if code != 0:
            raise ControlError(f"the simulated camera ended with exit code {code}")


def _start(arguments: list[str]) -> subprocess.Popen[bytes]:
    package_root = Path(__file__).parents[2]
    path = os.pathsep.join(filter(None, [str(package_root), os.environ.get("PYTHONPATH")]))
    return subprocess.Popen(
        [sys.executable, "-m", "rigd_sim", "camera", *arguments],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=os.environ | {"PYTHONPATH": path},
    )  # fmt: skip


def _ready(process: subprocess.Popen[bytes]) -> str:
    assert process.stdout is not None
    line = process.stdout.readline()
    if not line:
        raise ControlError("the simulated camera did not start")
    return str(json.loads(line)["camera"])


def _end(process: subprocess.Popen[bytes]) -> int:
    """Close its standard input and wait; kill it if it hangs. The exit code."""
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.close()
    try:
        return process.wait(END_WITHIN)
    except subprocess.TimeoutExpired:
        process.kill()
        return process.wait()
    finally:
        process.stdout.close()
