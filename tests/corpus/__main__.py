"""`python tests/corpus --out FILE [--only WORD]`: judge the whole corpus, write the report, fail where it is not good
enough: 99 % right, and neither of the two worst mistakes."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from corpus_judging import Found, judged
from corpus_render import rendered
from corpus_report import report, summary, worst_mistakes
from corpus_rolls import corpus

ENOUGH = 0.99


def main() -> int:
    top = argparse.ArgumentParser(description="Judge the corpus.")
    top.add_argument("--out", type=Path, default=Path("build/corpus.json"))
    top.add_argument("--only", default="", help="rolls whose name holds this")
    options = top.parse_args()
    found: list[Found] = []
    for roll in corpus():
        if options.only in roll.name:
            found += judged(roll, rendered(roll))
            wrong = sum(not (f.film_right and f.take_right) for f in found)
            print(f"{roll.name}: {len(found)} judged, {wrong} wrong so far", flush=True)
    told = report(found)
    options.out.parent.mkdir(parents=True, exist_ok=True)
    options.out.write_text(json.dumps(told, indent=1) + "\n")
    print(summary(told))
    return 0 if told["right_share"] >= ENOUGH and not worst_mistakes(found) else 1


if __name__ == "__main__":
    sys.exit(main())
