"""Phones at a daemon that serves the local network: let in, work, are seen, sent away, and known after a restart."""

from __future__ import annotations

import contextlib
import json
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import httpx
import pytest

if TYPE_CHECKING:
    from conftest import Simulated

LAN = "127.0.0.2"


@dataclass
class Shop:
    """Where a daemon of one job runs, on one port of its own."""

    words: list[str]
    env: dict[str, str]
    port: int

    @contextlib.contextmanager
    def daemon(self) -> Iterator[tuple[str, str]]:
        """The link that was printed for this machine, and the letters for another device."""
        command = [sys.executable, "-m", "rigd", "run", *self.words, "--lan", LAN, "--port", str(self.port)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=self.env) as process:
            assert process.stdout is not None
            lines = []
            while not (lines and "and type:" in lines[-1]):
                lines.append(process.stdout.readline())
                assert lines[-1], lines
            text = "".join(lines)
            try:
                yield re.findall(r"Open the page: (\S+)", text)[0], re.findall(r"type: (\S+)", text)[0]
            finally:
                process.send_signal(signal.SIGINT)
                assert process.wait(timeout=30) == 0

    def rigd(self, *words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "rigd", *words, *self.words[:2]]
        return subprocess.run(command, capture_output=True, text=True, timeout=60, env=self.env, check=False)

    def json(self, *words: str) -> Any:
        done = self.rigd(*words, "--json")
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    def phone(self) -> httpx.Client:
        url = f"http://{LAN}:{self.port}"
        return httpx.Client(base_url=url, headers={"Origin": url}, trust_env=False)


@pytest.fixture
def shop(simulated: Simulated, tmp_path: Path, env: dict[str, str]) -> Shop:
    config = tmp_path / "rigd.toml"
    config.write_text(f'[camera]\naddress = "{simulated.camera}"\n[server]\nannounce = false\n', "utf-8")
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    private = {"XDG_RUNTIME_DIR": str(tmp_path), "XDG_STATE_HOME": str(tmp_path / "state")}
    return Shop(["--job", str(tmp_path / "job"), "--config", str(config)], {**env, **private}, port)


def test_a_phone_is_let_in_and_known_after_a_restart(shop: Shop) -> None:
    with shop.phone() as phone:
        with shop.daemon() as (link, typed):
            assert link.startswith(f"http://127.0.0.1:{shop.port}/#")
            assert phone.post("/api/pause", json={}).json()["code"] == "no-session"
            entered = phone.post("/api/session", json={"code": typed, "name": "phone"})
            assert entered.json()["role"] == "operator"
            assert phone.post("/api/pause", json={}).status_code == 200
            assert [d["name"] for d in shop.json("devices", "list")] == ["command line", "phone"]
        with shop.daemon():
            assert phone.get("/api/session").json()["name"] == "phone"
            (known,) = [d for d in shop.json("devices", "list") if d["name"] == "phone"]
            assert shop.json("devices", "revoke", str(known["id"])) == {"revoked": known["id"]}
            assert phone.get("/api/session").json()["code"] == "no-session"
        with shop.daemon():
            assert phone.get("/api/session").status_code == 401, "sent away for good"


def test_more_devices_are_let_in_from_the_command_line(shop: Shop) -> None:
    with shop.daemon(), shop.phone() as phone:
        shown = shop.rigd("devices", "pair", "--role", "viewer")
        assert shown.returncode == 0
        assert "▀" in shown.stdout
        typed = re.findall(r"type: (\S+)", shown.stdout)[0]
        assert phone.post("/api/session", json={"code": typed}).json()["role"] == "viewer"
        offer = shop.json("devices", "pair")
        assert offer["link"].startswith(f"http://{LAN}:{shop.port}/#")
        assert phone.post("/api/session", json={"code": offer["link"].split("#")[1]}).json()["role"] == "operator"
        token = shop.rigd("devices", "token", "monitor").stdout.strip()
        del phone.headers["Origin"]
        phone.cookies.clear()
        assert phone.get("/metrics", headers={"Authorization": f"Bearer {token}"}).status_code == 200
        assert shop.json("devices", "free") == {"control": None}
        listed = shop.rigd("devices", "list").stdout
        assert "monitor: viewer, seen" in listed


def test_devices_are_a_running_daemons_business(shop: Shop) -> None:
    for words in (("pair",), ("list",), ("revoke", "1"), ("token", "x"), ("free",)):
        refused = shop.rigd("devices", *words)
        assert refused.returncode == 1
        assert "Start it: rigd run." in refused.stderr


@pytest.mark.parametrize(
    ("address", "said"), [("0.0.0.0", "every address"), ("192.0.2.1", "not an address"), ("127.0.0.1", "loopback")]
)
def test_an_address_that_will_not_do_is_told(shop: Shop, address: str, said: str) -> None:
    refused = shop.rigd("run", "--port", "0", "--lan", address)
    assert refused.returncode == 1
    assert said in refused.stderr
    assert "Traceback" not in refused.stderr
