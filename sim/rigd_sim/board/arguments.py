"""The command line of the simulated board."""

from __future__ import annotations

import argparse
from pathlib import Path

from rigd_sim.board.settings import ROWS, fits


def setting(text: str) -> tuple[str, int]:
    """NAME=VALUE. Raises ValueError."""
    name, _, value = text.partition("=")
    if name not in ROWS or not fits(name, int(value)):
        raise ValueError(f"no such setting: {text}")
    return name, int(value)


def parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(
        prog="python -m rigd_sim board",
        description="A simulated film advancer board on a pseudo terminal (hardware/PROTOCOL.md).",
        epilog="Prints one JSON line when ready. Ends on SIGTERM, SIGINT or `quit`, or with its parent.",
    )
    add = top.add_argument
    add("--pty", type=Path, required=True, metavar="PATH", help="link to the terminal that the host opens")
    add("--control", type=Path, metavar="PATH", help="Unix socket to press pedals, lay film, cause faults")
    add("--scene", type=Path, metavar="PATH", help="control socket of the simulated camera, whose film is moved")
    add("--sensor-mm", type=float, default=50.0, metavar="MM", help="film sensor before the gate's middle")
    add("--keep", type=setting, action="append", default=[], metavar="NAME=VALUE", help="a setting in its EEPROM")
    add("--held", action="store_true", help="time stands still; the control socket's `advance` moves it")
    add("--speed", type=float, default=1.0, metavar="X", help="how fast its time runs")
    add("--until-stdin-closes", action="store_true", help="end when standard input does")
    add("--parent-pid", type=int, metavar="PID", help="end when this process does")
    return top
