"""The command line of the simulated camera."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import NamedTuple


class Address(NamedTuple):
    host: str
    command: int
    event: int

    def __str__(self) -> str:
        return ":".join(map(str, self))


def address(text: str) -> Address:
    """HOST:CMD:EVT. Raises ValueError."""
    host, command, event = text.rsplit(":", 2)
    return Address(host, _port(command), _port(event))


def _port(text: str) -> int:
    port = int(text)
    if not 0 <= port <= 65535:
        raise ValueError(f"no TCP port: {port}")
    return port


def parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(
        prog="python -m rigd_sim camera",
        description="A simulated camera over a simulated strip of film, on PTP/IP (ISO 15740, CIPA DC-X005).",
        epilog="Prints one JSON line when ready. Ends on SIGTERM, SIGINT or `quit`, or with its parent.",
    )
    _connection(top.add_argument_group("connection"))
    _body(top.add_argument_group("camera"))
    _scene(top.add_argument_group("film and rig"))
    return top


def _connection(group: argparse._ArgumentGroup) -> None:
    add = group.add_argument
    add("--listen", type=address, required=True, metavar="HOST:CMD:EVT", help="the two TCP ports; 0: any free one")
    add("--control", type=Path, metavar="PATH", help="Unix socket to move film, cause faults, read the truth")
    add("--until-stdin-closes", action="store_true", help="end when standard input does")
    add("--parent-pid", type=int, metavar="PID", help="end when this process does")


def _body(group: argparse._ArgumentGroup) -> None:
    add = group.add_argument
    add("--megapixels", type=int, default=24, choices=(2, 12, 24, 60))
    add("--compression", default="none", choices=("none", "lossless-jpeg"), help="of the raw files")
    add("--live-gain", default="follow", choices=("follow", "auto"), help="live view as exposed, or always readable")
    add("--card-megabytes", type=int, default=2048, metavar="N", help="size of the card")
    add("--card-folder", type=Path, metavar="PATH", help="keep the card's files here instead of in memory")
    add("--serial", default="RS0000001", metavar="S")
    add("--whole-files", action="store_true", help="the body cannot send a file in parts")
    add("--first-number", type=int, default=1, metavar="N", help="number of the first file name")
    add("--clock-offset", type=float, default=0.0, metavar="SECONDS", help="of the body's clock from the host's")


def _scene(group: argparse._ArgumentGroup) -> None:
    add = group.add_argument
    add("--film-format", default="120-6x6", metavar="F", help="such as 135, 135-half, 120-6x6, mount, sheet-4x5")
    add("--tone", default="negative", choices=("negative", "positive"))
    add("--colour", default="mono", choices=("mono", "colour"))
    add("--frames", type=int, default=12, metavar="N", help="frames on the roll")
    add("--strip", type=int, metavar="N", help="frames a strip (default: the format's usual)")
    add("--seed", type=int, default=1, metavar="N")
    add("--script", default="harbour", metavar="S", help="what happens on the roll: harbour, plain, uneven or rough")
    add(
        "--speed",
        type=float,
        default=1.0,
        metavar="X",
        help="how fast the scene's time runs",
    )
