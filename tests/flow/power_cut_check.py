"""What must hold after any power cut, asked of the real ledger and the real store, which then must be able to go on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from tests.flow.power_cut_writer import content, fetch, final_name

from rigd import paths
from rigd.ledger import Ledger
from rigd.model.events import AnyEvent, Paused, Stored, Unclaimed
from rigd.model.state import State
from rigd.model.tally import tally
from rigd.model.values import Take
from rigd.model.words import Stage
from rigd.store import Store

LEDGER_FILES = {paths.LEDGER, paths.LOCK, f"{paths.LEDGER}-journal"}


def now() -> datetime:
    return datetime(2031, 3, 10, tzinfo=UTC)


async def require_safe(root: Path, told: int, story: Sequence[AnyEvent]) -> None:
    """Raises AssertionError or the store's and the ledger's own errors.

    Args:
        told: the number of the last event whose commit was acknowledged before the cut.
        story: all events of the uncut run.
    """
    ledger = await Ledger.open(root, now)
    try:
        await ledger.check()
        events = [committed.event for committed in await ledger.read()]
        assert len(events) >= told, f"event {told} was acknowledged, but the ledger ends at {len(events)}"
        assert events == list(story[: len(events)])
        totals = {one.roll_id: one.tally for one in await ledger.look.lines()}
        assert totals == {roll_id: tally(roll) for roll_id, roll in ledger.state.rolls.items()}
        store = Store(root)
        _require_stored(root, store, events)
        store.quarantine({ledger.state.working} if ledger.state.working else set())
        _require_accounted(root, ledger.state, events)
        await _go_on(ledger, store)
    finally:
        await ledger.close()


def _require_stored(root: Path, store: Store, events: list[AnyEvent]) -> None:
    for event in events:
        if isinstance(event, Stored):
            store.verify(event.path, event.sha256, event.bytes)
        elif isinstance(event, Unclaimed):
            assert (root / event.path).is_file(), f"{event.path} is gone"
            assert (root / event.path).read_bytes() == content("stray-1")


def _require_accounted(root: Path, state: State, events: list[AnyEvent]) -> None:
    """Every file is the ledger's, a stored one, a list of stored ones, unclaimed, or of the take that is in hand."""
    stored = {event.path: event.sha256 for event in events if isinstance(event, Stored)}
    in_hand = _names_in_hand(state)
    for path in (p for p in root.rglob("*") if p.is_file()):
        name = path.relative_to(root).as_posix()
        if path.name == paths.MANIFEST:
            for line in path.read_text().splitlines():
                digest, entry = line.split("  ")
                assert stored[f"{path.parent.name}/{entry}"] == digest
            assert path.read_text().endswith("\n")
        else:
            known = {*LEDGER_FILES, *stored, *in_hand}
            assert name in known or name.startswith(f"{paths.UNCLAIMED}/") or name.endswith(".new"), name


def _names_in_hand(state: State) -> set[str]:
    take = state.take(state.working) if state.working else None
    if take is None:
        return set()
    folder, name = final_name(take)
    return {f"{folder}/{name}", f"{folder}/.{take.take_id}.part"}


async def _go_on(ledger: Ledger, store: Store) -> None:
    """The recovery of the take in hand: it is fetched again, whatever is there of it; then the ledger takes more."""
    take = ledger.state.take(ledger.state.working) if ledger.state.working else None
    if take is not None and take.stage in (Stage.EXPOSED, Stage.FETCHED):
        await ledger.append(_stored_again(store, take))
        assert not list(store.root.rglob(".*.part"))
    await ledger.append(Paused("after the cut"))


def _stored_again(store: Store, take: Take) -> Stored:
    folder, name = final_name(take)
    part = store.part_path(folder, take.take_id)
    store.erase_part(part)
    size = fetch(part, take.take_id)
    kept = store.secure(part, folder, name, size)
    store.verify(kept.path, kept.sha256, kept.bytes)
    return Stored(take.take_id, kept.path, kept.sha256, kept.bytes)
