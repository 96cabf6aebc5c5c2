"""A user of libgphoto2 that tests can give orders to."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest


class GphotoError(Exception):
    """An operation of libgphoto2 failed. seconds: how long the call took. texts: what it said of errors."""

    def __init__(self, code: int, seconds: float, texts: list[str]) -> None:
        super().__init__(f"code {code} after {seconds:.2f} s: {'; '.join(texts)}")
        self.code, self.seconds, self.texts = code, seconds, texts


class GphotoUser:
    """A process that drives one camera through libgphoto2; see child.py for what it can do."""

    def __init__(self, address: str, home: Path) -> None:
        environment = os.environ | {"LC_ALL": "C", "HOME": str(home), "XDG_CONFIG_HOME": str(home)}
        script = Path(__file__).with_name("child.py")
        self._process = subprocess.Popen(
            [sys.executable, "-W", "ignore::DeprecationWarning", str(script), address],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment, text=True,
        )  # fmt: skip
        self.seconds = 0.0

    def do(self, what: str, **args: object) -> Any:
        """Give one order and wait for its result. Raises GphotoError."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps({"do": what, "args": args}) + "\n")
        self._process.stdin.flush()
        reply = json.loads(self._process.stdout.readline())
        self.seconds = reply["seconds"]
        if not reply["ok"]:
            raise GphotoError(reply["code"], reply["seconds"], reply["texts"])
        return reply["result"]

    def failure(self, what: str, **args: object) -> GphotoError:
        """Give an order that must fail, and return how."""
        with pytest.raises(GphotoError) as caught:
            self.do(what, **args)
        return caught.value

    def shoot(self) -> str:
        """One picture; its path on the camera."""
        self.do("trigger")
        files = [path for kind, path in self.do("events", until="complete", seconds=10) if kind == "file"]
        assert len(files) == 1
        return str(files[0])

    def kill(self) -> None:
        self._process.kill()
        self.close()

    def close(self) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(20)
        self._process.stdout.close()
