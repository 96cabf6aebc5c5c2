"""A name for the local network by multicast DNS (RFC 6762, RFC 6763), only while rigd serves it.

It says that a page is here and where, and nothing of the rig: no job, no camera, no serial number.
"""

from __future__ import annotations

import asyncio
import logging
import re
import socket
from ipaddress import ip_address

from zeroconf import Error, IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncZeroconf

log = logging.getLogger("rigd.server")

KIND = "_http._tcp.local."
# RFC 1035, section 2.3.4: a label has 63 octets at most.
LABEL = 63


def local_name(machine: str | None = None) -> str:
    """`rigd-MACHINE.local`: letters, digits and dashes only."""
    short = (socket.gethostname() if machine is None else machine).split(".")[0].lower()
    plain = re.sub(r"[^a-z0-9]+", "-", short).strip("-")
    return f"{'-'.join(part for part in ('rigd', plain) if part)[:LABEL].rstrip('-')}.local"


def service(address: str, port: int, name: str) -> ServiceInfo:
    """What is announced: the page at `address` and `port`, under the host name `name`."""
    return ServiceInfo(
        KIND, f"{name.removesuffix('.local')}.{KIND}", port=port, properties={"path": "/"}, server=f"{name}.",
        addresses=[ip_address(address).packed],
    )  # fmt: skip


async def announce(address: str, port: int, name: str) -> None:
    """Announce until cancelled, and take it back then. A network that takes none is logged: the address works too."""
    net = None
    try:
        version = IPVersion.V6Only if ":" in address else IPVersion.V4Only
        net = AsyncZeroconf(interfaces=[address], ip_version=version)
        await (await net.async_register_service(service(address, port, name), allow_name_change=True))
        await asyncio.Future()
    except (OSError, Error) as error:
        log.warning("The name %s could not be announced: %s", name, str(error))
    finally:
        if net is not None:
            await net.async_unregister_all_services()
            await net.async_close()
