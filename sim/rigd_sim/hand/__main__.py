"""`python -m rigd_sim.hand`: one simulated operator digitises one roll. The key to the daemon comes from RIGD_TOKEN."""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import sys

from rigd_sim.control import Hand
from rigd_sim.hand.loader import Loader
from rigd_sim.hand.operator import Feeder, Habits, Operator
from rigd_sim.hand.phone import Refused, phone

OPERATORS: dict[str, type[Operator] | type[Feeder] | type[Loader]] = {
    "button": Operator, "hand": Feeder, "board": Loader,
}  # fmt: skip
"""Who presses for each frame, who slides the film and lets the rig trigger, who only pushes strips in."""


def _parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(prog="python -m rigd_sim.hand", description="A simulated operator.")
    top.add_argument("--control", required=True, metavar="PATH", help="control socket of the simulated rig")
    top.add_argument("--url", required=True, help="address of the daemon")
    top.add_argument("--frames", type=int, default=12, metavar="N")
    top.add_argument("--strip", type=int, default=4, metavar="N", help="frames a strip")
    top.add_argument("--slide-seconds", type=float, default=1.5, metavar="S")
    top.add_argument("--strip-seconds", type=float, default=4.0, metavar="S")
    top.add_argument("--kick-at", type=int, default=9, metavar="N", help="frame whose exposure is spoilt; 0: none")
    top.add_argument("--feed", choices=list(OPERATORS), default="button", help="who does what")
    return top


async def _work(options: argparse.Namespace) -> None:
    habits = Habits(options.slide_seconds, options.strip_seconds, options.kick_at)
    with Hand(options.control) as hand:
        async with phone(options.url, os.environ["RIGD_TOKEN"]) as device:
            operator = OPERATORS[options.feed](hand, device, habits)
            await operator.measure_gate()
            await operator.roll(options.frames, options.strip)


def main() -> int:
    options = _parser().parse_args()
    gave_up: list[BaseException] = []
    with contextlib.suppress(KeyboardInterrupt):
        try:
            asyncio.run(_work(options))
        except* (Refused, TimeoutError) as failed:
            gave_up.extend(failed.exceptions)
    for reason in gave_up:
        sys.stderr.write(f"The simulated operator gave up: {str(reason) or type(reason).__name__}\n")
    return 1 if gave_up else 0


if __name__ == "__main__":
    raise SystemExit(main())
