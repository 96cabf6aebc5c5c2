"""A simulated camera for a module's tests, and users of libgphoto2 for each of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from tests.contract.ptpip.gphoto_user import GphotoUser

from rigd_sim.control.start import SimulatedCamera, simulated_camera


@pytest.fixture(scope="module")
def camera() -> Iterator[SimulatedCamera]:
    """A small camera; its scene's time runs at the usual speed."""
    with simulated_camera("--megapixels", "2") as started:
        yield started


@pytest.fixture
def new_user(camera: SimulatedCamera, tmp_path: Path) -> Iterator[Callable[[], GphotoUser]]:
    """Makes users of the camera; afterwards they end, every fault is disarmed and the card is empty."""
    with ExitStack() as stack:

        def make() -> GphotoUser:
            user = GphotoUser(camera.address, tmp_path)
            stack.callback(user.close)
            return user

        yield make
        camera.hand.clear()
    camera.hand.clear()
    camera.hand.call("idle")
    camera.hand.call("change_card")


@pytest.fixture
def user(new_user: Callable[[], GphotoUser]) -> GphotoUser:
    """A user that is connected."""
    made = new_user()
    made.do("init")
    return made


@pytest.fixture
def user_of(tmp_path: Path) -> Iterator[Callable[[SimulatedCamera], GphotoUser]]:
    """Makes a connected user of any camera."""
    with ExitStack() as stack:

        def make(camera: SimulatedCamera) -> GphotoUser:
            user = GphotoUser(camera.address, tmp_path)
            stack.callback(user.close)
            user.do("init")
            return user

        yield make
