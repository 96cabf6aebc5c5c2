"""The page's fold against the Python one, through shared vectors. The vectors are real folds: see vector_stories.py."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.browser.vector_stories import STORIES, VECTORS, vector
from tests.unit.server.serving import served

from rigd.model.events import AnyEvent

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

FOLD = """
async (told) => {
  const { reduce, EMPTY } = await import("/state/reduce.js");
  const { tally } = await import("/state/tally.js");
  const after = new Map(told.after.map((one) => [one.seq, one]));
  const found = [];
  let state = EMPTY;
  for (const committed of told.events) {
    state = reduce(state, committed);
    const roll = state.roll_id && state.rolls[state.roll_id];
    if (after.has(committed.seq)) found.push({ seq: committed.seq, state, tally: roll ? tally(roll) : null });
  }
  return found;
}
"""


@pytest.mark.parametrize("name", STORIES)
def test_the_vectors_are_what_the_fold_gives_now(name: str) -> None:
    assert (VECTORS / f"{name}.json").read_bytes() == vector(name), "run: python -m tests.browser.vector_stories"


def test_the_vectors_tell_of_every_kind_of_event() -> None:
    told = [json.loads((VECTORS / f"{name}.json").read_text()) for name in STORIES]
    seen = {committed["event"]["type"] for one in told for committed in one["events"]}
    assert seen == {kind.__name__ for kind in AnyEvent.__args__}


@pytest.mark.browser
async def test_the_page_folds_them_to_the_same_states(eyes: Eyes, tmp_path: Path) -> None:
    eyes.expected.append("401")
    async with served(tmp_path) as running:
        page = await eyes.open(running.url)
        for name in STORIES:
            told = json.loads((VECTORS / f"{name}.json").read_text())
            found = await page.evaluate(FOLD, told)
            assert len(found) == len(told["after"]) >= 6
            for one, wanted in zip(found, told["after"], strict=True):
                assert one == wanted, f"{name} after event {wanted['seq']}"
        await eyes.close_pages()
