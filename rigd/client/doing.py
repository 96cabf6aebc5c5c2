"""Verbs that are declared as values, by HTTP."""

from __future__ import annotations

from typing import Any, TypeVar, cast

import msgspec

from rigd.client.wire import Wire
from rigd.operations.verb import Args, Verb

A = TypeVar("A", bound=Args)
R = TypeVar("R")


class Doing:
    """Asks the daemon for any of them."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    async def do(self, verb: Verb[A, R], args: A) -> R:
        """What the verb gives. Raises what it raises there, and NotReady where no daemon answers."""
        told: dict[str, Any] = msgspec.to_builtins(args)
        path = f"/api/{verb.name}"
        if verb.reads:
            asked = {name: value for name, value in told.items() if value is not None}
            return cast(R, await self._wire.get(path, verb.gives, patience_s=verb.patience_s, **asked))
        return cast(R, await self._wire.post(path, told, verb.gives, patience_s=verb.patience_s))
