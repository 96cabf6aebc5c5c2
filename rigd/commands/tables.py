"""Tables on disk: read as UTF-8, written without ever replacing one."""

from __future__ import annotations

from pathlib import Path

from rigd.errors import InputError


def text_of(name: str, body: bytes) -> str:
    """The text of a table. Raises InputError where it is no UTF-8."""
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(f"{name} is no UTF-8 text.", f"Byte {error.start} is none of it.",
                         'Save it as "CSV UTF-8" from the spreadsheet.') from None  # fmt: skip


def write_new(file: Path, text: str) -> None:
    """Write a new file; a table gets the mark by which spreadsheets know UTF-8. Raises InputError where it exists."""
    try:
        with file.open("x", encoding="utf-8-sig" if file.suffix == ".csv" else "utf-8", newline="") as out:
            out.write(text)
    except FileExistsError:
        raise InputError(f"There is a file {file} already.", "A table never replaces one.",
                         "Give another name.") from None  # fmt: skip
