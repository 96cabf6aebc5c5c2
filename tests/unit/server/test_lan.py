"""The door to the local network, on real sockets of 127.0.0.2: rights there, TLS, the announced name, the QR code."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import ssl
import warnings
from collections.abc import AsyncIterator
from pathlib import Path

import cv2
import httpx
import numpy as np
import pytest
import trustme
from tests.unit.server.serving import house
from zeroconf import IPVersion
from zeroconf.asyncio import AsyncZeroconf

from rigd.errors import BadSetting, InputError
from rigd.server import Door, GuardConfig, Role, SessionBook, WebServer, lan_door, listen, local_name, make_app, qr
from rigd.server.announce import KIND, announce, service
from rigd.server.doors import check_lan, own_addresses, tls_of

LAN = "127.0.0.2"


@contextlib.asynccontextmanager
async def both_doors(root: Path, tls: ssl.SSLContext | None = None) -> AsyncIterator[tuple[SessionBook, int]]:
    """A house with its own door and one to the network, by the same port."""
    own = Door(listen("127.0.0.1", 0))
    async with house(root, own.port) as home:
        names = ("127.0.0.1", "localhost", LAN, "rig.example")
        guard = GuardConfig(own.port, home.book, names, LAN)
        app = make_app(home.desk, guard, root, lambda: home.left.append(True))
        server = WebServer(app, own, Door(listen(LAN, own.port), tls))
        async with asyncio.TaskGroup() as group:
            running = group.create_task(server.run())
            try:
                yield home.book, own.port
            finally:
                server.stop()
                await asyncio.gather(running, return_exceptions=True)


async def test_what_is_the_hosts_does_not_pass_the_door_to_the_network(tmp_path: Path) -> None:
    async with both_doors(tmp_path) as (book, port), httpx.AsyncClient(trust_env=False) as client:
        headers = {"Authorization": f"Bearer {book.let_in(Role.HOST, 'page')}"}
        own, lan = f"http://127.0.0.1:{port}", f"http://{LAN}:{port}"
        assert (await client.get(f"{own}/api/devices", headers=headers)).status_code == 200
        assert (await client.get(f"{lan}/api/devices", headers=headers)).status_code == 403
        assert (await client.get(f"{lan}/api/state", headers=headers)).status_code == 200
        assert (await client.post(f"{lan}/api/quit", json={}, headers=headers)).status_code == 403


async def test_only_pages_of_the_same_address_may_command(tmp_path: Path) -> None:
    async with both_doors(tmp_path) as (book, port), httpx.AsyncClient(trust_env=False) as client:
        cookie = {"Cookie": f"rigd_{port}={book.let_in(Role.OPERATOR, 'phone')}"}
        lan = f"http://{LAN}:{port}"
        for origin, status in ((lan, 200), (f"http://127.0.0.1:{port}", 403), (f"https://{LAN}:{port}", 403)):
            reply = await client.post(f"{lan}/api/pause", json={}, headers={"Origin": origin, **cookie})
            assert reply.status_code == status, origin


async def test_over_tls_the_cookie_is_kept_to_this_host_and_to_tls(tmp_path: Path) -> None:
    authority = trustme.CA()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert(LAN, "rig.example").configure_cert(context)
    trust = ssl.create_default_context()
    authority.configure_trust(trust)
    async with (
        both_doors(tmp_path, context) as (book, port),
        httpx.AsyncClient(verify=trust, trust_env=False, base_url=f"https://{LAN}:{port}") as phone,
    ):
        phone.headers["Origin"] = f"https://{LAN}:{port}"
        entered = await phone.post("/api/session", json={"code": book.codes.open(Role.OPERATOR).typed})
        line = entered.headers["set-cookie"]
        # RFC 6265bis section 4.1.3.2: __Host- asks for Secure, Path=/ and no Domain.
        assert line.startswith(f"__Host-rigd_{port}=")
        assert "secure" in line.lower()
        assert "domain" not in line.lower()
        phone.headers["Cookie"] = line.split(";")[0]
        assert (await phone.post("/api/pause", json={})).status_code == 200
        phone.headers["Origin"] = f"http://{LAN}:{port}"
        assert (await phone.post("/api/pause", json={})).status_code == 403
        with pytest.raises(httpx.RemoteProtocolError):
            await phone.get(f"http://{LAN}:{port}/healthz")


def pem(folder: Path) -> tuple[Path, Path]:
    made = trustme.CA().issue_cert("rig.example")
    certificate, key = folder / "rig.pem", folder / "rig.key"
    made.cert_chain_pems[0].write_to_path(certificate)
    made.private_key_pem.write_to_path(key)
    return certificate, key


def test_a_certificate_is_read_from_files_and_a_wrong_one_is_told(tmp_path: Path) -> None:
    certificate, key = pem(tmp_path)
    assert tls_of(certificate, key).cert_store_stats() is not None
    for wrong in ((tmp_path / "none.pem", key), (certificate, None), (key, certificate)):
        with pytest.raises(BadSetting, match="cannot be used"):
            tls_of(*wrong)


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "localhost", "192.0.2.300", ""])
def test_an_address_that_is_not_exactly_one_is_refused(address: str) -> None:
    with pytest.raises(InputError) as refused:
        check_lan(address)
    assert "--lan" in refused.value.remedy


def test_an_address_of_somebody_else_is_told_with_our_own() -> None:
    with pytest.raises(InputError, match="not an address of this machine") as refused:
        lan_door("192.0.2.1", 0, None, None)  # RFC 5737: nobody has it
    assert refused.value.remedy
    assert all(text in refused.value.why for text in own_addresses())


def test_a_taken_port_there_is_said_plainly() -> None:
    with socket.create_server((LAN, 0)) as held, pytest.raises(InputError, match="cannot listen"):
        lan_door(LAN, held.getsockname()[1], None, None)


@pytest.mark.parametrize(
    ("machine", "name"),
    [("studio", "rigd-studio.local"), ("Studio 2.example.org", "rigd-studio-2.local"), ("", "rigd.local"),
     ("x" * 80, f"rigd-{'x' * 58}.local"), ("ü!", "rigd.local")],
)  # fmt: skip
def test_the_announced_name_is_a_name(machine: str, name: str) -> None:
    # RFC 1123 section 2.1 and RFC 1035 section 2.3.4: letters, digits, dashes, 63 to a label.
    assert local_name(machine) == name
    assert all(len(label) <= 63 for label in name.split("."))


def test_the_announcement_says_nothing_of_the_rig() -> None:
    told = service("192.0.2.20", 8377, "rigd-studio.local")
    assert (told.server, told.port, told.properties) == ("rigd-studio.local.", 8377, {b"path": b"/"})
    assert told.parsed_addresses() == ["192.0.2.20"]


async def test_the_name_is_found_and_goes_with_us() -> None:
    """By a second multicast DNS stack on loopback, as a phone would ask."""
    announcing = asyncio.create_task(announce(LAN, 8377, "rigd-test.local"))
    asking = AsyncZeroconf(interfaces=["127.0.0.3"], ip_version=IPVersion.V4Only)
    try:
        found = await asking.async_get_service_info(KIND, f"rigd-test.{KIND}", 10_000)
        assert found is not None
        assert found.parsed_addresses() == [LAN]
    finally:
        announcing.cancel()
        await asyncio.gather(announcing, return_exceptions=True)
        await asking.async_close()


async def test_a_network_that_takes_no_name_is_told_and_does_no_harm(caplog: pytest.LogCaptureFixture) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # the library leaves its socket to the collector then
        await announce("192.0.2.1", 8377, "rigd-test.local")
    assert "could not be announced" in caplog.text


def test_the_code_can_be_read_from_rows_and_from_a_terminal() -> None:
    """By OpenCV's reader of ISO/IEC 18004 codes, which knows nothing of ours."""
    link = "http://192.0.2.20:8377/#4Jm0c1TbQeR8xW2pK7sVhN5uYdLf3GzA"
    rows = qr.rows(link)
    assert {len(row) for row in rows} == {len(rows)}
    assert read(np.array([[module == "1" for module in row] for row in rows])) == link
    lines = [line for line in qr.for_terminal(link).splitlines() if line.strip()]
    halves = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}  # light modules are the ones drawn
    grid = np.array([[halves[sign][half] for sign in line] for line in lines for half in (0, 1)], bool)
    assert read(grid) == link


def read(dark: np.ndarray[tuple[int, int], np.dtype[np.bool_]]) -> str:
    picture = np.pad(np.where(dark, 0, 255).astype(np.uint8), 4, constant_values=255)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.kron(picture, np.ones((6, 6), np.uint8)))
    return str(text)
