"""From an address to a port of the library and the library's name of the model."""

from __future__ import annotations

from typing import Any

import gphoto2 as gp
from msgspec import Struct

from rigd.drivers.camera.config import CameraConfig, port_path
from rigd.drivers.camera.faults import POWER
from rigd.errors import CameraMissing

TCP_MODEL = "PTP/IP Camera"  # the library's name for any body that speaks PTP over TCP


class Place(Struct, frozen=True):
    model: str
    port: str


def places(config: CameraConfig) -> list[Place]:
    """Where the camera may be, likely ones first. Looks over the USB bus only when the address says so.

    Raises:
        BadSetting: the address does not fit.
        CameraMissing: nothing (or nothing of this model) is on the bus.
    """
    port = port_path(config.address)
    if port is not None:
        return [Place(TCP_MODEL, port)]
    found = _on_the_bus()
    fitting = [place for place in found if config.model.lower() in place.model.lower()]
    if not fitting:
        seen = ", ".join(place.model for place in found)
        raise CameraMissing(
            f"No camera {config.model} is on USB." if config.model else "No camera is on USB.",
            f"Found there: {seen}." if seen else "",
            POWER,
        )
    return fitting


def _on_the_bus() -> list[Place]:
    cameras = gp.Camera.autodetect()
    listed = [Place(cameras.get_name(i), cameras.get_value(i)) for i in range(cameras.count())]
    # A bare "usb:" entry stands for the same body as the one with bus and device number.
    return [place for place in listed if place.port.startswith("usb:") and len(place.port) > len("usb:")]


def node_of(port: str) -> str | None:
    """The device file of a USB port; None for other ports."""
    kind, _, where = port.partition(":")
    bus, _, device = where.partition(",")
    if kind != "usb" or not (bus.isdigit() and device.isdigit()):
        return None
    return f"/dev/bus/usb/{bus}/{device}"


def reset_port(port: str) -> bool:
    """Reset the USB device behind a port; False where that cannot be done."""
    if not port.startswith("usb:"):
        return False
    ports = gp.PortInfoList()
    ports.load()
    handle: Any = gp.check_result(gp.gp_port_new())
    try:
        gp.check_result(gp.gp_port_set_info(handle, ports[ports.lookup_path(port)]))
        gp.check_result(gp.gp_port_open(handle))
        gp.check_result(gp.gp_port_reset(handle))
        gp.check_result(gp.gp_port_close(handle))
    except gp.GPhoto2Error:
        return False
    return True
