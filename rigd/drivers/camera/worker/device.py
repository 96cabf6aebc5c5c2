"""The library's camera object, one call a method, its errors caught. The thinnest layer; it decides nothing."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any, Literal

import gphoto2 as gp
from msgspec import Struct

from rigd.drivers.camera.faults import Fault, is_busy
from rigd.drivers.camera.readings import Room, Widget
from rigd.model.values import CardFile

_MENUS = (gp.GP_WIDGET_MENU, gp.GP_WIDGET_RADIO)
_HOLLOW = (gp.GP_WIDGET_WINDOW, gp.GP_WIDGET_SECTION, gp.GP_WIDGET_BUTTON)
EVENT_WAIT_MS = 1  # over TCP the library ignores it and returns after about 1 ms; over USB it must not delay a shot

STORE_FULL = "Event 400a"  # PTP event "store full" (ISO 15740), which the library hands on as a text
Stage = Literal["", "open", "read", "copy"]


class Trouble(Exception):
    """A call into the library failed."""

    def __init__(self, fault: Fault, words: str = "") -> None:
        super().__init__(f"{fault.doing}: {fault.code} {words}")
        self.fault = fault
        self.words = words


class Event(Struct, frozen=True):
    """One thing the camera said. `folder` and `name` of a new file."""

    kind: Literal["none", "file", "complete", "full", "other"]
    folder: str = ""
    name: str = ""


class Device:
    """One opened camera. Every method raises Trouble."""

    def __init__(self) -> None:
        self._context = gp.Context()
        self._texts: list[str] = []
        # The callback lives as long as this object is kept.
        self._callback = self._context.set_error_func(self._hear, None)
        self._camera: Any = None
        self.port = ""

    def _hear(self, _context: object, text: str | bytes, _data: object) -> None:
        self._texts.append(text.decode("utf-8", "replace") if isinstance(text, bytes) else text)

    @contextmanager
    def _calling(self, doing: str, stage: Stage = "") -> Iterator[None]:
        self._texts.clear()
        try:
            yield
        except gp.GPhoto2Error as error:
            raise Trouble(Fault(doing, error.code, tuple(self._texts), stage=stage), error.string) from error

    def open(self, model: str, port: str) -> None:
        """Open the body of this `model` (the library's name of it) at this port."""
        with self._calling("connecting to the camera", "open"):
            ports = gp.PortInfoList()
            ports.load()
            abilities = gp.CameraAbilitiesList()
            abilities.load(self._context)
            camera = gp.Camera()
            camera.set_abilities(abilities[abilities.lookup_model(model)])
            camera.set_port_info(ports[ports.lookup_path(port)])
            self.port = port
            try:
                camera.init(self._context)
            finally:
                keep_descriptor_zero()
            self._camera = camera

    def exit(self) -> None:
        """Leave the camera. Never raises: there is nothing to be done about it."""
        camera, self._camera = self._camera, None
        if camera is None:
            return
        try:
            camera.exit(self._context)
        except gp.GPhoto2Error:
            pass
        finally:
            keep_descriptor_zero()

    def previews(self) -> bool:
        """Whether the library knows how to get live pictures from this model."""
        with self._calling("asking for abilities"):
            return bool(self._camera.get_abilities().operations & gp.GP_OPERATION_CAPTURE_PREVIEW)

    def settings(self) -> frozenset[str]:
        """Names of all settings; some of them may turn out not to be readable. Asks the camera nothing."""
        with self._calling("listing the settings", "read"):
            listed = self._camera.list_config(self._context)
            return frozenset(listed.get_name(index) for index in range(listed.count()))

    def read(self, name: str) -> Widget:
        """One setting, fresh. A camera that is busy or frozen, and a name that there is not, fail alike."""
        with self._calling(f"reading {name}", "read"):
            return _described(name, self._camera.get_single_config(name, self._context))

    def write(self, name: str, value: str) -> None:
        """Set one setting; the camera's OK proves nothing."""
        with self._calling(f"setting {name} to {value}"):
            widget = self._camera.get_single_config(name, self._context)
            widget.set_value(int(value) if widget.get_type() == gp.GP_WIDGET_TOGGLE else value)
            self._camera.set_single_config(name, widget, self._context)

    def trigger(self) -> None:
        """Release the shutter once, without waiting for the picture."""
        with self._calling("taking the picture"):
            self._camera.trigger_capture(self._context)

    def event(self) -> Event:
        """The next event, or kind `none` after about a millisecond, also where the camera is too busy to say."""
        try:
            with self._calling("waiting for the camera"):
                kind, data = self._camera.wait_for_event(EVENT_WAIT_MS, self._context)
        except Trouble as trouble:
            if is_busy(trouble.fault):
                return Event("none")
            raise
        if kind == gp.GP_EVENT_FILE_ADDED:
            return Event("file", data.folder, data.name)
        if kind == gp.GP_EVENT_TIMEOUT:
            return Event("none")
        if kind == gp.GP_EVENT_CAPTURE_COMPLETE:
            return Event("complete")
        return Event("full" if isinstance(data, str) and STORE_FULL in data else "other")

    def info(self, folder: str, name: str) -> CardFile:
        """What the camera says of one file."""
        with self._calling(f"asking about {name}"):
            info = self._camera.file_get_info(folder, name, self._context).file
        size = info.size if info.fields & gp.GP_FILE_INFO_SIZE else None
        taken = datetime.fromtimestamp(info.mtime, UTC) if info.fields & gp.GP_FILE_INFO_MTIME else None
        return CardFile(folder, name, size, taken.replace(tzinfo=None).isoformat() if taken else None)

    def names(self, folder: str, what: Literal["files", "folders"]) -> list[str]:
        """Names of what lies in a folder of the card."""
        with self._calling("listing the card"):
            camera = self._camera
            listed = camera.folder_list_files if what == "files" else camera.folder_list_folders
            found = listed(folder, self._context)
            return [found.get_name(index) for index in range(found.count())]

    def copy(self, folder: str, name: str, descriptor: int) -> None:
        """Write a file into an open descriptor, which stays open."""
        with self._calling(f"fetching {name}", "copy"):
            # The library closes the descriptor that it was given when the file object goes.
            file = gp.check_result(gp.gp_file_new_from_fd(os.dup(descriptor)))
            gp.check_result(
                gp.gp_camera_file_get(self._camera, folder, name, gp.GP_FILE_TYPE_NORMAL, file, self._context)
            )

    def delete(self, folder: str, name: str) -> None:
        with self._calling(f"deleting {name}"):
            self._camera.file_delete(folder, name, self._context)

    def preview(self) -> bytes:
        """One live picture."""
        with self._calling("taking a live picture"):
            file = self._camera.capture_preview(None, self._context)
            # The view dies with the file object: copy.
            return bytes(file.get_data_and_size())

    def rooms(self) -> tuple[Room, ...]:
        """The camera's cards. The one question that always goes to the camera and changes nothing there."""
        with self._calling("asking for the card's room"):
            return tuple(map(_room, self._camera.get_storageinfo(self._context)))


def _described(name: str, widget: Any) -> Widget:
    kind = widget.get_type()
    if kind in _HOLLOW:
        return Widget(name, widget.get_label(), None)
    value = widget.get_value()
    choices = tuple(map(str, widget.get_choices())) if kind in _MENUS else ()
    return Widget(name, widget.get_label(), None if value is None else str(value), choices, not widget.get_readonly())


def _room(store: Any) -> Room:
    def field(flag: int, value: Callable[[], int]) -> int | None:
        return value() if store.fields & flag else None

    free = field(gp.GP_STORAGEINFO_FREESPACEKBYTES, lambda: store.freekbytes)
    total = field(gp.GP_STORAGEINFO_MAXCAPACITY, lambda: store.capacitykbytes)
    return Room(
        store.label or store.description or store.basedir,
        None if free is None else free * 1024,
        field(gp.GP_STORAGEINFO_FREESPACEIMAGES, lambda: store.freeimages),
        None if total is None else total * 1024,
        not store.fields & gp.GP_STORAGEINFO_ACCESS or store.access == gp.GP_STORAGEINFO_AC_READWRITE,
    )


def keep_descriptor_zero() -> None:
    """Put /dev/null back on descriptor 0, which the library closes when it leaves a camera over TCP: the next file
    opened would become 0, and be closed by the next exit."""
    try:
        os.fstat(0)
    except OSError:
        null = os.open(os.devnull, os.O_RDWR)
        if null != 0:
            os.dup2(null, 0)
            os.close(null)
