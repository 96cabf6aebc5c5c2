"""All verbs of the command line: spoken to a desk in this process, or by HTTP to a running daemon."""

from __future__ import annotations

from typing import Protocol, TypeVar

from rigd.operations.desk import Desk
from rigd.operations.verb import Args, Verb
from rigd.operations.verbs.looking import LocalLooking, Looking
from rigd.operations.verbs.paper import LocalPaper, Paper
from rigd.operations.verbs.rig import LocalRig, RigVerbs

__all__ = ["LocalVerbs", "Verbs"]

A = TypeVar("A", bound=Args)
R = TypeVar("R")


class Verbs(Looking, Paper, RigVerbs, Protocol):
    """What a command can ask for; arguments and errors as the operations document them."""

    async def do(self, verb: Verb[A, R], args: A) -> R:
        """What a verb that is declared as a value gives."""
        ...


class LocalVerbs(LocalLooking, LocalPaper, LocalRig):
    """The verbs on a desk that this process opened. Orders to the engine return when they have been carried out:
    the desk is closed right after."""

    def __init__(self, desk: Desk) -> None:
        LocalLooking.__init__(self, desk)

    async def do(self, verb: Verb[A, R], args: A) -> R:
        found = await verb.run(self._desk, args, self.SOURCE)
        if self._desk.runner is not None:  # an order that it gave must be carried out before the desk is closed
            await self._desk.runner.until_idle()
        return found
