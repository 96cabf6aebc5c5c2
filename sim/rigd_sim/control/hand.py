"""The hand at the simulated rig: a client of the control socket, for tests and for the demo."""

from __future__ import annotations

import asyncio
import json
import socket
import threading
from pathlib import Path
from types import TracebackType
from typing import Any


class ControlError(RuntimeError):
    """The other side refused, or is gone; the text says why."""


class Hand:
    """One connection to the control socket at `path`. Usable from any thread; calls run one after the other.

    `call` blocks, `acall` does the same without blocking the event loop; the named verbs are shorthands of
    `call`. Every verb and its arguments: see the table in rigd_sim.camera.verbs. Raises ControlError.
    """

    def __init__(self, path: str | Path, timeout: float = 60.0) -> None:
        self._lock = threading.Lock()
        self._number = 0
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._socket.settimeout(timeout)
        try:
            self._socket.connect(str(path))
        except OSError as error:
            self._socket.close()
            raise ControlError(f"no simulator at {path}: {error}") from None
        self._lines = self._socket.makefile("rb")

    def call(self, verb: str, **args: object) -> Any:
        """Do one thing and return its result."""
        with self._lock:
            self._number += 1
            request = json.dumps({"id": self._number, "verb": verb, "args": args})
            reply = self._exchange(request.encode() + b"\n")
        if reply.get("id") != self._number or not reply.get("ok"):
            raise ControlError(f"{verb}: {reply.get('error', 'the replies are out of step')}")
        return reply.get("result")

    async def acall(self, verb: str, **args: object) -> Any:
        return await asyncio.to_thread(self.call, verb, **args)

    def _exchange(self, line: bytes) -> dict[str, object]:
        try:
            self._socket.sendall(line)
            answer = self._lines.readline()
        except OSError as error:
            raise ControlError(f"the simulator does not answer: {error}") from None
        if not answer:
            raise ControlError("the simulator has gone")
        reply: dict[str, object] = json.loads(answer)
        return reply

    def lay(self, strip: int | None, **args: object) -> None:
        """Lay a strip (numbers from 1) into the gate, or take the film out (None)."""
        self.call("lay", strip=strip, **args)

    def slide(self, **args: object) -> None:
        """Move the film: to_mm or frame (from 1, on the strip), off_mm, seconds."""
        self.call("slide", **args)

    def kick(self, amplitude_um: float = 30.0) -> None:
        self.call("kick", amplitude_um=amplitude_um)

    def lamp(self, on: bool, level: float = 1.0) -> None:
        self.call("lamp", on=on, level=level)

    def fault(self, kind: str, at: str, **args: object) -> int:
        """Arm a fault and return its number; fields as in rigd_sim.camera.faults.Fault."""
        return int(self.call("fault", kind=kind, at=at, **args))

    def clear(self, number: int | None = None) -> None:
        """Disarm one fault or all, and end every stall and freeze."""
        self.call("clear", number=number)

    def film(self) -> dict[str, Any]:
        """What the scene knows of the film: the cheap part of the truth, to be asked often."""
        film: dict[str, Any] = self.call("film")
        return film

    def truth(self) -> dict[str, Any]:
        truth: dict[str, Any] = self.call("truth")
        return truth

    def wirelog(self, since: int = 0) -> list[dict[str, Any]]:
        entries: list[dict[str, Any]] = self.call("wirelog", since=since)
        return entries

    def quit(self) -> None:
        """Ask the simulator to end."""
        self.call("quit")

    def close(self) -> None:
        self._lines.close()
        self._socket.close()

    def __enter__(self) -> Hand:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
