"""Opening a body and reading what it is and offers."""

from __future__ import annotations

import time
from collections.abc import Mapping

from msgspec.structs import replace

from rigd.drivers.camera import menus
from rigd.drivers.camera.config import CameraConfig
from rigd.drivers.camera.readings import Facts, Room, Widget
from rigd.drivers.camera.roles import Role
from rigd.drivers.camera.worker import card
from rigd.drivers.camera.worker.device import Device, Trouble
from rigd.drivers.camera.worker.locate import places
from rigd.drivers.camera.worker.panel import Panel
from rigd.errors import CameraError, CameraMissing
from rigd.ports import Body

Found = Mapping[Role, Widget] | Mapping[str, Widget]


def open_body(device: Device, panel: Panel, config: CameraConfig, serial: str) -> tuple[str, Found]:
    """Open the one body that is meant; its model name and its settings by role.

    Raises:
        CameraMissing: none, not the right one, or several that fit.
        Trouble: what the library said of the only place where it could be.
    """
    wanted, candidates = serial or config.serial, places(config)
    if len(candidates) > 1 and not wanted:
        raise CameraMissing(
            "More than one camera is connected.", ", ".join(place.model for place in candidates),
            "Name the model or the serial number in the settings.",
        )  # fmt: skip
    others: list[str] = []
    for place in candidates:
        device.open(place.model, place.port)
        found = panel.find_all()
        model, seen = text(found, "model") or place.model, text(found, "serial")
        meant = config.model.lower() in f"{place.model} {model}".lower()
        if meant and (seen == wanted or not wanted):
            return model, found
        others.append(f"{model} {seen}")
        device.exit()
    raise CameraMissing(
        f"The camera {config.model} {wanted} does not answer.".replace("  ", " "),
        f"Here is {', '.join(others)}.",
        "Connect that camera, or begin a set-up with this one.",
    )


def text(found: Found, role: Role) -> str:
    """The value of a role as text, empty where there is none."""
    widget = found.get(role)
    return (widget.value or "").strip() if widget else ""


def gather(device: Device, model: str, found: Found) -> Facts:
    """Read the rest, and put it together."""
    return Facts(
        model, text(found, "serial"), device.port, dict(found.items()), _rooms(device),
        clock_offset_s=clock_offset(found), live_view=device.previews(),
    )  # fmt: skip


def body_of(facts: Facts, more_lacks: tuple[str, ...] = ()) -> Body:
    """What the daemon needs of the facts, and what is missing, in plain words."""
    widgets = facts.widgets
    shutters, apertures, isos = (
        menus.choices(widgets[role].choices if role in widgets else (), parse) for role, parse in _MENUS
    )
    battery = menus.percent(text(widgets, "battery"))
    free = facts.rooms[0].free_bytes if facts.rooms else None
    body = Body(
        facts.model, facts.serial, shutters, apertures, isos, battery, free, facts.live_view, facts.clock_offset_s
    )
    return replace(body, lacks=(*_lacks(widgets, facts, body), *more_lacks))


_MENUS: tuple[tuple[Role, menus.Parse], ...] = (
    ("shutter", menus.seconds), ("aperture", menus.f_number), ("iso", menus.iso),
)  # fmt: skip


def _rooms(device: Device) -> tuple[Room, ...]:
    """The cards, the one that is written to first: as far as can be told, the first writable one."""
    try:
        return tuple(sorted(device.rooms(), key=lambda room: not room.writable))
    except Trouble:
        return ()


def largest(device: Device) -> int | None:
    """Bytes of the largest file on the card; None for an empty one. Goes through the whole card."""
    return max((item.bytes or 0 for item in card.listing(device)), default=0) or None


def clock_offset(found: Found) -> float | None:
    """The camera's date and time, read as if it were UTC, less ours in UTC, in seconds, good to half a second.

    A camera has no time zone: one that is set to the local time of UTC+2 is 7200 s ahead. The camera counts whole
    seconds, so on average it is half a second further than it says.
    """
    value = text(found, "clock")
    return float(value) + 0.5 - time.time() if value.lstrip("-").isdigit() else None


def _lacks(found: Found, facts: Facts, body: Body) -> tuple[str, ...]:
    def settable(role: Role) -> bool:
        return role in found and found[role].writable

    missing = {
        "the shutter time cannot be set": settable("shutter") and bool(body.shutters),
        "the aperture cannot be set": settable("aperture"),
        "the sensitivity cannot be set": settable("iso"),
        "it does not tell its battery": body.battery_pct is not None,
        "it does not tell its time": facts.clock_offset_s is not None,
        "it does not tell its card's room": body.card_free_bytes is not None,
        "it tells no serial number": bool(facts.serial),
        "no live pictures": body.live_view,
    }
    return tuple(lack for lack, there in missing.items() if not there)


def use_card(panel: Panel) -> tuple[str, ...]:
    """Let pictures go to the memory card, where the camera offers a choice: the second copy until the file is safe."""
    target = panel.read("target")
    if target is None:
        return ()
    cards = [choice for choice in target.choices if "card" in choice.lower()]
    if not cards or target.value in cards:
        return ()
    try:
        panel.set_label("target", "place for pictures", cards[0])
    except CameraError as error:
        return (f"pictures do not go to its card: {error.what}",)
    return ()
