"""One user of libgphoto2, in a process of its own: takes orders as JSON lines, gives results as JSON lines.

The C library closes descriptor 0 whenever a camera is left, so the orders come over a copy of it.
"""

import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import gphoto2 as gp

EVENTS = {
    gp.GP_EVENT_UNKNOWN: "unknown",
    gp.GP_EVENT_TIMEOUT: "timeout",
    gp.GP_EVENT_FILE_ADDED: "file",
    gp.GP_EVENT_FOLDER_ADDED: "folder",
    gp.GP_EVENT_CAPTURE_COMPLETE: "complete",
    gp.GP_EVENT_FILE_CHANGED: "changed",
}


def fill_zero() -> None:
    """Put something harmless on descriptor 0, so that no file of ours lands there and gets closed."""
    null = os.open(os.devnull, os.O_RDONLY)
    if null != 0:
        os.dup2(null, 0)
        os.close(null)


class User:
    """The connection, the settings and the shutter."""

    def __init__(self, address: str) -> None:
        self._address = address
        self._texts: list[str] = []
        self.context = gp.Context()
        self._callback = self.context.set_error_func(self._note, None)
        self.fresh()

    def texts(self) -> list[str]:
        """What the library said of errors since last asked."""
        texts, self._texts = self._texts, []
        return texts

    def _note(self, context: object, text: bytes, data: object) -> None:
        self._texts.append(text.decode())

    def fresh(self) -> None:
        self.camera = gp.Camera()
        abilities = gp.CameraAbilitiesList()
        abilities.load(self.context)
        self.camera.set_abilities(abilities[abilities.lookup_model("PTP/IP Camera")])
        ports = gp.PortInfoList()
        ports.load()
        self.camera.set_port_info(ports[ports.lookup_path("ptpip:" + self._address)])

    def init(self) -> None:
        self.camera.init(self.context)

    def exit(self) -> None:
        try:
            self.camera.exit(self.context)
        finally:
            fill_zero()

    def names(self) -> list[str]:
        root = self.camera.get_config(self.context)
        return _leaves(root)

    def get(self, name: str) -> dict[str, object]:
        widget = self.camera.get_single_config(name, self.context)
        kind = widget.get_type()
        menu = kind in (gp.GP_WIDGET_RADIO, gp.GP_WIDGET_MENU)
        choices = [widget.get_choice(i) for i in range(widget.count_choices())] if menu else []
        return {"value": widget.get_value(), "choices": choices, "readonly": bool(widget.get_readonly())}

    def set(self, name: str, value: object) -> None:
        widget = self.camera.get_single_config(name, self.context)
        widget.set_value(value)
        self.camera.set_single_config(name, widget, self.context)

    def trigger(self) -> None:
        self.camera.trigger_capture(self.context)

    def events(self, until: str, seconds: float) -> list[list[str]]:
        """What comes until an event of that kind has come or the time is over; time-outs are left out."""
        end, seen = time.monotonic() + seconds, []
        while time.monotonic() < end:
            kind, data = self.camera.wait_for_event(10, self.context)
            name = EVENTS[kind]
            if name == "timeout":
                time.sleep(0.002)
                continue
            seen.append([name, f"{data.folder}/{data.name}" if name in ("file", "folder") else str(data)])
            if name == until:
                break
        return seen

    def waits(self, count: int) -> list[str]:
        """The kinds of so many plain waits."""
        return [EVENTS[self.camera.wait_for_event(10, self.context)[0]] for _ in range(count)]


class Files:
    """What lies on the camera, and what it sees."""

    def __init__(self, user: User) -> None:
        self._user = user

    @property
    def _camera(self) -> gp.Camera:
        return self._user.camera

    @property
    def _context(self) -> gp.Context:
        return self._user.context

    def download(self, path: str, to: str) -> int:
        """Through a descriptor, as the daemon does; the library closes the copy. The size on disk."""
        folder, name = path.rsplit("/", 1)
        with Path(to).open("wb") as file:
            target = gp.check_result(gp.gp_file_new_from_fd(os.dup(file.fileno())))
            # The file is handed in and filled; the wrapper's newer form cannot be given a descriptor.
            gp.check_result(
                gp.gp_camera_file_get(self._camera, folder, name, gp.GP_FILE_TYPE_NORMAL, target, self._context)
            )
            del target
            return os.fstat(file.fileno()).st_size

    def thumb(self, path: str, to: str) -> int:
        folder, name = path.rsplit("/", 1)
        file = self._camera.file_get(folder, name, gp.GP_FILE_TYPE_PREVIEW)
        return _write(file, to)

    def preview(self, to: str) -> int:
        return _write(self._camera.capture_preview(), to)

    def info(self, path: str) -> dict[str, object]:
        info = self._camera.file_get_info(*path.rsplit("/", 1), self._context)
        file = info.file
        return {"size": file.size, "type": file.type, "width": file.width, "height": file.height, "mtime": file.mtime}

    def delete(self, path: str) -> None:
        self._camera.file_delete(*path.rsplit("/", 1), self._context)

    def files(self, folder: str) -> list[str]:
        listed = self._camera.folder_list_files(folder, self._context)
        return [listed.get_name(i) for i in range(listed.count())]

    def folders(self, folder: str) -> list[str]:
        listed = self._camera.folder_list_folders(folder, self._context)
        return [listed.get_name(i) for i in range(listed.count())]

    def storage(self) -> list[dict[str, object]]:
        stores = self._camera.get_storageinfo(self._context)
        fields = ("basedir", "label", "description", "capacitykbytes", "freekbytes", "freeimages")
        return [{field: getattr(store, field) for field in fields} for store in stores]

    def summary(self) -> str:
        return str(self._camera.get_summary(self._context))


def _leaves(widget: gp.CameraWidget) -> list[str]:
    if widget.get_type() not in (gp.GP_WIDGET_WINDOW, gp.GP_WIDGET_SECTION):
        return [widget.get_name()]
    return [name for i in range(widget.count_children()) for name in _leaves(widget.get_child(i))]


def _write(file: gp.CameraFile, to: str) -> int:
    view = memoryview(file.get_data_and_size())
    return Path(to).write_bytes(view)


def answer(function: Callable[..., object], args: dict[str, object]) -> dict[str, object]:
    start = time.monotonic()
    try:
        reply: dict[str, object] = {"ok": True, "result": function(**args)}
    except gp.GPhoto2Error as error:
        reply = {"ok": False, "code": error.code}
    return reply | {"seconds": time.monotonic() - start}


def main(address: str) -> None:
    orders = os.fdopen(os.dup(0), "r")
    fill_zero()
    user = User(address)
    files = Files(user)
    for line in orders:
        order = json.loads(line)
        able = user if hasattr(user, order["do"]) else files
        reply = answer(getattr(able, order["do"]), order["args"])
        print(json.dumps(reply | {"texts": user.texts()}), flush=True)


if __name__ == "__main__":
    main(sys.argv[1])
