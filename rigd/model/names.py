"""File names at delivery: a template of plain fields, and what is wrong with the names that it gives. Pure.

`{roll}_{frame:03}{part}` gives `HO 12_007`: a field in braces, with the number of digits after a colon where it is a
number. What a name may hold: Microsoft, "Naming Files, Paths, and Namespaces"; exFAT specification, section 7.7.3.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

from rigd.errors import InputError
from rigd.model.metadata import about_frame
from rigd.model.order import in_order
from rigd.model.reconcile import Finding
from rigd.model.state import FrameState, RollState
from rigd.model.values import Job

USUAL = "{folder}_{frame:03}{part}"
_FIELD = re.compile(r"\{([a-z]*)(?::(\d{1,2}))?\}")
# NTFS and exFAT take 255 UTF-16 units, ext4 255 bytes: so many signs leave room for an extension of a few letters.
_LONGEST = 240
_BAD = frozenset('<>:"/\\|?*')
_DEVICES = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])(\..*)?", re.IGNORECASE)
_SHOWN = 6


class OneFile(Struct, frozen=True):
    """What a file's name can speak of. `frame`: its frame's number on the roll; `part`: a letter where a frame has
    several files, "" where it has one; `folder`: the roll's label as every file system takes it."""

    take_id: str
    path: str
    job: str
    roll: str
    folder: str
    strip: int
    place: int
    frame: int
    part: str
    take: int
    kind: str
    mark: str
    title: str
    date: str
    stock: str
    reference: str


NUMBERS = ("strip", "place", "frame", "take")
FIELDS = ("job", "roll", "folder", *NUMBERS, "part", "kind", "mark", "title", "date", "stock", "reference")


class Named(Struct, frozen=True):
    """A file of the store, and its name at delivery with the extension that it has."""

    take_id: str
    path: str
    name: str


def check_template(template: str) -> None:
    """Raises InputError where a template cannot be used."""
    known = f"Fields: {', '.join(FIELDS)}."
    for name, digits in _FIELD.findall(template):
        if name not in FIELDS:
            raise InputError(f"There is no field {{{name}}} for file names.", known, "Use one of these.")
        if digits and name not in NUMBERS:
            raise InputError(f"{{{name}}} is no number.", f"Digits go with {', '.join(NUMBERS)}.",
                             f"Write {{{name}}}.")  # fmt: skip
    rest = _FIELD.sub("", template)
    if "{" in rest or "}" in rest or not template.strip():
        raise InputError(f"{template!r} is no template of file names.", known, f"Write something like {USUAL}.")


def name_of(template: str, file: OneFile) -> str:
    """The name that a template gives a file, with its extension in small letters."""

    def value(match: re.Match[str]) -> str:
        return f"{getattr(file, match[1]):{'0' + match[2] if match[2] else ''}}"

    _, dot, suffix = file.path.rpartition("/")[2].rpartition(".")
    return unicodedata.normalize("NFC", _FIELD.sub(value, template)) + dot + suffix.lower()


def files_of(job: Job | None, roll: RollState) -> list[OneFile]:
    """The files of the takes that count, in the order of the film."""
    found: list[OneFile] = []
    for number, frame in enumerate(in_order(roll), 1):
        kept = [t for t in frame.keeper if t in roll.takes]
        for at, take_id in enumerate(kept):
            part = "" if len(kept) == 1 else _letter(at)
            found.append(_one(job, roll, frame, number, take_id, part))
    return found


def named(template: str, files: Iterable[OneFile]) -> list[Named]:
    """Files with their names. Raises InputError where the template cannot be used."""
    check_template(template)
    return [Named(file.take_id, file.path, name_of(template, file)) for file in files]


def look_over(names: Sequence[Named]) -> list[Finding]:
    """What is wrong with these names, which are in the order of the film: twice the same where case does not count,
    signs that a file system refuses, and another order by name than on the film."""
    found: list[Finding] = []
    twice = [key for key, n in Counter(_same(one.name) for one in names).items() if n > 1]
    if twice:
        found.append(Finding("twice", f"{len(twice)} names come more than once: {_some(twice)}.",
                             "Put {frame} into the template; {part} where a frame has several files."))  # fmt: skip
    for code, unfit, what, remedy in _UNFIT:
        bad = [one.name for one in names if unfit(one.name)]
        if bad:
            found.append(Finding(code, f"{len(bad)} names {what}: {_some(bad)}.", remedy))
    order = [one.name for one in names]
    wrong = [f"{b} comes before {a}" for a, b in pairwise(order) if _same(b) < _same(a)]
    if wrong:
        found.append(Finding("order", f"Sorted by name, the files do not lie as the film does: {_some(wrong)}.",
                             "Write numbers with leading zeros, such as {frame:03}."))  # fmt: skip
    return found


def _one(job: Job | None, roll: RollState, frame: FrameState, number: int, take_id: str, part: str) -> OneFile:
    at, take, told = frame.frame, roll.takes[take_id], about_frame(job, roll.roll, frame)
    return OneFile(
        take_id, take.path, job.title if job else "", roll.roll.label, roll.roll.folder,
        roll.strips[at.strip_id].number, at.place, number, part, take.number, take.purpose.value, at.mark,
        told.title or "", (told.dates or "").replace("/", "--"), told.stock or "", told.reference or "",
    )  # fmt: skip


def _letter(number: int) -> str:
    return chr(ord("a") + number) if number < 26 else f"-{number + 1}"


def _same(name: str) -> str:
    return unicodedata.normalize("NFC", name.casefold())


def _has_bad_sign(name: str) -> bool:
    return any(sign in _BAD or ord(sign) < 32 for sign in name)


def _bad_ends(name: str) -> bool:
    """Windows drops blanks and dots at the end; a name that begins with a dot is hidden elsewhere."""
    stem = name.rpartition(".")[0] or name
    return stem != stem.strip(" ") or name.startswith((".", "-")) or name.endswith((".", " ")) or stem.endswith(".")


def _too_long(name: str) -> bool:
    return len(name.encode()) > _LONGEST or len(name.encode("utf-16-le")) // 2 > _LONGEST


_PLAIN = "Use {folder} in place of {roll}, or correct the text."
_UNFIT: tuple[tuple[str, Callable[[str], object], str, str], ...] = (
    ("sign", _has_bad_sign, "hold a sign that exFAT or NTFS refuses", _PLAIN),
    ("ends", _bad_ends, "begin or end with a blank, a dot or a dash", _PLAIN),
    ("device", _DEVICES.fullmatch, "are names of devices on Windows", "Put something before the field."),
    ("long", _too_long, f"are longer than {_LONGEST} signs", "Leave {title} out."),
)  # fmt: skip


def _some(words: Sequence[str]) -> str:
    return ", ".join(words[:_SHOWN]) + (" ..." if len(words) > _SHOWN else "")
