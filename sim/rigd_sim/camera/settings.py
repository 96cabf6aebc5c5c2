"""The device properties of the simulated body: their types, choices, present values and what a set may do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from rigd_sim.camera import pack
from rigd_sim.camera.codes import DataType, Prop, Response
from rigd_sim.camera.datasets import PropertyDescription, Range
from rigd_sim.camera.pack import Value
from rigd_sim.camera.scales import APERTURE, EXPOSURE_BIAS, ISO, SHUTTER

MANUAL = 1  # of the focus mode and of the exposure program alike
AUTOMATIC = 2  # focus mode
APERTURE_PRIORITY = 3  # exposure program: the body chooses the shutter time


class Refused(Exception):
    """A property operation fails with this PTP response code."""

    def __init__(self, code: Response) -> None:
        super().__init__(code.name)
        self.code = code


@dataclass(frozen=True)
class Live:
    """A property whose value lies elsewhere: read by `get`, written by `set` (None: read only)."""

    get: Callable[[], Value]
    set: Callable[[Value], None] | None = None


class Settings:
    """The property table. Values are kept valid: a set outside of the form is refused, as bodies do."""

    def __init__(self, properties: list[PropertyDescription], live: dict[int, Live]) -> None:
        self._table = {described.code: described for described in properties}
        self._live = live

    @property
    def codes(self) -> tuple[int, ...]:
        return tuple(self._table)

    def describe(self, code: int) -> PropertyDescription:
        """The description with its present value. Raises Refused."""
        if code not in self._table:
            raise Refused(Response.DEVICE_PROP_NOT_SUPPORTED)
        described = self._table[code]
        if code in self._live:
            return replace(described, current=self._live[code].get())
        return described

    def value(self, code: int) -> Value:
        return self.describe(code).current

    def number(self, code: int) -> int:
        return int(self.value(code))

    def write(self, code: int, data: bytes) -> None:
        """What SetDevicePropValue does. Raises Refused with the response code."""
        described = self.describe(code)
        if not described.writable:
            raise Refused(Response.ACCESS_DENIED)
        try:
            content = pack.parse_value(described.kind, data)
        except pack.PackError:
            raise Refused(Response.INVALID_DEVICE_PROP_FORMAT) from None
        if not _fits(described, content):
            raise Refused(Response.INVALID_DEVICE_PROP_VALUE)
        try:
            self.force(code, content)
        except pack.PackError:
            raise Refused(Response.INVALID_DEVICE_PROP_VALUE) from None

    def force(self, code: int, content: Value) -> None:
        """Change a value as a dial or the body itself would, whatever the form says."""
        live = self._live.get(code)
        if live is None:
            self._table[code] = replace(self.describe(code), current=content)
        elif live.set is not None:
            live.set(content)
        else:
            raise Refused(Response.ACCESS_DENIED)


def _fits(described: PropertyDescription, content: Value) -> bool:
    if described.choices:
        return content in described.choices
    if described.range is not None:
        return described.range.low <= int(content) <= described.range.high
    return True


def _menu(code: Prop, kind: DataType, value: Value, choices: tuple[Value, ...]) -> PropertyDescription:
    return PropertyDescription(code, kind, True, value, value, choices=choices)


def _fixed(code: Prop, kind: DataType, value: Value) -> PropertyDescription:
    return PropertyDescription(code, kind, False, value, value, choices=(value,))


def body_properties(width: int, height: int) -> list[PropertyDescription]:
    """The table of a body with a sensor of width x height px, as it leaves the factory."""
    u16 = DataType.UINT16
    percent = Range(0, 100, 1)
    return [
        PropertyDescription(Prop.BATTERY_LEVEL, DataType.UINT8, False, 100, 100, percent),
        _fixed(Prop.IMAGE_SIZE, DataType.STRING, f"{width}x{height}"),
        _menu(Prop.F_NUMBER, u16, 800, APERTURE),
        _menu(Prop.FOCUS_MODE, u16, MANUAL, (MANUAL, AUTOMATIC)),
        _menu(Prop.EXPOSURE_TIME, DataType.UINT32, 80, tuple(SHUTTER)),
        _menu(Prop.EXPOSURE_PROGRAM, u16, MANUAL, (MANUAL, APERTURE_PRIORITY)),
        _menu(Prop.EXPOSURE_INDEX, u16, 100, ISO),
        _menu(Prop.EXPOSURE_BIAS, DataType.INT16, 0, EXPOSURE_BIAS),
        PropertyDescription(Prop.DATE_TIME, DataType.STRING, True, "", ""),
        _menu(Prop.STILL_CAPTURE_MODE, u16, 1, (1,)),
        PropertyDescription(Prop.SUPPORTED_STREAMS, DataType.UINT32, False, 1, 1),
        PropertyDescription(Prop.ENABLED_STREAMS, DataType.UINT32, True, 0, 0, Range(0, 1, 1)),
        _fixed(Prop.VIDEO_FORMAT, DataType.UINT32, int.from_bytes(b"MJPG", "little")),
    ]
