"""`python -m rigd_sim camera ...` or `python -m rigd_sim board ...`: one simulated device as a process of its own."""

from __future__ import annotations

import importlib
import sys

DEVICES = ("camera", "board")
"""Each has a module rigd_sim.<device>.command with main(arguments) -> exit code."""


def main(arguments: list[str]) -> int:
    if not arguments or arguments[0] not in DEVICES:
        print(f"usage: python -m rigd_sim {{{','.join(DEVICES)}}} ... (each has --help)", file=sys.stderr)
        return 2
    command = importlib.import_module(f"rigd_sim.{arguments[0]}.command")
    code: int = command.main(arguments[1:])
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
