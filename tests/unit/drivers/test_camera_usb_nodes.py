from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from rigd.drivers.camera.usb import holder_of, nodes, opening_trouble

HOUSE = Path(__file__).parents[3]


def _device(sysfs: Path, name: str, klass: str, bus: int, number: int) -> None:
    """The part of Linux's sysfs that tells what a USB device is: device and interface side by side."""
    (sysfs / name).mkdir(parents=True)
    (sysfs / f"{name}:1.0").mkdir()
    (sysfs / f"{name}:1.0" / "bInterfaceClass").write_text(f"{klass}\n")
    for file, text in (("busnum", bus), ("devnum", number), ("manufacturer", "Maker"), ("product", "Body")):
        (sysfs / name / file).write_text(f"{text}\n")


def test_only_still_image_devices_are_cameras(tmp_path: Path) -> None:
    """Class 06h is the still imaging class of the USB-IF's list of class codes."""
    _device(tmp_path, "1-2", "06", 1, 9)
    _device(tmp_path, "1-3", "03", 1, 10)
    found = nodes(tmp_path, tmp_path / "dev")
    assert [node.path for node in found] == [str(tmp_path / "dev/001/009")]
    assert found[0].product == "Maker Body"
    assert "cannot be opened" in found[0].trouble


def test_where_there_is_no_such_tree_there_are_no_nodes(tmp_path: Path) -> None:
    assert nodes(tmp_path / "none") == ()


def test_a_node_that_opens_has_no_trouble(tmp_path: Path) -> None:
    node = tmp_path / "node"
    node.touch()
    assert opening_trouble(node) == ""


def test_a_node_that_may_not_be_written_names_the_rule_that_is_missing() -> None:
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        node = Path(folder) / "node"
        node.touch(mode=0o444)
        # Root may write to everything, so ask as somebody else where we are root.
        program = (
            "import os, sys\n"
            "from rigd.drivers.camera.usb import opening_trouble\n"
            "from pathlib import Path\n"
            "if os.getuid() == 0: os.setuid(65534)\n"
            "print(opening_trouble(Path(sys.argv[1])))\n"
        )
        command = [sys.executable, "-c", program, str(node)]
        said = subprocess.run(command, capture_output=True, text=True, check=True, cwd=HOUSE).stdout
    assert "udev" in said
    assert "plugdev" in said


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="no /proc here")
def test_the_program_that_has_a_node_open_is_named(tmp_path: Path) -> None:
    node = tmp_path / "node"
    node.touch()
    assert holder_of(node) == ""
    program = "import sys; f = open(sys.argv[1]); print('open', flush=True); sys.stdin.read()"
    with subprocess.Popen(
        [sys.executable, "-c", program, str(node)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        holder.stdout.readline()
        assert f"process {holder.pid}" in holder_of(node)
        holder.communicate()
