"""What the simulated board asks of the scene, on a control socket that writes down what it is asked."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import pytest

from rigd_sim.board.bed import TICKS_PER_US, Bed
from rigd_sim.board.lines import line
from rigd_sim.board.stage import Stage
from rigd_sim.board.terminal import Terminal
from rigd_sim.control.server import ControlServer

SENSOR_MM = 50.0
FRAMES = [{"centre_mm": 31.0, "size_mm": [56.0, 56.0]}, {"centre_mm": 93.0, "size_mm": [56.0, 56.0]}]


class Notes:
    """A scene that only writes down. A strip of two frames, 124 mm long, at `position_mm`."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, dict[str, object]]] = []
        self.looks = 0
        self.position_mm = 31.0

    def verbs(self) -> dict[str, Callable[..., object]]:
        def note(verb: str) -> Callable[..., object]:
            return lambda **args: self.asked.append((verb, args))

        return {"slide": note("slide"), "lamp": note("lamp"), "film": self.film}

    def film(self) -> dict[str, object]:
        self.looks += 1
        return {"strip": 1, "position_mm": self.position_mm, "moving": False, "frames": FRAMES}

    def said(self, verb: str) -> list[dict[str, object]]:
        return [args for what, args in self.asked if what == verb]


@pytest.fixture
async def scene() -> AsyncIterator[tuple[Notes, Bed]]:
    with tempfile.TemporaryDirectory(prefix="rigd-stage-") as folder:
        notes = Notes()
        server = ControlServer(Path(folder) / "scene", notes.verbs())
        await server.open()
        terminal = Terminal(Path(folder) / "board")
        bed = Bed(terminal, held=True)
        stage = await asyncio.to_thread(Stage, Path(folder) / "scene", bed.outside, SENSOR_MM)
        following = asyncio.ensure_future(stage.follow(lambda: bed.line.board))
        await until(lambda: bed.outside.track.length)
        yield notes, bed
        following.cancel()
        await asyncio.gather(following, return_exceptions=True)
        await asyncio.to_thread(stage.close)
        await server.close()
        terminal.unplug()


async def until(true: Callable[[], object]) -> None:
    async with asyncio.timeout(10):
        while not true():  # noqa: ASYNC110 - the other side is another task or thread
            await asyncio.sleep(0)


def say(bed: Bed, number: int, words: str, seconds: float) -> None:
    bed.line.receive(line(">", number, words))
    bed.line.run(bed.line.tick + int(seconds * 1e6) * TICKS_PER_US)


async def test_film_in_the_scene_is_film_under_the_sensor(scene: tuple[Notes, Bed]) -> None:
    _, bed = scene
    assert bed.outside.track.length == 124 * 80
    assert bed.outside.track.at == (31 + 50) * 80
    assert bed.outside.track.covers()


async def test_a_motion_is_one_slide_to_its_end(scene: tuple[Notes, Bed]) -> None:
    notes, bed = scene
    say(bed, 1, "MOVE 1600", 2.0)
    await until(lambda: notes.said("slide"))
    (slide,) = notes.said("slide")
    assert slide["to_mm"] == pytest.approx(51.0)
    assert slide["seconds"] == pytest.approx(1600 / 8000 * 2 + 0.17, abs=0.02)  # 2 sqrt(n / a) = 0.566 s


async def test_a_search_slides_to_where_it_will_find_the_end(scene: tuple[Notes, Bed]) -> None:
    """The film's end is 43 mm away; the motion goes on for `tail` (2.5 mm) and the ramp."""
    notes, bed = scene
    say(bed, 1, "SEEK clear 8000", 0.1)
    await until(lambda: notes.said("slide"))
    assert notes.said("slide")[0]["to_mm"] == pytest.approx(31 + 43 + 2.5 + 0.8, abs=0.1)


async def test_a_motion_that_is_cut_short_is_put_right(scene: tuple[Notes, Bed]) -> None:
    notes, bed = scene
    say(bed, 1, "MOVE 8000", 0.5)
    bed.line.receive(b"\x1b")
    bed.line.run(bed.line.tick + 10_000)
    await until(lambda: len(notes.said("slide")) == 2)
    assert notes.said("slide")[1]["to_mm"] == pytest.approx(31 + bed.outside.shaft.net / 80)


async def test_the_lamp_lights_the_scene(scene: tuple[Notes, Bed]) -> None:
    notes, bed = scene
    assert notes.said("lamp") == []  # a board that was only switched on leaves the scene's own light
    say(bed, 1, "LAMP 51 0 0 0", 0.1)
    bed.line.receive(b"\x1b")
    bed.line.run(bed.line.tick + 10_000)
    await until(lambda: len(notes.said("lamp")) == 2)
    assert notes.said("lamp") == [{"on": True, "level": 0.2}, {"on": False, "level": 0.0}]


async def test_film_moved_by_hand_is_followed(scene: tuple[Notes, Bed]) -> None:
    notes, bed = scene
    notes.position_mm = 93.0
    await until(lambda: bed.outside.track.at == (93 + 50) * 80)
    assert not bed.outside.track.covers()
