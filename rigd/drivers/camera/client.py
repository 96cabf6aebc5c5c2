"""The camera as the daemon sees it: the ports Camera, Card and LiveView over one worker process."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from rigd.drivers.camera.advice import Survey, surveyed, unfound
from rigd.drivers.camera.collector import key
from rigd.drivers.camera.config import CameraConfig, port_path
from rigd.drivers.camera.messages import (
    Applied,
    Apply,
    Done,
    Fetch,
    Fetched,
    ListCard,
    Listed,
    LiveOff,
    LiveOn,
    LivePicture,
    Picture,
    Remove,
    Reply,
    Shoot,
    Surveyed,
    Taken,
)  # fmt: skip
from rigd.drivers.camera.messages import Survey as AskSurvey
from rigd.drivers.camera.supervisor import Supervisor, expect
from rigd.errors import CameraError, CameraLost
from rigd.model.values import CardFile, Exposure
from rigd.ports import Body, Shot

LISTING_S = 120.0  # a full card: some thousand questions, each some ms on slow bodies


class CameraClient:
    """One camera. Calls run one after the other. After CameraLost only `recover`, `connect`, `survey` and `close` do
    anything; the others raise CameraLost at once.

    Args:
        config: where the camera is, and how long things may take.
        home: a folder of the camera program's own (made if missing); a passing one if None. The library keeps there
            what a camera on the network knows this machine by, so a camera that has to be paired needs a lasting one.
        on_stray: called with files that arrive unasked while nothing is going on. They come with the next Shot too.
        on_lost: called when the camera goes away while nothing is asked of it.

    Raises:
        BadSetting: the address does not fit.
    """

    def __init__(
        self,
        config: CameraConfig,
        home: Path | None = None,
        on_stray: Callable[[CardFile], None] | None = None,
        on_lost: Callable[[CameraError], None] | None = None,
    ) -> None:
        port_path(config.address)
        self._config, self._allow, self._on_stray = config, config.allow, on_stray
        self._worker = Supervisor(config, home, self._stray, on_lost)
        self._exposure: Exposure | None = None
        self._strays: list[CardFile] = []
        self._flight_ends = 0.0
        self._landed = asyncio.Event()

    # -- Camera --------------------------------------------------------------------------------------------------

    async def connect(self) -> Body:
        """Open the camera and read what it offers; pictures go to its card where it lets us choose.

        Raises:
            CameraMissing, CameraHeld: it is not there, not the same as before, or taken.
        """
        body = await self._worker.open()
        self._exposure = None
        return body

    async def apply(self, want: Exposure) -> Exposure:
        """Set what is given, read it back, compare; what is in force afterwards.

        An aperture or sensitivity that the camera does not know (a manual lens) is taken as given.

        Raises:
            CameraLacks: no such setting or no such choice. CameraRefused: set three times, and it shows another.
        """
        reply = await self._worker.ask(Apply(want), "setting the exposure", Applied, self._allow.answer_s)
        self._exposure = reply.now
        return reply.now

    async def shoot(self, expect_files: int = 1) -> Shot:
        """Leave live view, drain, release once, collect. A release that was begun goes on if the caller is cancelled;
        its files are then strays of the next.

        Raises:
            CameraLost: the shot is unknown. CameraRefused, CardFull: nothing was exposed, as far as the camera says.
        """
        task = self._worker.begin(Shoot(expect_files), "taking a picture", self._shot_s())
        flight_ends = time.monotonic() + self._shutter_s + self._allow.flight_s
        try:
            shot = expect(await asyncio.shield(task), Taken).shot
        except asyncio.CancelledError:
            task.add_done_callback(self._abandon)
            raise
        except CameraLost:
            self._flight_ends = flight_ends
            raise
        strays, self._strays = tuple(self._strays), []
        return Shot(shot.files, shot.seconds, strays)

    @property
    def _shutter_s(self) -> float:
        return self._exposure.shutter_s if self._exposure else 0.0

    def _shot_s(self) -> float:
        """Longer than the worker may take by itself: both of its waits, and one call that hangs until it fails."""
        return 2 * self._shutter_s + self._allow.event_s + self._allow.late_s + self._allow.answer_s

    def _abandon(self, task: asyncio.Task[Reply]) -> None:
        if not task.cancelled() and task.exception() is None:
            self._strays += expect(task.result(), Taken).shot.files

    async def fetch(self, item: CardFile, into: Path) -> int:
        """Copy a file from the card into `into`; bytes written. A part of a file that was begun is taken away again.
        A stray that was fetched has found an owner, and does not come with the next shot.

        Raises:
            CameraLost: it came over incomplete, or not at all. DiskFull, DiskFaulty: `into` could not be written.
        """
        within = self._allow.answer_s + (item.bytes or 0) / self._allow.slowest_bytes_s
        request = Fetch(item, str(into.absolute()))
        reply = await self._worker.ask(request, f"fetching {item.name}", Fetched, within)
        self._strays = [stray for stray in self._strays if key(stray) != key(item)]
        return reply.bytes

    async def recover(self) -> Body:
        """Open again, harder each time: anew, with the port reset, with a new worker. Then set the exposure again.

        A shot that was lost sight of is let land first, so that `items` tells whether there is a picture.

        Raises:
            CameraMissing: nothing helped. CameraHeld: another program has it.
        """
        self._landed.clear()
        body = await self._worker.recover()
        with suppress(TimeoutError):
            async with asyncio.timeout(self._flight_ends - time.monotonic()):
                await self._landed.wait()
        if self._exposure is not None:
            await self.apply(self._exposure)
        return body

    def _stray(self, file: CardFile) -> None:
        self._strays.append(file)
        self._landed.set()
        if self._on_stray is not None:
            self._on_stray(file)

    async def close(self) -> None:
        """Leave the camera and end the worker. Safe to call twice, and at any time."""
        await self._worker.close()

    # -- Card ----------------------------------------------------------------------------------------------------

    async def items(self) -> tuple[CardFile, ...]:
        """Everything on the card, oldest first."""
        return (await self._worker.ask(ListCard(), "listing the card", Listed, LISTING_S)).items

    async def remove(self, item: CardFile) -> None:
        """Delete one file from the card."""
        await self._worker.ask(Remove(item), f"deleting {item.name}", Done, self._allow.answer_s)

    # -- LiveView ------------------------------------------------------------------------------------------------

    async def start(self) -> None:
        """Enter live view."""
        await self._worker.ask(LiveOn(), "starting live view", Done, self._allow.answer_s)

    async def picture(self) -> bytes:
        """The newest live picture as a JPEG; enters live view again where a still or a long silence ended it."""
        return (await self._worker.ask(LivePicture(), "taking a live picture", Picture, self._allow.answer_s)).jpeg

    async def stop(self) -> None:
        """Leave live view, and take in what the camera has to say about it."""
        await self._worker.ask(LiveOff(), "leaving live view", Done, self._allow.answer_s)

    # -- beyond the ports ----------------------------------------------------------------------------------------

    async def survey(self) -> Survey:
        """Everything there is to say about the camera before a job. Connects if need be. Never raises CameraError."""
        try:
            if not self._worker.connected:
                await self.connect()
            facts = (await self._worker.ask(AskSurvey(), "looking at the camera", Surveyed, LISTING_S)).facts
        except CameraError as error:
            return unfound(self._config.address, error)
        return surveyed(self._config.address, facts)

    @property
    def worker_pid(self) -> int | None:
        """Process number of the worker, while it runs."""
        return self._worker.pid
