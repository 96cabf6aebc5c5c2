"""The camera's settings by role: found, read, set and verified."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Mapping
from typing import NamedTuple

from rigd.drivers.camera import menus
from rigd.drivers.camera.faults import Fault, is_busy, is_lost, may_pass, translate
from rigd.drivers.camera.menus import Parse, choices, find
from rigd.drivers.camera.readings import Widget
from rigd.drivers.camera.roles import ESSENTIAL, ROLES, Role, candidates
from rigd.drivers.camera.worker.device import Device, Trouble
from rigd.errors import CameraLacks, CameraRefused
from rigd.ports import Choice


class Dial(NamedTuple):
    """How one exposure setting reads. doubling: stops for a factor of two in its number."""

    name: str
    parse: Parse
    doubling: float = 1.0


SHUTTER = Dial("shutter time", menus.seconds)
APERTURE = Dial("aperture", menus.f_number, 2.0)
ISO = Dial("sensitivity", menus.iso)

TRIES = 3  # of one setting: once for the set, once for a busy moment, once for good measure; then it is refused
LESS = 0.98  # entries are at least a tenth apart, so this is nearer to its own than to the one below
_STANDARD_TIME = re.compile(r"(\d+\.\d{4})s")  # how the library writes property 0x500D of ISO 15740
BREATH_S = 0.05  # between two tries: a body that is busy with its own menus needs some tens of milliseconds


class Panel:
    """Roles of one opened camera.

    Args:
        by_hand: widget names by role that come before the candidates.
        settle: takes in what the camera says after a set.
        patience_s: how long a camera that is too busy to show a setting is asked again.
    """

    def __init__(
        self, device: Device, by_hand: Mapping[str, str], settle: Callable[[], None], patience_s: float
    ) -> None:
        self._device, self._by_hand, self._settle, self._patience_s = device, by_hand, settle, patience_s
        self._names: dict[Role, str] = {}
        self._listed: frozenset[str] = frozenset()

    def find_all(self) -> dict[Role, Widget]:
        """Look for every role; what reads and writes first, else what reads."""
        self._listed = self._device.settings()
        until = time.monotonic() + self._patience_s
        found = {role: widget for role in ROLES if (widget := self._search(role, until)) is not None}
        self._names = {role: widget.name for role, widget in found.items()}
        return found

    def _search(self, role: Role, until: float) -> Widget | None:
        names = [name for name in candidates(role, self._by_hand) if name in self._listed]
        until = until if role in ESSENTIAL else 0.0
        readable = [widget for name in names if (widget := self._try_read(name, until)) is not None]
        with_value = [w for w in readable if w.value is not None]
        writable = [w for w in readable if w.writable]
        return next(iter([w for w in with_value if w.writable] or writable or with_value or readable), None)

    def _try_read(self, name: str, until: float) -> Widget | None:
        """A setting that is listed; None where it cannot be read although the camera answers."""
        try:
            return self._shown(name, until)
        except Trouble as trouble:
            if not may_pass(trouble.fault):
                raise
        self._device.rooms()
        return None

    def read(self, role: Role) -> Widget | None:
        """The widget of a role, fresh from the camera; None where there is none."""
        name = self._names.get(role)
        return self.named(name) if name else None

    def named(self, name: str) -> Widget | None:
        """The setting of this name; None where there is none."""
        return self._shown(name, time.monotonic() + self._patience_s) if name in self._listed else None

    def _shown(self, name: str, until: float) -> Widget:
        while True:
            try:
                return self._device.read(name)
            except Trouble as trouble:
                if not may_pass(trouble.fault) or time.monotonic() > until:
                    raise
            time.sleep(BREATH_S)

    def number(self, role: Role, parse: Parse) -> float | None:
        """The value of a role as a number, where it shows one."""
        widget = self.read(role)
        return None if widget is None or widget.value is None else parse(widget.value)

    def set_number(self, role: Role, dial: Dial, value: float, label: str = "") -> Choice:
        """Set a role to the menu's entry for `value`; the entry that is then in force.

        Raises:
            CameraLacks: no such setting, or no such entry in its menu.
            CameraRefused: it was set, and shows something else.
        """
        widget = self.read(role)
        menu = choices(widget.choices, dial.parse) if widget and widget.writable else ()
        if widget is None or not menu:
            raise CameraLacks(
                f"The camera's {dial.name} cannot be set from here.", "",
                "Set the mode dial to manual; if it still cannot, this camera cannot be driven.",
            )  # fmt: skip
        choice = find(menu, value, label, dial.doubling)
        if choice is None:
            raise CameraLacks(
                f"The camera offers no {dial.name} near {label or f'{value:g}'}.", "", "Choose one that it offers."
            )
        self._set(widget, dial.name, choice.label)
        return choice

    def agree_number(self, role: Role, dial: Dial, value: float | None) -> float | None:
        """As set_number, for what may be set by hand: what the camera cannot set and does not know is taken as given
        (the aperture of a manual lens); the value in force, None where nobody knows it.

        Raises:
            CameraLacks: no such entry in its menu.
            CameraRefused: it cannot be set from here, and shows another value.
        """
        widget = self.read(role)
        shown = dial.parse(widget.value) if widget and widget.value is not None else None
        if value is None:
            return shown
        if widget is not None and widget.writable and choices(widget.choices, dial.parse):
            return self.set_number(role, dial, value).value
        if shown is not None and find((Choice("", shown),), value, doubling=dial.doubling) is None:
            raise CameraRefused(
                f"The {dial.name} is {shown:g}, not {value:g}.", "It cannot be set from here.",
                f"Set it by hand to {value:g}, or change the {dial.name} in the settings.",
            )  # fmt: skip
        return value if shown is None else shown

    def set_label(self, role: Role, what: str, label: str) -> None:
        """Set a role to one entry of its menu. Raises as set_number does."""
        widget = self.read(role)
        if widget is None or not widget.writable or label not in widget.choices:
            raise CameraLacks(
                f"The camera's {what} cannot be set to {label}.", "Its menu offers no such entry.",
                "Set it on the camera by hand.",
            )  # fmt: skip
        self._set(widget, what, label)

    def _set(self, widget: Widget, what: str, label: str) -> None:
        shown, fault = widget.value, None
        for attempt in range(TRIES):
            if shown == label:
                return
            if attempt:
                time.sleep(BREATH_S)
            fault = self._try(widget.name, _spelling(label, attempt))
            self._settle()
            now = self.named(widget.name)
            shown = now.value if now else None
        if shown != label:
            raise _refusal(what, label, shown, fault)

    def _try(self, name: str, label: str) -> Fault | None:
        """Set once; what the camera had against it. Raises Trouble where the link failed: after a time-out the value
        may have been set all the same, and the next answer may be the last one's."""
        try:
            self._device.write(name, label)
        except Trouble as trouble:
            if is_lost(trouble.fault):
                raise
            return trouble.fault
        return None


def _spelling(label: str, attempt: int) -> str:
    """How to ask for a menu's entry. The library makes numbers of the standard property's times and rounds some of them
    up to the next entry (`0.0003s` becomes 0.0004 s), so the second time a little less is asked for."""
    if attempt and (match := _STANDARD_TIME.fullmatch(label)):
        return f"{float(match[1]) * LESS:.6f}s"
    return label


def _refusal(what: str, label: str, shown: str | None, fault: Fault | None) -> Exception:
    if fault is not None and is_busy(fault):
        return translate(fault)
    told = f" It said: {'; '.join(fault.texts) or f'code {fault.code}'}." if fault else ""
    return CameraRefused(
        f"The camera did not take {label} as its {what}.",
        f"After {TRIES} tries it shows {shown or 'nothing'}.{told}",
        "Look at the camera: mode dial on manual, no menu open, nothing locked.",
    )
