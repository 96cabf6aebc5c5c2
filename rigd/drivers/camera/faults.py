"""The library's error codes as rigd's errors: one table, the only place where they are translated.

The codes are libgphoto2's (gphoto2-result.h, gphoto2-port-result.h), the texts those it gives for the PTP response
codes of ISO 15740.
"""

from __future__ import annotations

import re
import signal
from typing import Literal

from msgspec import Struct

from rigd.errors import CameraError, CameraHeld, CameraLacks, CameraLost, CameraMissing, CameraRefused, CardFull

AGAIN = "Check cable, battery and power, then let rigd connect again."
LOOK = "Look at the camera: focus, mirror, card. Its display may say more."
POWER = "Switch the camera off and on, check cable, battery and address, then let rigd connect again."
RULE = "Install the udev rule that comes with rigd, or log in at the machine itself, then connect the camera anew."


class Fault(Struct, frozen=True):
    """A call that failed.

    doing: what for, continuing "while" (`taking the picture`). code: the library's. texts: what it told its error
    callback during the call. alive: whether the camera still answered afterwards; None where nobody asked. stage: while
    opening, reading a setting or copying a file the vague codes have a meaning of their own.
    """

    doing: str
    code: int
    texts: tuple[str, ...] = ()
    alive: bool | None = None
    stage: Literal["", "open", "read", "copy"] = ""


class _Rule(Struct, frozen=True):
    kind: type[CameraError]
    what: str
    remedy: str


_BUSY = _Rule(CameraRefused, "The camera is busy", "Wait until it has finished, then try again.")
_COULD_NOT = _Rule(CameraRefused, "The camera could not do it", LOOK)
_LOST = _Rule(CameraLost, "The camera stopped answering", AGAIN)
_MISSING = _Rule(CameraMissing, "No camera answers", POWER)
_HELD = _Rule(
    CameraHeld,
    "Another program has the camera",
    "Close it there (often the desktop has opened it as a drive: eject it), then let rigd connect again.",
)
_LACKS = _Rule(CameraLacks, "The camera does not offer that", "Name another setting for it, or do without.")
_FULL = _Rule(CardFull, "The camera's card has no room, or is protected", "Put in another card, or unlock this one.")
_GONE_FILE = _Rule(CameraRefused, "The file is not on the card", "List the card again.")

RULES: dict[int, _Rule] = {
    -1: _COULD_NOT,
    -2: _LACKS,
    -3: _FULL,
    -4: _MISSING,
    -6: _LACKS,
    -7: _LOST,
    -10: _LOST,
    -34: _LOST,
    -35: _LOST,
    -52: _MISSING,
    -53: _HELD,
    -60: _HELD,
    -102: _LOST,
    -105: _MISSING,
    -107: _GONE_FILE,
    -108: _GONE_FILE,
    -110: _BUSY,
    -113: _COULD_NOT,
    -115: _FULL,
}
"""By the library's code. -102 (corrupted data) is a stream out of step: nothing on it can be trusted any more."""

_BY_PHRASE: dict[str, _Rule] = {
    "PTP Device Busy": _BUSY,
    "PTP Store Full": _FULL,
    "PTP Store Read Only": _FULL,
    "PTP Object Write Protected": _FULL,
    "PTP Timeout": _LOST,
    "PTP I/O Error": _LOST,
    "PTP No Device": _LOST,
    "PTP Operation Not Supported": _LACKS,
    "PTP Device Prop Not Supported": _LACKS,
    "PTP Access Denied": _COULD_NOT,
    "(null)": _LOST,
}
"""By what the text contains, where the code is one of those that stand for anything (-1, -2). `(null)` is the library's
text for a response that is none: the stream is out of step."""

_NOISE = re.compile(r"Property '.*' not found\.")  # said after every failed set, whatever the reason

_VAGUE = frozenset({-1, -2})
_LINK = frozenset({-1, -7, -10, -34, -35, -102})


def is_busy(fault: Fault) -> bool:
    """Whether waiting may help."""
    return _rule(fault) is _BUSY


def is_lost(fault: Fault) -> bool:
    """Whether the link itself failed, so that nothing on it can be trusted before the camera is opened again."""
    return _rule(fault) is _LOST


def needs_probe(fault: Fault) -> bool:
    """Whether the code alone does not tell a camera that refuses from one that is gone."""
    return fault.code in _VAGUE and fault.alive is None and fault.stage != "open"


def may_pass(fault: Fault) -> bool:
    """Whether a setting that could not be read may just have met a busy camera: then the library says nothing."""
    return is_busy(fault) or (fault.code in _VAGUE and not fault.texts)


def translate(fault: Fault, library_says: str = "", held_by: str = "") -> CameraError:
    """The error that the operator gets. library_says: the library's own words for the code; held_by: the program
    that has the camera, where it could be found."""
    rule = _rule(fault)
    if rule is _HELD and held_by:
        return CameraHeld("Another program has the camera.", f"It is {held_by}.", _HELD.remedy)
    told = [text for text in fault.texts if not _NOISE.fullmatch(text)]
    words = "; ".join(dict.fromkeys([*told, *filter(None, [library_says])])) or "no text"
    return rule.kind(f"{rule.what}.", f"While {fault.doing}: {words} (code {fault.code}).", rule.remedy)


def _rule(fault: Fault) -> _Rule:
    if fault.stage == "open" and fault.code in _LINK | _VAGUE:
        return _MISSING
    if fault.code not in _VAGUE:
        return RULES.get(fault.code, _COULD_NOT)
    if fault.alive is False:
        return _LOST
    said = [rule for phrase, rule in _BY_PHRASE.items() if any(phrase in text for text in fault.texts)]
    by_stage = {"read": _BUSY, "copy": _LOST}
    return next(iter(said), by_stage.get(fault.stage, RULES[fault.code]))


def worker_ended(doing: str, status: int | None, last_words: str = "") -> CameraLost:
    """The worker process died in the middle. status: its exit status, negative for a signal, None if unknown;
    last_words: the last line that it wrote."""
    how = (
        f"was ended by {_signal_name(-status)}" if status is not None and status < 0 else f"ended with status {status}"
    )
    said = f" Its last words: {last_words}" if last_words else ""
    return CameraLost("The camera program ended unexpectedly.", f"While {doing}: it {how}.{said}", AGAIN)


def worker_hung(doing: str, seconds: float) -> CameraLost:
    """The worker process gave no answer in time and was killed."""
    return CameraLost(
        "The camera program hung and was stopped.", f"While {doing}: no answer for {seconds:.0f} s.", AGAIN
    )


def _signal_name(number: int) -> str:
    try:
        return signal.Signals(number).name
    except ValueError:
        return f"signal {number}"
