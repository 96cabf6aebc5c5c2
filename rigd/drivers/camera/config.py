"""How the camera is reached, and how long things may take."""

from __future__ import annotations

import re
from ipaddress import AddressValueError, IPv4Address

from msgspec import Struct

from rigd.errors import BadSetting

DEFAULT_PTPIP_PORT = 15740  # the port that CIPA DC-X005 gives to PTP over TCP


class Allowances(Struct, frozen=True):
    """Named times, seconds, each with its reason. Everything that waits, waits for one of these at most."""

    answer_s: float = 30.0
    """One call into the library. USB transfers have a time limit of 20 s of their own (value from memory), so
    less would kill a slow camera that still lives; a call that takes longer hangs, and its process is killed."""
    event_s: float = 6.0
    """From the end of the exposure to the last file: read-out and card. A 60 MP raw takes 1 to 2 s on slow cards."""
    late_s: float = 4.0
    """The second wait, after the first ran out and the camera was found to be alive. It comes on top of one more
    exposure time, which is what a dark frame of the camera's own takes."""
    quiet_s: float = 0.3
    """All files are there, nothing more comes, and the camera never said that it was done: then it is done."""
    flight_s: float = 2.0
    """From the end of an exposure that was lost sight of to its file on the card; recovering waits for so long, so that
    the card tells the truth. A 60 MP raw takes 1 to 2 s on slow cards."""
    busy_s: float = 2.0
    """How long a camera that says it is busy is waited for."""
    idle_s: float = 1.0
    """Between two looks at the events while nothing is asked: keeps the body awake and finds strays."""
    breath_s: float = 10.0
    """Between two questions that really go to the camera while nothing is asked: a frozen camera looks like a
    quiet one to a process that only listens."""
    live_idle_s: float = 120.0
    """Live view ends when nobody asked for a picture for so long: heat, battery."""
    taken_slack_s: float = 2.5
    """File times count whole seconds, and so does the clock they are compared with."""
    earliest_share: float = 0.9
    """A file that comes before this share of the exposure has passed cannot be of it. 0 where the camera's time
    runs faster than ours, as a simulated camera's can."""
    slowest_bytes_s: float = 1e6
    """A download slower than this hangs: a tenth of what USB 2 bodies reach at their worst."""
    rung_s: float = 0.5
    """Between two rungs of the reconnect ladder: a body that was just thrown out needs a moment to listen again."""


class CameraConfig(Struct, frozen=True):
    """Where the camera is and what is special about it.

    address: `usb` (the one that is found, or the one of this `model` and `serial`), `ptpip:HOST` or
    `ptpip:HOST:COMMANDS:EVENTS` (numeric IPv4, two TCP ports). widgets: names a widget for a role by hand (`roles`),
    in front of the usual candidates. environment: more variables for the worker process.
    """

    address: str = "usb"
    model: str = ""
    serial: str = ""
    widgets: dict[str, str] = {}
    environment: dict[str, str] = {}
    allow: Allowances = Allowances()


def port_path(address: str) -> str | None:
    """The library's name of the port that an address means; None for USB, where it has to be looked for.

    Raises:
        BadSetting: no such form of address, a host that is not numeric IPv4, or a port out of range.
    """
    if address == "usb":
        return None
    match = re.fullmatch(r"ptpip:([^:]+)(?::(\d{1,5}):(\d{1,5}))?", address)
    if not match:
        raise _bad(address, "It is none of the forms that are known.")
    host, commands, events = match.groups()
    ports = [int(port) for port in (commands, events) if port] or [DEFAULT_PTPIP_PORT] * 2
    if not all(0 < port < 65536 for port in ports):
        raise _bad(address, "A port lies between 1 and 65535.")
    try:
        IPv4Address(host)
    except AddressValueError:
        raise _bad(address, f"{host} is not a numeric IPv4 address, and the library takes no other.") from None
    return f"ptpip:{host}:{ports[0]}:{ports[1]}" if commands else f"ptpip:{host}"


def _bad(address: str, why: str) -> BadSetting:
    return BadSetting(
        f"The camera address {address!r} does not fit.", why, "Write usb, or ptpip:HOST, or ptpip:HOST:CMD:EVT."
    )
