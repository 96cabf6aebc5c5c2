"""Every error rigd raises on purpose: what happened, why, and what to do now.

The tree, one class for each thing the operator can do differently:

    RigdError
    |- InputError            something that was typed, sent or read does not fit
    |  |- BadSetting         the settings file or environment
    |  |- NotFound           a name or id that nobody knows
    |  `- StaleCommand       it meant another frame than the one that is current now
    |- Busy                  one thing at a time; nothing queues
    |- NotReady              a step that must come first has not been done
    |- NotStill              the film or the rig goes on moving: look what shakes it
    |- CameraError
    |  |- CameraMissing      not connected, or the address is wrong
    |  |- CameraHeld         another program has it
    |  |- CameraLost         it went away or stopped answering in the middle; the shot is unknown
    |  |- CameraRefused      it could not do it: focus, mirror, battery
    |  |- CameraLacks        it has no such setting or ability
    |  `- CardFull           its card or memory has no room, or is protected
    |- BoardError
    |  |- BoardMissing       the advancer board is not connected, may not be opened, or is another device
    |  |- BoardLost          it went away, stopped answering or restarted; where the film is must be found again
    |  |- BoardRefused       a number is beyond its limits, or it does not know the command
    |  |- MotionStopped      the stop is set: nothing moves until it is cleared on purpose
    |  `- FilmStuck          the film did not follow the motor; free it by hand
    |- PedalError
    |  |- PedalMissing       not plugged in, may not be read, or its library is not installed
    |  `- PedalUnfit         a whole keyboard, which would be taken from its user
    |- StoreError
    |  |- DiskFull
    |  |- DiskFaulty         a read or write failed; the data on it is in doubt
    |  |- CopyGone           the second copy's disk is not there
    |  |- UnfitDisk          a file system that cannot keep the promises
    |  `- FileChanged        bytes are not those that were stored
    |- RawUnreadable         a picture file that cannot be decoded
    `- LedgerError
       |- LedgerHeld         another rigd owns it
       |- LedgerTooNew       written by a newer rigd
       `- LedgerDamaged

A foreign error is translated once, at the border where it comes in.
"""

from __future__ import annotations


class RigdError(Exception):
    """Base of all; `what` happened, `why`, and the `remedy`: one plain sentence each."""

    code = "error"

    def __init__(self, what: str, why: str = "", remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.why = why
        self.remedy = remedy

    def __str__(self) -> str:
        return " ".join(part for part in (self.what, self.why, self.remedy) if part)

    def __reduce__(self) -> tuple[type[RigdError], tuple[str, str, str]]:
        return type(self), (self.what, self.why, self.remedy)


class InputError(RigdError):
    code = "input"


class BadSetting(InputError):
    code = "bad-setting"


class NotFound(InputError):
    code = "not-found"


class StaleCommand(InputError):
    code = "stale-command"


class Busy(RigdError):
    code = "busy"


class NotReady(RigdError):
    code = "not-ready"


class NotStill(RigdError):
    code = "not-still"


class CameraError(RigdError):
    code = "camera"


class CameraMissing(CameraError):
    code = "camera-missing"


class CameraHeld(CameraError):
    code = "camera-held"


class CameraLost(CameraError):
    code = "camera-lost"


class CameraRefused(CameraError):
    code = "camera-refused"


class CameraLacks(CameraError):
    code = "camera-lacks"


class CardFull(CameraError):
    code = "card-full"


class BoardError(RigdError):
    code = "board"


class BoardMissing(BoardError):
    code = "board-missing"


class BoardLost(BoardError):
    code = "board-lost"


class BoardRefused(BoardError):
    code = "board-refused"


class MotionStopped(BoardError):
    code = "motion-stopped"


class FilmStuck(BoardError):
    code = "film-stuck"


class PedalError(RigdError):
    code = "pedal"


class PedalMissing(PedalError):
    code = "pedal-missing"


class PedalUnfit(PedalError):
    code = "pedal-unfit"


class StoreError(RigdError):
    code = "store"


class DiskFull(StoreError):
    code = "disk-full"


class DiskFaulty(StoreError):
    code = "disk-faulty"


class CopyGone(StoreError):
    code = "copy-gone"


class UnfitDisk(StoreError):
    code = "unfit-disk"


class FileChanged(StoreError):
    code = "file-changed"


class RawUnreadable(RigdError):
    code = "raw-unreadable"


class LedgerError(RigdError):
    code = "ledger"


class LedgerHeld(LedgerError):
    code = "ledger-held"


class LedgerTooNew(LedgerError):
    code = "ledger-too-new"


class LedgerDamaged(LedgerError):
    code = "ledger-damaged"


def _all_kinds(root: type[RigdError]) -> list[type[RigdError]]:
    return [root, *(kind for child in root.__subclasses__() for kind in _all_kinds(child))]


def by_code(code: str) -> type[RigdError]:
    """The class that carries this code (`RigdError` for an unknown one): for errors that crossed a process."""
    return {kind.code: kind for kind in _all_kinds(RigdError)}.get(code, RigdError)
