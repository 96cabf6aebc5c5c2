"""Names of folders and raw files: plain ones that every file system takes, in the order of the film.

What a name may hold: Microsoft, "Naming Files, Paths, and Namespaces"; exFAT specification, section 7.7.3.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from rigd import paths
from rigd.model.words import Purpose

# ext4 takes 255 bytes, NTFS and exFAT 255 UTF-16 units. 100 bytes leave room for all that is added to a label.
LABEL_BYTES = 100
_KEPT = frozenset("-_.+,()")
_PORTS = [port + digit for port in ("com", "lpt") for digit in "0123456789¹²³"]
_DEVICES = frozenset(("con", "prn", "aux", "nul", "conin$", "conout$", *_PORTS))
# Names in the job's folder that have a use of their own; "set-up" holds takes that belong to no frame.
_OWN = (
    paths.LEDGER, paths.LOCK, paths.BALLAST, f"{paths.LEDGER}-journal", paths.UNCLAIMED, paths.PREVIEWS,
    paths.MANIFEST, "set-up",
)  # fmt: skip


def raw_name(label: str, strip: int, place: int, number: int, purpose: Purpose, extension: str) -> str:
    """The file name of a frame's take: `<label>-<strip>-<place>-<take>[-<purpose>].<extension>`.

    Sorted by name, the files of a roll lie as the film does: by strip, place and take (up to 999, 999 and 99; beyond
    that names are still different). `purpose` is left out for the usual one.
    """
    what = "" if purpose is Purpose.WHOLE else f"-{purpose.value}"
    return f"{plain(label)}-{strip:03d}-{place:03d}-{number:02d}{what}.{_extension(extension)}"


def roll_folder(label: str, taken: Iterable[str]) -> str:
    """A folder name for a roll, different from those `taken` also where case does not count."""
    return free_name(plain(label), (*taken, *_OWN))


def free_name(name: str, taken: Iterable[str]) -> str:
    """`name`, or the first of `name-2`, `name-3` ... that is not among `taken`; a suffix stays at the end."""
    used = {same_name(other) for other in taken}
    stem, dot, suffix = name.rpartition(".") if "." in name.strip(".") else (name, "", "")
    number = 1
    while same_name(name) in used:
        number += 1
        name = f"{stem}-{number}{dot}{suffix}"
    return name


def same_name(name: str) -> str:
    """Two names with the same result are one name on some file system (case, Unicode form)."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def plain(text: str, usual: str = "roll") -> str:
    """`text` as a name: letters, digits and `-_.+,()`; spaces become `_`, all else `-`. Never empty: then `usual`."""
    signs = "".join(_sign(sign) for sign in unicodedata.normalize("NFC", text))
    while "--" in signs:
        signs = signs.replace("--", "-")
    name = signs.encode()[:LABEL_BYTES].decode(errors="ignore")
    # No dot or dash in front (hidden, or an option to a command), no dot at the end (Windows drops it).
    name = name.lstrip("-._").rstrip("-._") or usual
    stem, dot, rest = name.partition(".")
    return f"{stem}_{dot}{rest}" if stem.casefold() in _DEVICES else name


def _sign(sign: str) -> str:
    if sign in _KEPT or unicodedata.category(sign)[0] in "LMN":
        return sign
    if sign.isspace():
        return "_"
    return "" if unicodedata.category(sign) == "Cf" else "-"  # invisible ones would make names that look alike


def _extension(extension: str) -> str:
    known = "".join(sign for sign in extension.casefold() if sign.isascii() and sign.isalnum())
    return known[:8] or "raw"
