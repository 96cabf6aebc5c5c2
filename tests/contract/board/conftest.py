"""Every test here runs twice: on the compiled firmware in its emulator, and on the twin."""

from __future__ import annotations

import tempfile
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest
from tests.contract.board.bed import LACKING, Bed, board_bed, build
from tests.contract.board.raw import RawHost

from rigd.drivers.board import BoardClient


@pytest.fixture(scope="session")
def compiled() -> None:
    build()


@pytest.fixture(
    params=[
        pytest.param(
            "firmware", marks=pytest.mark.skipif(bool(LACKING), reason=f"not installed: {', '.join(LACKING)}")
        ),
        "twin",
    ]
)
def kind(request: pytest.FixtureRequest) -> str:
    """Which of the two boards."""
    if request.param == "firmware":
        request.getfixturevalue("compiled")
    return str(request.param)


@pytest.fixture
def folder() -> Iterator[Path]:
    """A short path: sockets allow about a hundred bytes."""
    with tempfile.TemporaryDirectory(prefix="rigd-board-") as path:
        yield Path(path)


@pytest.fixture
def bed(kind: str, folder: Path) -> Iterator[Bed]:
    """A board that has just been switched on; its time stands still."""
    with board_bed(kind, folder) as made:
        yield made


@pytest.fixture
def host(bed: Bed) -> Iterator[RawHost]:
    """Bytes on the line, without the driver; the boot message has been read."""
    with RawHost(bed) as made:
        assert made.read(0.05) == ["#00 BOOT why=power boot=1"]
        yield made


@pytest.fixture
async def client(bed: Bed) -> AsyncIterator[BoardClient]:
    """The real driver, greeted."""
    made = bed.client()
    await bed.during(made.ready())
    yield made
    await made.close()
