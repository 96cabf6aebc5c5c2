"""`python -m rigd_sim.control PATH VERB [NAME=VALUE ...]`: do one thing to a running simulator, as a hand would.

Values are JSON where they can be read as such, else text: `slide frame=2 seconds=1.5`, `lay strip=null`, `kick`.
"""

from __future__ import annotations

import json
import sys

from rigd_sim.control.hand import ControlError, Hand


def _value(text: str) -> object:
    try:
        value: object = json.loads(text)
    except json.JSONDecodeError:
        return text
    return value


def main() -> int:
    if len(sys.argv) < 3 or sys.argv[1] in ("-h", "--help"):
        sys.stderr.write(f"{__doc__}\n")
        return 2
    path, verb, *words = sys.argv[1:]
    arguments = {name: _value(value) for name, _, value in (word.partition("=") for word in words)}
    try:
        with Hand(path) as hand:
            sys.stdout.write(f"{json.dumps(hand.call(verb, **arguments))}\n")
    except ControlError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
