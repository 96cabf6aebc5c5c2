"""The leak check itself: a test that leaves something behind fails, one that cleans up passes."""

from __future__ import annotations

import os
from pathlib import Path
from xml.etree import ElementTree

import pytest
import rigd_processes

ROOT = Path(__file__).parents[3]

CASES = '''
import asyncio, gc, os, subprocess, sys, threading, time, warnings
import pytest

LONG = [sys.executable, "-c", "import time; time.sleep(600)"]
kept = []

async def test_bad_task():
    kept.append(asyncio.create_task(asyncio.sleep(600)))

def test_bad_task_in_own_loop():
    async def main():
        asyncio.create_task(asyncio.sleep(600))
    asyncio.run(main())

async def test_bad_exception_never_retrieved():
    async def fails():
        raise ValueError("nobody looks")
    asyncio.create_task(fails())
    await asyncio.sleep(0)
    await asyncio.sleep(0)

def test_bad_thread():
    threading.Thread(target=time.sleep, args=(600,), daemon=True).start()

def test_bad_thread_exception():
    thread = threading.Thread(target=lambda: 1 / 0)
    thread.start()
    thread.join()

def test_bad_process():
    kept.append(subprocess.Popen(LONG))

def test_bad_orphan():
    starter = "import subprocess, sys; subprocess.Popen(sys.argv[1:], start_new_session=True)"
    subprocess.run([sys.executable, "-W", "ignore", "-c", starter, *LONG], check=True)

def test_bad_warning():
    warnings.warn("mind this")

class Cycle:
    def __init__(self):
        self.me = self
    def __del__(self):
        raise ValueError("in a finalizer")

def test_bad_finalizer_in_a_cycle():
    Cycle()

def test_bad_file_left_open(tmp_path):
    cycle = [open(tmp_path / "x", "w")]
    cycle.append(cycle)

def test_good_after_all_that():
    assert all(child.wait() is not None for child in kept if isinstance(child, subprocess.Popen))

async def test_good_task_awaited():
    await asyncio.gather(asyncio.create_task(asyncio.to_thread(time.sleep, 0)))

def test_good_thread_on_its_way_out():
    threading.Thread(target=time.sleep, args=(0.2,)).start()

def test_good_process_killed_but_not_yet_gone():
    with subprocess.Popen(LONG) as child:
        child.kill()

@pytest.fixture
async def ticking():
    task = asyncio.create_task(asyncio.sleep(600))
    yield task
    task.cancel()

async def test_good_task_of_a_fixture(ticking):
    assert not ticking.done()

@pytest.fixture(scope="module")
def served():
    child = subprocess.Popen(LONG)
    thread = threading.Thread(target=child.wait)
    thread.start()
    yield child
    child.kill()
    thread.join()
    child.wait()

@pytest.mark.parametrize("turn", [1, 2])
def test_good_wider_fixture(served, turn):
    assert served.poll() is None
'''

FORGOTTEN = '''
import pytest, threading, time

@pytest.fixture(scope="module")
def forgotten():
    threading.Thread(target=time.sleep, args=(600,), daemon=True).start()

def test_good_first(forgotten):
    pass

def test_bad_last(forgotten):
    pass
'''

SETTINGS = """
[pytest]
asyncio_mode = auto
asyncio_default_fixture_loop_scope = function
filterwarnings = error
leak_patience_s = 0.6
"""


@pytest.fixture
def inner(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> pytest.Pytester:
    """A project of its own with our plugins and our rule about warnings."""
    monkeypatch.setenv("PYTHONPATH", str(ROOT / "tests/plugins"))
    monkeypatch.delenv("RIGD_NO_SKIPS", raising=False)
    pytester.makeconftest((ROOT / "tests/conftest.py").read_text())
    pytester.makeini(SETTINGS)
    return pytester


def outcomes(inner: pytest.Pytester, source: str) -> dict[str, str]:
    """Each test's name -> why it failed or erred, "" for a pass."""
    inner.makepyfile(source)
    inner.runpytest_subprocess("-p", "no:cacheprovider", "--junit-xml=out.xml")
    found: dict[str, str] = {}
    for case in ElementTree.parse(inner.path / "out.xml").iter("testcase"):
        trouble = "".join(child.get("message", "") + (child.text or "") for child in case if child.tag != "skipped")
        found[case.get("name", "")] = found.get(case.get("name", ""), "") + trouble
    return found


def test_what_is_left_behind_fails_and_what_is_not_passes(inner: pytest.Pytester) -> None:
    result = outcomes(inner, CASES)
    assert len(result) == 17
    assert {name for name, trouble in result.items() if trouble} == {name for name in result if "_bad_" in name}
    assert "task: <Task pending" in result["test_bad_task"]
    assert "nobody looks" in result["test_bad_exception_never_retrieved"]
    assert "thread: <Thread(" in result["test_bad_thread"]
    assert "process: Process(" in result["test_bad_process"]
    assert "process: Process(" in result["test_bad_orphan"]
    assert "in a finalizer" in result["test_bad_finalizer_in_a_cycle"]
    assert "unclosed file" in result["test_bad_file_left_open"]


def test_what_a_wider_fixture_forgets_fails_the_last_test(inner: pytest.Pytester) -> None:
    result = outcomes(inner, FORGOTTEN)
    assert not result["test_good_first"]
    assert "thread: <Thread(" in result["test_bad_last"]


def test_a_finished_child_is_not_counted() -> None:
    child = os.spawnlp(os.P_NOWAIT, "true", "true")
    os.waitid(os.P_PID, child, os.WEXITED | os.WNOWAIT)
    assert child not in {one.pid for one in rigd_processes.ours()}
    os.waitpid(child, 0)
