"""The one worker process and the one camera behind it: asked in turn, lost and found again."""

from __future__ import annotations

import asyncio
import shutil
import tempfile
from collections.abc import Awaitable, Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from rigd.drivers.camera.config import CameraConfig
from rigd.drivers.camera.faults import AGAIN, POWER
from rigd.drivers.camera.link import Link
from rigd.drivers.camera.messages import Close, Done, Failed, Gone, Open, Opened, Reopen, Reply, Request, Stray
from rigd.errors import CameraError, CameraHeld, CameraLost, CameraMissing, RigdError, by_code
from rigd.model.values import CardFile
from rigd.ports import Body

R = TypeVar("R", bound=Reply)
Rung = Callable[[], Awaitable[Body]]


class Supervisor:
    """Starts the worker when it is needed, passes one request at a time, and knows whether the camera is there.

    Args:
        home: a folder of the worker's own, kept between runs (made if missing); a passing one if None.
        on_stray: called with each file that arrives unasked.
        on_lost: called when the camera goes away while nothing is asked of it.
    """

    def __init__(
        self,
        config: CameraConfig,
        home: Path | None,
        on_stray: Callable[[CardFile], None],
        on_lost: Callable[[CameraError], None] | None,
    ) -> None:
        self._config, self._home, self._passing_home = config, home, home is None
        self._on_stray, self._on_lost = on_stray, on_lost
        self._link: Link | None = None
        self._lock = asyncio.Lock()
        self._running: set[asyncio.Task[Reply]] = set()
        self._why_not: CameraError | None = _not_connected()
        self._serial, self._been_open = "", False

    @property
    def pid(self) -> int | None:
        """The worker's process number, while it runs."""
        return self._link.pid if self._link else None

    @property
    def connected(self) -> bool:
        """Whether the camera answered last time, and nothing was heard against it since."""
        return self._why_not is None

    async def ask(self, request: Request, doing: str, kind: type[R], within_s: float) -> R:
        """Pass a request and wait for its reply, which is of `kind`.

        The request goes on if the caller is cancelled: the worker cannot be stopped in the middle of a call.

        Raises:
            CameraError: what the worker found. CameraLost at once where the camera was lost before.
        """
        return expect(await asyncio.shield(self.begin(request, doing, within_s)), kind)

    def begin(self, request: Request, doing: str, within_s: float) -> asyncio.Task[Reply]:
        """Start a request as a task of its own. Raises CameraLost or CameraMissing where there is no camera."""
        if self._why_not is not None:
            raise _still_lost(self._why_not)
        return self._begin(self._link, request, doing, within_s)

    def _begin(self, link: Link | None, request: Request, doing: str, within_s: float) -> asyncio.Task[Reply]:
        task = asyncio.create_task(self._exchange(link, request, doing, within_s), name=f"camera: {doing}")
        self._running.add(task)
        task.add_done_callback(self._finished)
        return task

    async def _exchange(self, link: Link | None, request: Request, doing: str, within_s: float) -> Reply:
        async with self._lock:
            if link is None or link is not self._link:
                raise CameraLost("The camera was lost meanwhile.", f"It was wanted for {doing}.", AGAIN)
            try:
                reply = await link.ask(request, doing, within_s)
                if isinstance(reply, Failed):
                    raise unpacked(reply)
            except (CameraLost, CameraMissing, CameraHeld) as error:
                self._why_not = error
                raise
            return reply

    def _finished(self, task: asyncio.Task[Reply]) -> None:
        self._running.discard(task)
        if not task.cancelled():
            task.exception()  # seen: the one who asked may be gone

    # -- there and away ------------------------------------------------------------------------------------------

    async def open(self) -> Body:
        """Open the camera, with a new worker if there is none. Raises CameraMissing, CameraHeld."""
        link = await self._started()
        request = Open(self._config, self._serial)
        try:
            reply = await asyncio.shield(self._begin(link, request, "connecting", self._config.allow.answer_s))
        except CameraError:
            # The library keeps the sockets of an attempt that failed, and some cameras take one guest at a time.
            await self._end(kill=True)
            raise
        return self._opened(reply)

    async def recover(self) -> Body:
        """Climb: anew, with the port reset, with a new worker.

        Raises:
            CameraMissing: nothing helped. CameraHeld: another program has it.
        """
        last: CameraError | None = None
        for rung in self._rungs():
            if last is not None:
                await asyncio.sleep(self._config.allow.rung_s)
            try:
                return await rung()
            except CameraError as error:
                last = error
        raise last if isinstance(last, CameraMissing | CameraHeld) else _unreachable(last)

    def _rungs(self) -> list[Rung]:
        rungs: list[Rung] = []
        if self._been_open and self._link is not None and self._link.pid is not None:
            rungs.append(lambda: self._reopen(reset=False))
            if self._config.address == "usb":
                rungs.append(lambda: self._reopen(reset=True))
        return [*rungs, self._restart]

    async def _reopen(self, reset: bool) -> Body:
        doing = "connecting again"
        reply = await asyncio.shield(self._begin(self._link, Reopen(reset), doing, self._config.allow.answer_s))
        return self._opened(reply)

    async def _restart(self) -> Body:
        await self._end(kill=True)
        return await self.open()

    def _opened(self, reply: Reply) -> Body:
        body = expect(reply, Opened).body
        self._serial, self._been_open, self._why_not = body.serial, True, None
        return body

    async def close(self) -> None:
        """Leave the camera, end the worker, wait for what is still under way. Safe at any time and twice."""
        link = self._link
        if link is not None and link.pid is not None and self.connected:
            with suppress(CameraError):
                await self.ask(Close(), "leaving the camera", Done, self._config.allow.answer_s)
        await self._end()
        self._why_not = _not_connected()
        if self._running:
            await asyncio.gather(*self._running, return_exceptions=True)
        if self._passing_home and self._home is not None:
            shutil.rmtree(self._home, ignore_errors=True)
            self._home = None

    async def _started(self) -> Link:
        if self._link is not None and self._link.pid is not None:
            return self._link
        await self._end()
        if self._home is None:
            self._home = Path(tempfile.mkdtemp(prefix="rigd-camera-"))
        self._home.mkdir(parents=True, exist_ok=True)
        self._link = Link(self._noticed, self._away)
        await self._link.start(self._home, self._config.environment)
        return self._link

    async def _end(self, kill: bool = False) -> None:
        link, self._link = self._link, None
        if link is not None:
            await link.end(kill)

    def _noticed(self, notice: Reply) -> None:
        if isinstance(notice, Stray):
            for file in notice.files:
                self._on_stray(file)
        elif isinstance(notice, Gone):
            self._away(CameraLost(*_parts(notice.failure)))

    def _away(self, error: CameraError) -> None:
        self._why_not = error
        if self._on_lost is not None:
            self._on_lost(error)


def expect(reply: Reply, kind: type[R]) -> R:
    """The reply, which is of this kind as long as both sides are of one version."""
    assert isinstance(reply, kind), f"{type(reply).__name__} where {kind.__name__} was due"
    return reply


def unpacked(failed: Failed) -> RigdError:
    """The error that came over the socket."""
    return by_code(failed.code)(*_parts(failed))


def _parts(failed: Failed) -> tuple[str, str, str]:
    return failed.what, failed.why, failed.remedy


def _not_connected() -> CameraMissing:
    return CameraMissing("The camera is not connected.", "", "Connect it first.")


def _still_lost(error: CameraError) -> CameraError:
    if isinstance(error, CameraLost):
        return CameraLost("The camera was lost and has not been connected again.", error.what, AGAIN)
    return error


def _unreachable(error: CameraError | None) -> CameraMissing:
    return CameraMissing("The camera cannot be reached again.", str(error or ""), POWER)
