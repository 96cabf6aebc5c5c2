"""A plan as a table that a spreadsheet writes and reads: one roll a line, plain words above the columns (RFC 4180)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from typing import Any

from msgspec import Struct

from rigd.errors import InputError
from rigd.model.formats import FORMATS
from rigd.model.metadata import FIELDS, AboutChanges
from rigd.model.plan import RollChanges
from rigd.model.values import Roll
from rigd.model.words import BaseType, Colour, Tone

# Stock and process stand in the plan itself.
_ABOUT = tuple(name for name in FIELDS if name not in ("stock", "process"))
_PLAN = ("id", "label", "format", "tone", "colour", "frames", "strip", "cuts", "base", "stock", "process", "where")
COLUMNS = (*_PLAN, *_ABOUT)
# A person corrects a few lines, then tries again.
_TOLD = 20


class PlanLine(Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """One line: its number in the file, the id of the roll it speaks of where it names one, and what it says."""

    number: int
    changes: RollChanges
    roll_id: str = ""


def written(rolls: Iterable[Roll]) -> str:
    """The table of these rolls."""
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerow(COLUMNS)
    table.writerows(row_of(roll) for roll in rolls)
    return text.getvalue()


def row_of(roll: Roll) -> tuple[str, ...]:
    """A roll's cells, in the order of the columns. What is inherited is empty; `-` says that nothing is known."""
    about = [_told(getattr(roll.about, name)) for name in _ABOUT]
    frames = "" if roll.expected is None else "-".join(map(str, dict.fromkeys(roll.expected)))
    return (roll.roll_id, roll.label, roll.film_format, roll.tone, roll.colour, frames, str(roll.strip_places or ""),
            " ".join(map(str, roll.cuts)), roll.base_type, roll.stock, roll.process, roll.where, *about)  # fmt: skip


def read(text: str) -> list[PlanLine]:
    """The lines of a table. Commas, semicolons or tabs between the cells, as spreadsheets of different countries do.

    Raises:
        InputError: with every line that cannot be read, and why.
    """
    found, wrong = [], []
    for number, cells in rows(text, COLUMNS, ("label",)):
        try:
            found.append(PlanLine(number, _changes(cells), cells.get("id", "")))
        except ValueError as error:
            wrong.append(f"line {number}: {error}")
    refuse(wrong)
    return found


def rows(text: str, columns: tuple[str, ...], needed: tuple[str, ...]) -> Iterator[tuple[int, dict[str, str]]]:
    """Line number and cells by column of each line that is not empty. Raises InputError for a header that is none."""
    text = text.removeprefix("\ufeff")
    table = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    try:
        header = [word.strip().casefold() for word in next(table, [])]
        _require_header(header, columns, needed)
        for cells in table:
            if any(cell.strip() for cell in cells):
                yield table.line_num, {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
    except csv.Error as error:
        raise InputError(f"The table cannot be read after line {table.line_num}.", f"{error}.",
                         "Save it again as comma-separated text (CSV).") from error  # fmt: skip


def refuse(wrong: list[str]) -> None:
    """Raises InputError with these lines, if there are any."""
    if wrong:
        more = f" And {len(wrong) - _TOLD} more." if len(wrong) > _TOLD else ""
        raise InputError(f"{len(wrong)} lines do not fit; nothing was taken over.",
                         "; ".join(wrong[:_TOLD]) + "." + more, "Correct them and try again.")  # fmt: skip


def about_changes(cells: dict[str, str], names: tuple[str, ...]) -> AboutChanges:
    """What the cells say of these fields: an empty one is inherited, `-` says that nothing is known."""
    said: dict[str, Any] = {name: _said(name, cells[name]) for name in names if name in cells}
    return AboutChanges(**said)


def told(value: str | tuple[str, ...] | None) -> str:
    """A field of what is told as a cell."""
    return _told(value)


def _said(name: str, cell: str) -> str | tuple[str, ...] | None:
    if not cell:
        return None
    if name == "keywords":
        return () if cell == "-" else tuple(word.strip() for word in cell.split(";"))
    return "" if cell == "-" else cell


def _told(value: str | tuple[str, ...] | None) -> str:
    if value is None:
        return ""
    return ("; ".join(value) if isinstance(value, tuple) else value) or "-"


def _delimiter(text: str) -> str:
    first = text.partition("\n")[0]
    return max(",;\t", key=first.count)


def _require_header(header: list[str], columns: tuple[str, ...], needed: tuple[str, ...]) -> None:
    unknown = [word for word in header if word not in columns]
    lacking = [word for word in needed if word not in header]
    if not unknown and not lacking and len(header) == len(set(header)):
        return
    why = f"Unknown: {', '.join(map(repr, unknown))}." if unknown else f"Missing: {', '.join(lacking)}."
    if not unknown and not lacking:
        why = "A word comes twice."
    raise InputError("The first line must name the columns.", why, f"Use some of: {', '.join(columns)}.")


def _changes(cells: dict[str, str]) -> RollChanges:
    said: dict[str, Any] = {}
    for name, as_value in _READ.items():
        if name in cells:
            said[_FIELD.get(name, name)] = as_value(cells[name])
    return RollChanges(**{k: v for k, v in said.items() if v is not _SKIP}, about=about_changes(cells, _ABOUT))


_SKIP = object()


def _one_of(kind: type[Tone] | type[Colour] | type[BaseType], name: str) -> Any:
    def as_value(cell: str) -> object:
        known = [word.value for word in kind]
        if cell and cell.casefold() not in known:
            raise ValueError(f"{name} {cell!r} is none of {', '.join(known)}")
        return kind(cell.casefold()) if cell else _SKIP

    return as_value


def _label(cell: str) -> str:
    if not cell:
        raise ValueError("a roll needs a label")
    return cell


def _format(cell: str) -> object:
    if cell and cell not in FORMATS:
        raise ValueError(f"format {cell!r} is none of {', '.join(FORMATS)}")
    return cell or _SKIP


def frames_range(cell: str) -> tuple[int, int] | None:
    """A count such as `12` or `36-39`; None for an empty cell. Raises ValueError."""
    if not cell:
        return None
    fewest, _, most = cell.partition("-")
    try:
        return int(fewest), int(most or fewest)
    except ValueError:
        raise ValueError(f"frames {cell!r} is no count such as 12 or 36-39") from None


def _places(cell: str) -> int | None:
    try:
        return int(cell) if cell else None
    except ValueError:
        raise ValueError(f"strip {cell!r} is no number") from None


def cut_list(cell: str) -> tuple[int, ...]:
    """Numbers with blanks or commas between. Raises ValueError."""
    try:
        return tuple(int(word) for word in cell.replace(",", " ").split())
    except ValueError:
        raise ValueError(f"cuts {cell!r} are no numbers such as 6 6 6") from None


_READ: dict[str, Any] = {
    "label": _label, "format": _format, "tone": _one_of(Tone, "tone"), "colour": _one_of(Colour, "colour"),
    "frames": frames_range, "strip": _places, "cuts": cut_list, "base": _one_of(BaseType, "base"), "stock": str,
    "process": str, "where": str,
}  # fmt: skip
_FIELD = {"format": "film_format", "frames": "expected", "strip": "strip_places", "base": "base_type"}
