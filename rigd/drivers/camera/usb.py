"""USB nodes of cameras: found without opening anything, with who may open them and who has."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

STILL_IMAGE = "06"  # interface class of the USB Still Image Capture Device definition, which PTP bodies carry
SYSFS = Path("/sys/bus/usb/devices")
DEVICES = Path("/dev/bus/usb")


class Node(Struct, frozen=True):
    """One camera on USB. `trouble` says why this user cannot open it; empty where it can be opened."""

    path: str
    product: str
    trouble: str = ""


def nodes(sysfs: Path = SYSFS, devices: Path = DEVICES) -> tuple[Node, ...]:
    """Every device with a still-image interface. Empty where the system has no such tree (macOS)."""
    return tuple(_node(folder, devices) for folder in sorted(_cameras(sysfs)))


def _cameras(sysfs: Path) -> Iterator[Path]:
    for interface in sysfs.glob("*:*/bInterfaceClass"):
        if _read(interface) == STILL_IMAGE:
            yield sysfs / interface.parent.name.partition(":")[0]


def _node(folder: Path, devices: Path) -> Node:
    bus, device = (int(_read(folder / name) or 0) for name in ("busnum", "devnum"))
    path = devices / f"{bus:03}" / f"{device:03}"
    product = " ".join(filter(None, (_read(folder / "manufacturer"), _read(folder / "product"))))
    return Node(str(path), product, opening_trouble(path))


def opening_trouble(path: Path) -> str:
    """Why the node cannot be opened for writing, as one sentence; empty if it can."""
    try:
        os.close(os.open(path, os.O_RDWR | os.O_CLOEXEC))
    except PermissionError:
        return (
            f"This user may not write to {path}: the udev rule is missing, or the user is not in the group plugdev "
            "(a service needs SupplementaryGroups=plugdev)."
        )
    except OSError as error:
        return f"{path} cannot be opened: {error.strerror}."
    return ""


def _read(path: Path) -> str:
    try:
        return path.read_text("ascii", "replace").strip()
    except OSError:
        return ""


def holder_of(node: str | Path, proc: Path = Path("/proc")) -> str:
    """The other program that has `node` open, with its process number; empty where none can be seen."""
    own = str(os.getpid())
    for process in sorted(proc.glob("[0-9]*")):
        if process.name != own and _has_open(process, str(node)):
            return f"{_read(process / 'comm') or 'a program'} (process {process.name})"
    return ""


def _has_open(process: Path, node: str) -> bool:
    try:
        return any(str(entry.readlink()) == node for entry in (process / "fd").iterdir())
    except OSError:
        return False
