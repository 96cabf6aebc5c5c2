"""From recorded calls to steps on one folder: which file was written, synced, named, and what was acknowledged."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from tests.flow.power_cut_trace import Call


@dataclass(frozen=True)
class Step:
    """`kind`: write, cut, name, unname, sync-begins, sync-ends, told. `file` is a number that stays with the file under
    all its names; folders are files too. `at` and `data` of a write; `folder` and `name` of a name."""

    kind: str
    file: int = 0
    at: int = 0
    data: bytes = b""
    folder: int = 0
    name: str = ""
    is_folder: bool = False


@dataclass
class Open:
    file: int
    position: int = 0
    appends: bool = False


@dataclass
class Recorder:
    """Follows names and descriptors below `root`; what happens elsewhere is left out, but for acknowledgements."""

    root: PurePosixPath
    acknowledgements: PurePosixPath
    steps: list[Step] = field(default_factory=list)
    sizes: list[int] = field(default_factory=lambda: [0])
    names: dict[PurePosixPath, int] = field(default_factory=dict)
    open_files: dict[int, Open] = field(default_factory=dict)

    def follow(self, calls: Iterable[Call]) -> list[Step]:
        """All steps. The root itself is file 0."""
        self.names[self.root] = 0
        # A sync covers what had ended when it began: its beginning is put before every call that ended later.
        marks: list[tuple[int, int, Call]] = []
        for call in calls:
            if call.name in ("fsync", "fdatasync"):
                marks.append((call.first, 0, call))
            marks.append((call.last, 1, call))
        for _, ending, call in sorted(marks, key=lambda mark: mark[:2]):
            self._sync(call, bool(ending)) if call.name in ("fsync", "fdatasync") else self._take(call)
        return self.steps

    def _take(self, call: Call) -> None:
        handler = getattr(self, f"_do_{call.name}", None)
        if handler is not None:
            handler(call)
            return
        touched = [d for d in (self._descriptor(a) for a in call.args) if d in self.open_files]
        assert not touched, f"a call on our files that is not understood: {call.name}{call.args}"

    @staticmethod
    def _descriptor(arg: str) -> int:
        return int(arg) if arg.isdecimal() else -1

    def _ours(self, path: PurePosixPath) -> bool:
        return path.is_relative_to(self.root) or path == self.acknowledgements

    def _fresh(self, path: PurePosixPath, is_folder: bool = False) -> int:
        self.sizes.append(0)
        self._name(path, len(self.sizes) - 1, is_folder)
        return self.names[path]

    def _name(self, path: PurePosixPath, file: int, is_folder: bool = False) -> None:
        self.names[path] = file
        if path != self.acknowledgements:
            self.steps.append(Step("name", file, folder=self.names[path.parent], name=path.name, is_folder=is_folder))

    def _unname(self, path: PurePosixPath) -> int:
        self.steps.append(Step("unname", folder=self.names[path.parent], name=path.name))
        return self.names.pop(path)

    # -- one function a call -------------------------------------------------------------------------------------

    def _do_openat(self, call: Call) -> None:
        path = PurePosixPath(call.text(1))
        if not self._ours(path):
            self.open_files.pop(call.result, None)
            return
        file = self.names[path] if path in self.names else self._fresh(path)
        if "O_TRUNC" in call.args[2] and self.sizes[file]:
            self._cut(file, 0)
        self.open_files[call.result] = Open(file, appends="O_APPEND" in call.args[2])

    def _do_close(self, call: Call) -> None:
        self.open_files.pop(call.number(0), None)

    def _do_lseek(self, call: Call) -> None:
        if call.number(0) in self.open_files:
            self.open_files[call.number(0)].position = call.result

    def _do_write(self, call: Call) -> None:
        opened = self.open_files.get(call.number(0))
        if opened is None:
            return
        if opened.file == self.names.get(self.acknowledgements):
            self.steps.append(Step("told", at=int(call.data(1))))
            return
        at = self.sizes[opened.file] if opened.appends else opened.position
        opened.position = at + call.result
        self._write(opened.file, at, call.data(1)[: call.result])

    def _do_pwrite64(self, call: Call) -> None:
        opened = self.open_files.get(call.number(0))
        if opened is not None:
            self._write(opened.file, call.number(3), call.data(1)[: call.result])

    def _do_ftruncate(self, call: Call) -> None:
        if call.number(0) in self.open_files:
            self._cut(self.open_files[call.number(0)].file, call.number(1))

    def _do_mkdir(self, call: Call) -> None:
        path = PurePosixPath(call.text(0))
        if path != self.root and self._ours(path):
            self._fresh(path, is_folder=True)

    def _do_link(self, call: Call) -> None:
        self._linked(call.text(0), call.text(1))

    def _do_linkat(self, call: Call) -> None:
        self._linked(call.text(1), call.text(3))

    def _linked(self, old: str, new: str) -> None:
        if self._ours(PurePosixPath(new)):
            self._name(PurePosixPath(new), self.names[PurePosixPath(old)])

    def _do_unlink(self, call: Call) -> None:
        if self._ours(PurePosixPath(call.text(0))):
            self._unname(PurePosixPath(call.text(0)))

    def _do_rename(self, call: Call) -> None:
        old, new = PurePosixPath(call.text(0)), PurePosixPath(call.text(1))
        if self._ours(old):
            self._name(new, self.names[old])
            self._unname(old)

    def _sync(self, call: Call, ends: bool) -> None:
        opened = self.open_files.get(call.number(0))
        if opened is not None:
            self.steps.append(Step("sync-ends" if ends else "sync-begins", opened.file))

    def _write(self, file: int, at: int, data: bytes) -> None:
        self.sizes[file] = max(self.sizes[file], at + len(data))
        self.steps.append(Step("write", file, at, data))

    def _cut(self, file: int, size: int) -> None:
        self.sizes[file] = size
        self.steps.append(Step("cut", file, size))
