"""What the worker reads off a camera, before anybody judges it."""

from __future__ import annotations

from msgspec import Struct


class Widget(Struct, frozen=True):
    """One setting as the library shows it. `value` as text (toggles: `0` or `1`; dates: seconds since 1970);
    None where the camera shows none. `choices` is empty where there is no menu."""

    name: str
    label: str
    value: str | None
    choices: tuple[str, ...] = ()
    writable: bool = False


class Room(Struct, frozen=True):
    """One memory card. `free_frames` is the camera's own estimate, where it makes one."""

    name: str
    free_bytes: int | None
    free_frames: int | None
    total_bytes: int | None = None
    writable: bool = True


class Facts(Struct, frozen=True):
    """Everything the survey judges. `widgets` by role; `largest_bytes` of the files on the card, if any."""

    model: str
    serial: str
    port: str
    widgets: dict[str, Widget]
    rooms: tuple[Room, ...] = ()
    largest_bytes: int | None = None
    clock_offset_s: float | None = None
    live_view: bool = False
