"""What a disk may hold after the power went: all that was synced, and of the rest nothing, everything, or any part.

Stricter than a journalling file system: a name that was not synced may be missing while a later one is there, and a
write that was not synced may have reached the medium in any of its sectors.
"""

from __future__ import annotations

import os
import random
from dataclasses import dataclass, field
from pathlib import Path

from tests.flow.power_cut_steps import Step

# Smallest piece that a disk writes at one stroke. Larger ones only make fewer cases.
SECTOR = 512

Names = dict[tuple[int, str], int]


@dataclass
class Medium:
    """The state of the medium, step by step."""

    files: dict[int, bytes] = field(default_factory=dict)
    names: Names = field(default_factory=dict)
    folders: set[int] = field(default_factory=lambda: {0})
    loose: dict[int, list[Step]] = field(default_factory=dict)
    loose_names: list[Step] = field(default_factory=list)
    told: int = 0
    _begun: dict[int, tuple[list[Step], list[Step]]] = field(default_factory=dict)

    def take(self, step: Step) -> None:
        """One step further."""
        if step.kind in ("write", "cut"):
            self.loose.setdefault(step.file, []).append(step)
        elif step.kind in ("name", "unname"):
            self.loose_names.append(step)
            if step.is_folder:
                self.folders.add(step.file)
        elif step.kind == "sync-begins":
            inside = [one for one in self.loose_names if one.folder == step.file]
            self._begun[step.file] = (list(self.loose.get(step.file, [])), inside)
        elif step.kind == "sync-ends":
            self._synced(step.file, *self._begun.pop(step.file))
        else:
            self.told = step.at

    def _synced(self, file: int, content: list[Step], names: list[Step]) -> None:
        if content:
            self.files[file] = applied(self.files.get(file, b""), content)
            self.loose[file] = self.loose[file][len(content) :]
        self.names = named(self.names, names)
        self.loose_names = [one for one in self.loose_names if one not in names]

    def nothing_more(self) -> tuple[dict[int, bytes], Names]:
        """Nothing of what was not synced."""
        return self.files, self.names

    def everything(self) -> tuple[dict[int, bytes], Names]:
        """All of it: as after a crash of the program alone."""
        files = dict(self.files)
        for file, steps in self.loose.items():
            files[file] = applied(files.get(file, b""), steps)
        return files, named(self.names, self.loose_names)

    def anything(self, chance: random.Random) -> tuple[dict[int, bytes], Names]:
        """Any part of it."""
        files = dict(self.files)
        for file, steps in self.loose.items():
            files[file] = applied(files.get(file, b""), [part for step in steps for part in torn(step, chance)])
        return files, named(self.names, [step for step in self.loose_names if chance.random() < 0.5])


def torn(step: Step, chance: random.Random) -> list[Step]:
    """Some sectors of a write; or a cut, or not."""
    if step.kind == "cut":
        return [step] if chance.random() < 0.5 else []
    share = chance.choice((0.0, 0.5, 0.9, 1.0))
    edges = [step.at, *range((step.at // SECTOR + 1) * SECTOR, step.at + len(step.data), SECTOR)]
    parts = [(at, step.data[at - step.at : (at // SECTOR + 1) * SECTOR - step.at]) for at in edges]
    return [Step("write", step.file, at, data) for at, data in parts if chance.random() < share]


def applied(content: bytes, steps: list[Step]) -> bytes:
    """Content after writes and cuts; what was never written reads as zeros."""
    buffer = bytearray(content)
    for step in steps:
        if step.kind == "cut":
            del buffer[step.at :]
            buffer.extend(bytes(step.at - len(buffer)))
        else:
            buffer.extend(bytes(max(0, step.at - len(buffer))))
            buffer[step.at : step.at + len(step.data)] = step.data
    return bytes(buffer)


def named(names: Names, steps: list[Step]) -> Names:
    """Names after some were given and taken."""
    after = dict(names)
    for step in steps:
        if step.kind == "name":
            after[step.folder, step.name] = step.file
        else:
            after.pop((step.folder, step.name), None)
    return after


def paths(names: Names, folders: set[int]) -> dict[str, int]:
    """Every file that can be reached from the root, by its path; a file in a folder without a name cannot."""
    found: dict[str, int] = {}
    todo = [(0, "")]
    while todo:
        folder, way = todo.pop()
        for (where, name), file in names.items():
            if where == folder:
                found[way + name] = file
                if file in folders:
                    todo.append((file, f"{way}{name}/"))
    return found


def lay_out(root: Path, files: dict[int, bytes], names: Names, folders: set[int]) -> None:
    """Make a real folder of it: one file with two names stays one file."""
    root.mkdir()
    first: dict[int, Path] = {}
    for way, file in sorted(paths(names, folders).items()):
        place = root / way
        if file in folders:
            place.mkdir()
        elif file in first:
            os.link(first[file], place)
        else:
            place.write_bytes(files.get(file, b""))
            first[file] = place
