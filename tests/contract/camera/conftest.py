"""The simulated camera, and the real driver on it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest
from tests.contract.camera.kit import FAST, Make, config_of, on_card, runs, until

from rigd.drivers.camera import CameraClient, CameraConfig
from rigd_sim.control.start import SimulatedCamera, simulated_camera


@pytest.fixture(scope="module")
def body() -> Iterator[SimulatedCamera]:
    """One simulated camera for a module."""
    with simulated_camera("--megapixels", "2") as camera:
        yield camera


@pytest.fixture
async def sim(body: SimulatedCamera) -> AsyncIterator[SimulatedCamera]:
    """The camera without faults, idle, with an empty card."""
    yield body
    body.hand.clear()
    body.hand.call("power", on=True)
    await until(lambda: body.hand.truth()["camera"]["state"] == "idle")  # type: ignore[index]
    body.hand.call("change_card")
    assert not on_card(body)


@pytest.fixture
async def make(sim: SimulatedCamera, tmp_path: Path) -> AsyncIterator[Make]:
    """Makes clients on the simulated camera, and closes them; no worker may be left."""
    made: list[CameraClient] = []

    def one(config: CameraConfig | None = None, **words: object) -> CameraClient:
        home = tmp_path / f"home-{len(made)}"
        made.append(CameraClient(config or config_of(sim), home, **words))  # type: ignore[arg-type]
        return made[-1]

    yield one
    for client in made:
        pid = client.worker_pid
        await client.close()
        assert not runs(pid)


@pytest.fixture
async def camera(make: Make) -> CameraClient:
    """A connected client, set to a short exposure."""
    client = make()
    await client.connect()
    await client.apply(FAST)
    return client
