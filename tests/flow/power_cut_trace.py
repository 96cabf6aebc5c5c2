"""What a program asked of the disk, call by call, from strace(1)'s record of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

CALLS = (
    "openat,open,creat,close,lseek,write,pwrite64,writev,pwritev,pwritev2,ftruncate,truncate,fallocate,copy_file_range,"
    "fsync,fdatasync,sync_file_range,msync,link,linkat,symlink,symlinkat,unlink,unlinkat,rename,renameat,renameat2,"
    "mkdir,mkdirat,rmdir,dup,dup2,dup3"
)
COMMAND = ("strace", "-f", "-qq", "-xx", "-s", "70000", "-e", f"trace={CALLS}")


@dataclass(frozen=True)
class Call:
    """One call that did not fail. `first` and `last`: the numbers of the record's lines on which it began and ended."""

    first: int
    last: int
    name: str
    args: tuple[str, ...]
    result: int

    def text(self, number: int) -> str:
        """Argument `number`, a path."""
        return self.data(number).decode()

    def data(self, number: int) -> bytes:
        """Argument `number`, bytes."""
        quoted = self.args[number]
        assert quoted.startswith('"'), f"not a string, or cut off: {quoted[:80]}"
        assert quoted.endswith('"'), f"cut off: {quoted[:80]}"
        return bytes.fromhex(quoted[1:-1].replace("\\x", ""))

    def number(self, number: int) -> int:
        """Argument `number`, a whole number."""
        return int(self.args[number], 0)


_LINE = re.compile(r"(\d+) +(.*)")
_RESUMED = re.compile(r"<\.\.\. (\w+) resumed>(.*)")
_CALL = re.compile(r"(\w+)\((.*)\) += (-?\d+)(?: .*)?$")


def calls(record: Path) -> Iterator[Call]:
    """The calls of a record, in the order in which they ended."""
    begun: dict[str, tuple[int, str]] = {}
    for number, line in enumerate(record.read_text().splitlines()):
        found = _LINE.match(line)
        assert found, line
        thread, text = found.groups()
        if text.endswith("<unfinished ...>"):
            begun[thread] = (number, text.removesuffix("<unfinished ...>").rstrip())
            continue
        first = number
        if resumed := _RESUMED.match(text):
            first, head = begun.pop(thread)
            text = head + resumed.group(2)
        if (call := _call(first, number, text)) is not None:
            yield call


def _call(first: int, last: int, text: str) -> Call | None:
    found = _CALL.match(text)
    if found is None or int(found.group(3)) < 0:  # a signal, an end, or a call that failed
        return None
    return Call(first, last, found.group(1), tuple(_split(found.group(2))), int(found.group(3)))


def _split(args: str) -> list[str]:
    """Arguments at the commas that are neither in a string (hexadecimal: no quotes inside) nor in brackets."""
    parts, depth, quoted, start = [], 0, False, 0
    for n, sign in enumerate(args):
        quoted ^= sign == '"'
        depth += (sign in "[{") - (sign in "]}")
        if sign == "," and not quoted and depth == 0:
            parts.append(args[start:n].strip())
            start = n + 1
    return [*parts, args[start:].strip()]
