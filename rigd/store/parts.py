"""Names of temporary files: hidden, and told from all other files by their end."""

from __future__ import annotations

from rigd.errors import InputError

_END = ".part"


def part_name(take_id: str) -> str:
    """The temporary name of a take's file."""
    if not take_id or "/" in take_id:
        raise InputError(f"{take_id!r} is no id of a take.", "", "Use the id that the ledger gave it.")
    return f".{take_id}{_END}"


def is_part(name: str) -> bool:
    """True for a name that `part_name` makes."""
    return name.startswith(".") and name.endswith(_END) and len(name) > len(_END) + 1


def take_of(name: str) -> str:
    """The take whose temporary file has that name."""
    return name[1 : -len(_END)]
