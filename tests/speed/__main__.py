"""`python tests/speed --out FILE [--only NAME]`: measure, print, and write one JSON object a name.

Every figure is a ratio or a share within one run, or a share of percentiles; pairs are interleaved, the median counts,
and the spread (smallest, largest) stands beside it. Nothing here passes or fails: reaching a number is read off.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cycle
import judge
import live
import memory
import positive
import roll
import trigger

import ledger

MEASURES: dict[str, Callable[[], dict[str, Any]]] = {
    "judge": judge.measure, "cycle": cycle.measure, "positive": positive.measure,
    "ledger": ledger.measure, "memory": memory.measure, "live": live.measure,
    "trigger": trigger.measure, "roll": roll.measure,
}  # fmt: skip


def main() -> None:
    top = argparse.ArgumentParser(description="Measure rigd.")
    top.add_argument("--out", type=Path, default=Path("build/speed.json"))
    top.add_argument("--only", choices=list(MEASURES))
    options = top.parse_args()
    found = json.loads(options.out.read_text()) if options.out.exists() else {}
    for name in [options.only] if options.only else MEASURES:
        print(f"{name} ...", flush=True)
        found[name] = MEASURES[name]()
        print(f"  {json.dumps(found[name])}", flush=True)
    found["machine"] = {
        "cores": os.cpu_count(), "system": platform.platform(), "processor": platform.machine(),
        "python": platform.python_version(),
    }  # fmt: skip
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_text(json.dumps(found, indent=2) + "\n")


if __name__ == "__main__":
    main()
