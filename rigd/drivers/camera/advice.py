"""What `rigd check` says about the camera: facts judged, each with a status and one sentence. No camera here."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterable
from typing import Literal

from msgspec import Struct

from rigd.drivers.camera import menus
from rigd.drivers.camera.readings import Facts, Widget
from rigd.drivers.camera.roles import ROLES, Role
from rigd.drivers.camera.usb import Node, nodes
from rigd.errors import CameraError

Status = Literal["ok", "attend", "unknown"]

ENOUGH_FRAMES = 200  # room on a card or disk under which the operator is warned: about sixteen rolls of twelve
ENOUGH_BATTERY_PCT = 30  # live view and an open shutter take a full battery in some hours; change it before the job
CLOCK_SLACK_S = 60.0  # the date in the files is part of the record; the comparison with ours is made anyway


class RoleLine(Struct, frozen=True):
    """One setting by role. `widget` empty where the camera has none that fits."""

    role: str
    widget: str = ""
    value: str = ""
    readable: bool = False
    writable: bool = False
    choices: int = 0


class Advice(Struct, frozen=True):
    """One thing that should be so. `found` what the camera shows; `say` one sentence for the operator."""

    topic: str
    status: Status
    found: str
    say: str


class Survey(Struct, frozen=True):
    """The camera before a job. Where it was not found, `problem` holds what, why and remedy."""

    found: bool
    address: str
    model: str = ""
    serial: str = ""
    port: str = ""
    roles: tuple[RoleLine, ...] = ()
    advice: tuple[Advice, ...] = ()
    nodes: tuple[Node, ...] = ()
    problem: tuple[str, str, str] | None = None


def unfound(address: str, error: CameraError) -> Survey:
    """The survey of a camera that cannot be opened, with what can be seen of it on USB."""
    return Survey(False, address, nodes=_nodes(address), problem=(error.what, error.why, error.remedy))


def surveyed(address: str, facts: Facts) -> Survey:
    """The survey of an open camera."""
    lines = tuple(_line(role, facts.widgets.get(role)) for role in ROLES)
    return Survey(True, address, facts.model, facts.serial, facts.port, lines, advise(facts), _nodes(address))


def _nodes(address: str) -> tuple[Node, ...]:
    return nodes() if address == "usb" else ()


def _line(role: Role, widget: Widget | None) -> RoleLine:
    if widget is None:
        return RoleLine(role)
    return RoleLine(
        role, widget.name, widget.value or "", widget.value is not None, widget.writable, len(widget.choices)
    )


def advise(facts: Facts) -> tuple[Advice, ...]:
    """Every line, in the order in which an operator would go through them."""
    told = [line for rule in _SETTINGS for line in _by_rule(rule, facts.widgets.get(rule.role))]
    return (*told, _raw(facts), _battery(facts.widgets.get("battery")), _room(facts), _clock(facts))


class _Rule(Struct, frozen=True):
    """A setting that should show one of some words. `optional`: not worth a line where the camera has none."""

    topic: str
    role: Role
    good: str
    fine: str
    attend: str
    ask: str
    optional: bool = False


_OFF = r"off|0|no|none|disabled?"

_SETTINGS: tuple[_Rule, ...] = (
    _Rule(
        "manual exposure", "mode", r"m|manual.*",
        "Exposure is manual.", "Turn the mode dial to manual: the camera must not choose the exposure.",
        "Check that the mode dial stands on manual.",
    ),
    _Rule(
        "manual focus", "focus", r"m|mf.*|manual.*",
        "Focus is manual.", "Switch to manual focus: refocusing between frames changes scale and sharpness.",
        "Check that the lens is on manual focus.",
    ),
    _Rule(
        "automatic sensitivity", "auto_iso", _OFF,
        "Automatic sensitivity is off.", "Switch automatic sensitivity off.", "", optional=True,
    ),
    _Rule(
        "stabiliser", "stabiliser", _OFF,
        "The stabiliser is off.", "Switch the stabiliser off: on a stand it moves the picture.",
        "Check that the stabiliser of body and lens is off.",
    ),
    _Rule(
        "self-timer", "drive", r"(?!.*(timer|remote)).+",
        "No self-timer.", "Switch the self-timer off: rigd waits for stillness by itself.",
        "Check that the self-timer is off.",
    ),
    _Rule(
        "long-exposure noise reduction", "long_exposure_noise", _OFF,
        "Long-exposure noise reduction is off.", "Switch it off: it doubles the time of every long exposure.",
        "Check that long-exposure noise reduction is off.",
    ),
    _Rule(
        "mirror lock-up", "mirror", _OFF,
        "Mirror lock-up is off.", "Switch mirror lock-up off: it asks for a second release.", "", optional=True,
    ),
    _Rule(
        "exposure delay", "exposure_delay", r".+",
        "A delay between mirror and shutter is allowed for.", "", "", optional=True,
    ),
    _Rule(
        "sleep", "sleep", _OFF,
        "The camera does not go to sleep.", "Switch automatic power-off off; rigd keeps the camera awake as it can.",
        "Check that automatic power-off is off.",
    ),
    _Rule(
        "place for pictures", "target", r".*card.*",
        "Pictures go to the memory card.", "Let pictures go to the memory card: it is the second copy.", "",
        optional=True,
    ),
)  # fmt: skip


def _by_rule(rule: _Rule, widget: Widget | None) -> Iterable[Advice]:
    value = (widget.value or "") if widget else ""
    if not value:
        return [] if rule.optional else [Advice(rule.topic, "unknown", "", rule.ask)]
    good = re.fullmatch(rule.good, value.strip(), re.IGNORECASE)
    return [Advice(rule.topic, "ok" if good else "attend", value, rule.fine if good else rule.attend)]


def _raw(facts: Facts) -> Advice:
    """Raw, and uncompressed or losslessly compressed."""
    topic, ask = "raw format", "Check that the camera writes raw files, uncompressed or losslessly compressed."
    kind, packing = (_value(facts, role).lower() for role in ("format", "compression"))
    found = ", ".join(filter(None, (kind, packing)))
    if kind and "raw" not in kind:
        return Advice(topic, "attend", found, "Set the camera to write raw files.")
    if re.search(r"lossless|uncompressed", f"{kind} {packing}"):
        return Advice(topic, "ok", found, "Raw files, and nothing is lost in them.")
    if packing:
        return Advice(topic, "attend", found, "Set raw files to uncompressed or losslessly compressed.")
    return Advice(topic, "unknown", found, ask)


def _value(facts: Facts, role: Role) -> str:
    widget = facts.widgets.get(role)
    return (widget.value or "") if widget else ""


def _battery(widget: Widget | None) -> Advice:
    value = (widget.value or "") if widget else ""
    left = menus.percent(value)
    if left is None:
        return Advice("battery", "unknown", value, "Check the battery, or use mains power.")
    enough = left >= ENOUGH_BATTERY_PCT
    return Advice("battery", "ok" if enough else "attend", f"{left} %", "Enough." if enough else "Change the battery.")


def _room(facts: Facts) -> Advice:
    """Room on the card in frames: the camera's own estimate, else free bytes over its largest file."""
    room = facts.rooms[0] if facts.rooms else None
    frames = room.free_frames if room else None
    if room and frames is None and room.free_bytes is not None and facts.largest_bytes:
        frames = room.free_bytes // facts.largest_bytes
    if frames is None:
        found = f"{room.free_bytes // 10**6} MB" if room and room.free_bytes is not None else ""
        return Advice("card room", "unknown", found, "Check that the card has room for the job.")
    enough = frames >= ENOUGH_FRAMES
    say = "Enough." if enough else "Put in a larger card: it keeps every frame until the roll is safe."
    return Advice("card room", "ok" if enough else "attend", f"{frames} frames", say)


def _clock(facts: Facts, zone_s: Callable[[], float] = lambda: time.localtime().tm_gmtoff) -> Advice:
    """The camera's clock against this machine's local time."""
    if facts.clock_offset_s is None:
        return Advice("clock", "unknown", "", "Check the camera's date and time.")
    off = facts.clock_offset_s - zone_s()
    found = f"{abs(off):.0f} s {'ahead' if off > 0 else 'behind'}"
    if abs(off) <= CLOCK_SLACK_S:
        return Advice("clock", "ok", found, "Date and time are right.")
    return Advice("clock", "attend", found, "Set the camera's date and time: they are written into every file.")
