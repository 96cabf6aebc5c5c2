"""The command line's way to a running daemon: the same verbs, by HTTP, with the run token."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator

from rigd.client.doing import Doing
from rigd.client.looking import Looking
from rigd.client.people import Device, LetIn, Offered, People
from rigd.client.rolls import Rolls
from rigd.client.running import Running
from rigd.client.wire import Wire

__all__ = ["Device", "LetIn", "Offered", "RemoteVerbs", "remote_verbs"]


class RemoteVerbs(Running, Rolls, Looking, Doing, People):
    """All verbs of the command line (`rigd.operations.verbs.Verbs`), spoken to a running daemon; and those about
    people, which a daemon alone has."""


@contextlib.asynccontextmanager
async def remote_verbs(url: str, token: str) -> AsyncIterator[RemoteVerbs]:
    """The verbs of the daemon at `url`, which has to know `token`, for as long as the block runs."""
    async with Wire(url, token) as wire:
        yield RemoteVerbs(wire)
