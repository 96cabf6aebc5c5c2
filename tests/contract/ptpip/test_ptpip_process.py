"""The simulated camera as a process: how it starts and all the ways in which it must end; its control socket."""

from __future__ import annotations

import asyncio
import json
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from rigd_sim.control import ControlError, Hand
from rigd_sim.control.start import SimulatedCamera, simulated_camera


def test_ready_names_ports_that_are_really_open(camera: SimulatedCamera) -> None:
    host, command, event = camera.address.split(":")
    assert host == "127.0.0.1"
    assert command != event
    assert min(int(command), int(event)) > 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_cleanly(number: signal.Signals) -> None:
    with simulated_camera("--megapixels", "2") as camera:
        camera.process.send_signal(number)
        assert camera.process.wait(20) == 0
        assert not camera.control.exists()


def test_quit_ends_it_cleanly() -> None:
    with simulated_camera("--megapixels", "2") as camera:
        camera.hand.quit()
        assert camera.process.wait(20) == 0


def test_it_ends_in_the_middle_of_an_exposure() -> None:
    with simulated_camera("--megapixels", "2") as camera:
        camera.hand.call("turn", setting="exposure_time", value=300_000)
        assert camera.hand.call("press") == "OK"
        camera.process.terminate()
        assert camera.process.wait(20) == 0


def test_it_ends_with_the_process_it_was_told_to_watch() -> None:
    with (
        subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as parent,
        simulated_camera("--megapixels", "2", "--parent-pid", str(parent.pid)) as camera,
    ):
        parent.kill()
        assert camera.process.wait(20) == 0


def test_it_ends_when_nobody_holds_its_standard_input() -> None:
    with simulated_camera("--megapixels", "2") as camera:
        assert camera.process.stdin is not None
        camera.process.stdin.close()
        assert camera.process.wait(20) == 0


def test_a_port_in_use_is_told_and_ends_it(camera: SimulatedCamera) -> None:
    with (
        pytest.raises(ControlError, match="did not start"),
        simulated_camera("--megapixels", "2", listen=camera.address),
    ):
        pass


def test_the_device_must_be_named() -> None:
    asked = subprocess.run(
        [sys.executable, "-m", "rigd_sim", "toaster"], cwd=Path(__file__).parents[3] / "sim", capture_output=True,
        text=True, check=False,
    )  # fmt: skip
    assert asked.returncode == 2
    assert "camera" in asked.stderr


def test_film_laid_by_hand_is_in_the_gate(camera: SimulatedCamera) -> None:
    camera.hand.lay(2)
    camera.hand.slide(frame=3, seconds=0.1)
    assert isinstance(camera.hand.call("still"), float)
    truth = camera.hand.truth()
    assert (truth["strip"], truth["moving"]) == (2, False)
    frames = truth["frames"]
    assert isinstance(frames, list)
    assert truth["position_mm"] == pytest.approx(frames[2]["centre_mm"], abs=0.01)
    camera.hand.lay(None)
    assert camera.hand.truth()["strip"] is None


def test_what_cannot_be_done_is_said(camera: SimulatedCamera) -> None:
    wrong: list[tuple[str, dict[str, object]]] = [
        ("fly", {}), ("fault", {"kind": "busy", "at": "nowhere"}), ("lay", {"strip": 99}), ("kick", {"hard": True}),
        ("turn", {"setting": "volume", "value": 1}),
    ]  # fmt: skip
    for verb, args in wrong:
        with pytest.raises(ControlError):
            camera.hand.call(verb, **args)
    assert camera.hand.truth()


def test_a_line_that_is_no_request_gets_an_answer(camera: SimulatedCamera) -> None:
    with Hand(camera.control) as hand:
        hand._socket.sendall(b"nonsense\n")
        assert json.loads(hand._lines.readline())["ok"] is False
        assert hand.truth()


def test_several_hands_at_once(camera: SimulatedCamera) -> None:
    seen: list[object] = []

    def look() -> None:
        with Hand(camera.control) as hand:
            seen.extend(hand.call("faults") for _ in range(20))

    threads = [threading.Thread(target=look) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == [[]] * 80


async def test_a_hand_in_an_event_loop(camera: SimulatedCamera) -> None:
    answers = await asyncio.gather(*(camera.hand.acall("faults") for _ in range(5)))
    assert answers == [[]] * 5
    await asyncio.get_running_loop().shutdown_default_executor()


def test_nobody_there(tmp_path: Path) -> None:
    with pytest.raises(ControlError, match="no simulator"):
        Hand(tmp_path / "nothing")


def test_time_can_run_faster() -> None:
    """At twenty times the speed an exposure of 10 s takes half a second."""
    with simulated_camera("--megapixels", "2", "--speed", "20") as camera:
        camera.hand.call("turn", setting="exposure_time", value=100_000)
        assert camera.hand.call("press") == "OK"
        truth = camera.hand.truth()["camera"]
        assert isinstance(truth, dict)
        assert truth["state"] == "exposing"
        assert camera.hand.call("taken", count=1, timeout=5.0) < 3.0
