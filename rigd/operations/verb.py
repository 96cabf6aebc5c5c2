"""A verb as a value: what it is called, what it is told, what it gives, and the operation behind it.

One declaration serves all ways: a command in this process, a command beside a running daemon, and HTTP, where it is
described for other programs too.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Iterator
from typing import Any, Generic, TypeVar

import msgspec
from msgspec import Struct

from rigd.errors import InputError
from rigd.operations.desk import Desk

_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


class Args(Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of what verbs are told. Words nobody knows are refused, so that a typing error never passes as a default."""


class Nothing(Args, frozen=True):
    """The verb says it all."""


A = TypeVar("A", bound=Args)
R = TypeVar("R")


class Verb(Generic[A, R]):
    """One thing that can be asked for.

    Args:
        name: its address below `/api`, such as `rolls/change`.
        args: what it is told.
        gives: the type of the result.
        run: the operation, given the desk, what it is told, and who asks.
        example: what it may be told.
        reads: it changes nothing.
        host: only for whoever sits at this machine.
        patience_s: how long its answer may take.
    """

    def __init__(
        self, name: str, args: type[A], gives: Any, run: Callable[[Desk, A, str], Awaitable[R]], example: A,
        *, reads: bool = False, host: bool = False, patience_s: float = 60.0,
    ) -> None:  # fmt: skip
        self.name = name
        self.args = args
        self.gives = gives
        self.run = run
        self.example = example
        self.reads = reads
        self.host = host
        self.patience_s = patience_s
        self._decode = msgspec.json.Decoder(args).decode

    @property
    def doc(self) -> str:
        """The operation's own words."""
        return self.run.__doc__ or self.name

    def read(self, body: bytes) -> A:
        """What a JSON body tells. Raises InputError where it does not fit."""
        try:
            found = self._decode(body or b"{}")
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
            raise _unfit(error) from error
        return _tame(found)

    def read_query(self, query: dict[str, list[str]]) -> A:
        """What a query string tells, each word with all of its values. Raises InputError."""
        many = {f.encode_name for f in msgspec.structs.fields(self.args) if "tuple" in str(f.type)}
        plain = {name: values if name in many else values[-1] for name, values in query.items()}
        try:
            found = msgspec.convert(plain, self.args, strict=False)
        except (msgspec.ValidationError, RecursionError) as error:
            raise _unfit(error) from error
        return _tame(found)


def _tame(args: A) -> A:
    """`args`, whose texts may have line ends and tabs but no other control character: those garble lists, terminals
    and logs. Raises InputError."""
    for text in _texts(msgspec.to_builtins(args)):
        if _CONTROL.search(text):
            raise InputError("The request does not fit.", f"{text!r} holds a control character.", "Leave it out.")
    return args


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from (text for one in value.items() for part in one for text in _texts(part))
    elif isinstance(value, list | tuple):
        yield from (text for one in value for text in _texts(one))


def _unfit(error: Exception) -> InputError:
    return InputError("The request does not fit.", f"{error}.", "Correct what it names.")
