"""A verb as a value: what it is called, what it is told, what it gives, and the operation behind it.

One declaration serves all ways: a command in this process, a command beside a running daemon, and HTTP, where it is
described for other programs too.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any, Generic, TypeVar

import msgspec
from msgspec import Struct

from rigd.errors import InputError
from rigd.operations.desk import Desk


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
            return self._decode(body or b"{}")
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
            raise _unfit(error) from error

    def read_query(self, query: dict[str, list[str]]) -> A:
        """What a query string tells, each word with all of its values. Raises InputError."""
        many = {f.encode_name for f in msgspec.structs.fields(self.args) if "tuple" in str(f.type)}
        plain = {name: values if name in many else values[-1] for name, values in query.items()}
        try:
            return msgspec.convert(plain, self.args, strict=False)
        except (msgspec.ValidationError, RecursionError) as error:
            raise _unfit(error) from error


def _unfit(error: Exception) -> InputError:
    return InputError("The request does not fit.", f"{error}.", "Correct what it names.")
