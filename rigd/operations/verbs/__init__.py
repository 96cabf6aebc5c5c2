"""All verbs of the command line: spoken to a desk in this process, or by HTTP to a running daemon."""

from __future__ import annotations

from typing import Protocol

from rigd.operations.desk import Desk
from rigd.operations.verbs.looking import LocalLooking, Looking
from rigd.operations.verbs.paper import LocalPaper, Paper
from rigd.operations.verbs.rig import LocalRig, RigVerbs

__all__ = ["LocalVerbs", "Verbs"]


class Verbs(Looking, Paper, RigVerbs, Protocol):
    """What a command can ask for; arguments and errors as the operations document them."""


class LocalVerbs(LocalLooking, LocalPaper, LocalRig):
    """The verbs on a desk that this process opened. Orders to the engine return when they have been carried out:
    the desk is closed right after."""

    def __init__(self, desk: Desk) -> None:
        LocalLooking.__init__(self, desk)
