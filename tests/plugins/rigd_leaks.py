"""A test that leaves something behind fails: an asyncio task, a thread, a process, an exception that nobody saw.

The comparison is made after all fixtures of the test are gone. What a fixture of a wider scope holds is the state to
compare with; that it goes too is checked after the last test. What is on its way out gets some patience to leave.
Warnings are errors by the project's own settings; this adds the ones that come out of finalizers only.
"""

from __future__ import annotations

import asyncio
import gc
import logging
import os
import signal
import sys
import threading
import time
from collections.abc import Generator, Iterator
from contextlib import contextmanager, suppress
from multiprocessing import resource_tracker

import pytest
import rigd_processes

PATIENCE_S = "3.0"
"""A killed Chromium needs about a second to take its children along; the rest is for a busy machine."""

Holdings = tuple[set[threading.Thread], set[rigd_processes.Process]]

_found: list[str] = []
_told: set[threading.Thread] = set()
_at_start: pytest.StashKey[Holdings] = pytest.StashKey()


def holdings() -> Holdings:
    return set(threading.enumerate()), rigd_processes.ours()


class _AsyncioErrors(logging.Handler):
    """asyncio only logs a task destroyed while pending, or an exception that was never retrieved."""

    def emit(self, record: logging.LogRecord) -> None:
        _found.append(f"asyncio: {' '.join(record.getMessage().split())}")


def _watch_tasks(patch: pytest.MonkeyPatch) -> None:
    """When a loop closes, whatever still runs in it would be cancelled in silence."""
    close = asyncio.Runner.close

    def watched(self: asyncio.Runner) -> None:
        with suppress(RuntimeError):  # closed before: nothing can run in it
            _found.extend(f"task: {task!r}" for task in asyncio.all_tasks(self.get_loop()))
        close(self)

    patch.setattr(asyncio.Runner, "close", watched)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addini("leak_patience_s", "how long what a test started may take to end, in seconds", default=PATIENCE_S)


def pytest_configure(config: pytest.Config) -> None:
    rigd_processes.mark_ourselves()
    patch = pytest.MonkeyPatch()
    config.add_cleanup(patch.undo)
    _watch_tasks(patch)
    handler = _AsyncioErrors(logging.ERROR)
    logging.getLogger("asyncio").addHandler(handler)
    config.add_cleanup(lambda: logging.getLogger("asyncio").removeHandler(handler))


def pytest_sessionstart(session: pytest.Session) -> None:
    rigd_processes.remember_strangers()
    # multiprocessing starts this process once and keeps it: better before the first count than in some test.
    resource_tracker.ensure_running()
    session.stash[_at_start] = holdings()


def pytest_collection_finish() -> None:
    """Take all that is imported by now out of the collector's sight: collecting after each test then takes 1 ms, not
    the 50 it takes with numpy, OpenCV and scipy in memory."""
    gc.collect()
    gc.freeze()


@pytest.fixture(autouse=True)
def _leaves_nothing_behind(request: pytest.FixtureRequest) -> None:
    """Count what there is once the fixtures of wider scope stand."""
    request.node.stash[_at_start] = holdings()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> Generator[None, object, object]:
    try:
        result = yield
        before = (item if nextitem else item.session).stash.get(_at_start, None)
        with _unseen_exceptions():
            gc.collect()
            _found.extend(_left_since(before, float(item.config.getini("leak_patience_s"))) if before else [])
        if _found:
            pytest.fail("left behind:\n" + "\n".join(f"  {line}" for line in _found), pytrace=False)
        return result
    finally:
        _found.clear()


@contextmanager
def _unseen_exceptions() -> Iterator[None]:
    """Exceptions in finalizers and threads that come up now belong to this test, not to the next one."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "unraisablehook", lambda it: _found.append(f"finalizer: {it.exc_value!r} in {it.object!r}"))
        patch.setattr(threading, "excepthook", lambda it: _found.append(f"thread: {it.exc_value!r} in {it.thread!r}"))
        yield


def _left_since(before: Holdings, patience_s: float) -> list[str]:
    """What was not there before and is still there after a while. Told once; processes are ended for the next test."""
    deadline = time.monotonic() + patience_s
    threads, processes = _extra(before)
    while (threads or processes) and time.monotonic() < deadline:
        time.sleep(0.01)
        threads, processes = _extra(before)
    for process in processes:
        with suppress(ProcessLookupError):
            os.kill(process.pid, signal.SIGKILL)
    _told.update(threads)
    return [f"thread: {thread!r} {_place(thread)}" for thread in threads] + [f"process: {one}" for one in processes]


def _extra(before: Holdings) -> Holdings:
    threads, processes = holdings()
    return threads - before[0] - _told, processes - before[1]


def _place(thread: threading.Thread) -> str:
    frame = sys._current_frames().get(thread.ident or 0)
    return f"at {frame.f_code.co_filename}:{frame.f_lineno}" if frame else ""
