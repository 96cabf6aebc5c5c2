"""What of a motor-fed strip's time is physics, on a ledger and logs made by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rigd.app.physics_fed import (
    StripTime,
    fed_overhead_pct,
    rest_seconds,
    strip_intervals,
    strip_times,
    travel_seconds,
)
from rigd.model.events import Advanced, AnyEvent, Committed, Settled, Triggered
from rigd.model.events_feed import FilmEnded

START = datetime(2026, 3, 1, 12, tzinfo=UTC)


def told(*events: tuple[float, AnyEvent]) -> list[Committed]:
    return [Committed(n, START + timedelta(seconds=at), event) for n, (at, event) in enumerate(events, 1)]


STRIP = told(
    (0.0, Triggered("f-1", "film sensor")), (0.5, Settled("f-1", 0.3, "measured", 1.0, 0.6)), (1.0, Advanced("f-1", 2)),
    (2.2, Triggered("f-2", "advancer")), (2.6, Settled("f-2", 0.2, "measured", 1.0, 0.5)),
    (3.0, Settled("f-2", 0.01, "measured", 1.0, 0.9)), (4.0, Advanced("f-2", None)), (4.1, FilmEnded("s-1", 2)),
    (9.0, Triggered("f-3", "film sensor")), (11.0, Advanced("f-3", None)), (11.1, FilmEnded("s-2", 1)),
)  # fmt: skip


def test_strips_run_from_their_first_trigger_to_their_last_advance() -> None:
    begin = START.timestamp()
    assert strip_intervals(STRIP) == [(begin, begin + 4.0), (begin + 9.0, begin + 11.0)]


def test_rest_counts_no_longer_than_asked_for_and_not_twice() -> None:
    """The second wait for the same frame needed 10 ms: the film had rested on."""
    assert rest_seconds(STRIP, 0.5) == pytest.approx(0.5 + 0.5 + 0.01)


def test_travel_counts_only_within_the_strip() -> None:
    assert travel_seconds((0.0, 4.0), [(-1.0, 0.5), (1.0, 2.0), (3.5, 9.0)]) == pytest.approx(0.5 + 1.0 + 0.5)


def test_the_rest_is_overhead(tmp_path: Path) -> None:
    begin = START.timestamp()
    first, second = strip_times(STRIP, [], tmp_path, [(begin + 1.0, begin + 2.0)], 0.5)
    assert first.seconds == pytest.approx(4.0)
    assert first.parts["travel"] == pytest.approx(1.0, abs=1e-6)
    assert first.overhead_pct == pytest.approx(100 * (4.0 - 1.0 - 1.01) / 4.0)
    assert second.overhead_pct == pytest.approx(100.0)
    assert fed_overhead_pct([StripTime(4.0, {"travel": 3.0}), StripTime(1.0, {"settle": 1.0})]) == 20.0
    assert fed_overhead_pct([]) == 0.0
