"""The datasets of PTP as frozen values that know their bytes (ISO 15740)."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from rigd_sim.camera import pack
from rigd_sim.camera.codes import DataType, Form
from rigd_sim.camera.pack import Value

STANDARD_VERSION = 110  # PTP 1.1, which brings the streams that live view uses
VENDOR_EXTENSION = 0  # none: an initiator must then keep to the standard


@dataclass(frozen=True)
class DeviceInfo:
    operations: tuple[int, ...]
    events: tuple[int, ...]
    properties: tuple[int, ...]
    capture_formats: tuple[int, ...]
    image_formats: tuple[int, ...]
    manufacturer: str
    model: str
    version: str
    serial: str

    def encode(self) -> bytes:
        head = pack.u16(STANDARD_VERSION) + pack.u32(VENDOR_EXTENSION) + pack.u16(0) + pack.string("")
        mode = pack.u16(0)  # functional mode: standard
        lists = (self.operations, self.events, self.properties, self.capture_formats, self.image_formats)
        names = (self.manufacturer, self.model, self.version, self.serial)
        return head + mode + b"".join(map(pack.array16, lists)) + b"".join(map(pack.string, names))


@dataclass(frozen=True)
class StorageInfo:
    capacity: int  # bytes
    free: int  # bytes
    free_pictures: int
    description: str
    label: str

    def encode(self) -> bytes:
        removable_ram, hierarchical, read_write = 4, 2, 0
        kinds = pack.u16(removable_ram) + pack.u16(hierarchical) + pack.u16(read_write)
        space = pack.u64(self.capacity) + pack.u64(self.free) + pack.u32(min(self.free_pictures, 0xFFFFFFFE))
        return kinds + space + pack.string(self.description) + pack.string(self.label)


@dataclass(frozen=True)
class ObjectInfo:
    storage: int
    format: int
    size: int  # bytes
    name: str
    taken: datetime
    parent: int = 0
    width: int = 0  # px
    height: int = 0
    depth: int = 0  # bits a pixel
    thumb_size: int = 0  # bytes
    thumb_width: int = 0
    thumb_height: int = 0
    thumb_format: int = 0
    sequence: int = 0
    association: int = 0

    def encode(self) -> bytes:
        protection = 0
        head = pack.u32(self.storage) + pack.u16(self.format) + pack.u16(protection)
        numbers = (
            min(self.size, 0xFFFFFFFF),
            (self.thumb_format, self.thumb_size, self.thumb_width, self.thumb_height),
            (self.width, self.height, self.depth, self.parent),
        )
        thumb_format, *thumb = numbers[1]
        body = pack.u32(numbers[0]) + pack.u16(thumb_format) + b"".join(map(pack.u32, (*thumb, *numbers[2])))
        place = pack.u16(self.association) + pack.u32(0) + pack.u32(self.sequence)
        moment = pack.string(pack.timestamp(self.taken))
        return head + body + place + pack.string(self.name) + moment + moment + pack.string("")


@dataclass(frozen=True)
class StreamInfo:
    """What GetStreamInfo says of the one video stream: 36 bytes, the least that libgphoto2 takes."""

    frame_max: int  # bytes

    def encode(self) -> bytes:
        nanoseconds = 1_000_000_000  # time resolution: one second over this
        sizes = (0, self.frame_max, 0, self.frame_max, 1)  # no headers; a frame is a packet; byte aligned
        return pack.u64(36) + pack.u64(nanoseconds) + b"".join(map(pack.u32, sizes))


@dataclass(frozen=True)
class Range:
    low: int
    high: int
    step: int


@dataclass(frozen=True)
class PropertyDescription:
    code: int
    kind: DataType
    writable: bool
    factory: Value
    current: Value
    range: Range | None = None
    choices: tuple[Value, ...] = field(default=())

    def encode(self) -> bytes:
        head = pack.u16(self.code) + pack.u16(self.kind) + bytes([self.writable])
        values = pack.value(self.kind, self.factory) + pack.value(self.kind, self.current)
        return head + values + self._form()

    def _form(self) -> bytes:
        if self.range is not None:
            bounds = (self.range.low, self.range.high, self.range.step)
            return bytes([Form.RANGE]) + b"".join(pack.value(self.kind, bound) for bound in bounds)
        if self.choices:
            items = b"".join(pack.value(self.kind, choice) for choice in self.choices)
            return bytes([Form.ENUMERATION]) + pack.u16(len(self.choices)) + items
        return bytes([Form.NONE])
