"""One HTTP connection to the daemon: requests out, values or errors of ours back."""

from __future__ import annotations

from types import TracebackType
from typing import Any, Self, TypeVar

import httpx
import msgspec
from msgspec import Struct

from rigd.errors import NotReady, RigdError, by_code

T = TypeVar("T")

# Everything but reading a whole job back answers within a step of the cycle; a longest exposure is some seconds.
ANSWER_S = 60.0


class _Problem(Struct):
    """RFC 9457 problem details as the daemon sends them."""

    title: str
    code: str = "error"
    detail: str = ""
    remedy: str = ""


class Wire:
    """Speaks JSON with one daemon. Used as an async context manager."""

    def __init__(self, url: str, token: str, transport: httpx.AsyncBaseTransport | None = None) -> None:
        # The daemon is on this machine: proxies of the environment have no say.
        self._http = httpx.AsyncClient(
            base_url=url, headers={"Authorization": f"Bearer {token}"}, timeout=ANSWER_S, trust_env=False,
            transport=transport,
        )  # fmt: skip

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self._http.aclose()

    async def get(self, path: str, kind: type[T], /, patience_s: float = ANSWER_S, **query: Any) -> T:
        """Ask, and read the answer as `kind`. Raises as `post` does."""
        return await self._ask("GET", path, kind, params=query, timeout=patience_s)

    async def post(self, path: str, body: dict[str, Any], kind: type[T], patience_s: float = ANSWER_S) -> T:
        """Command, and read the answer as `kind`; it must begin to come within `patience_s` seconds.

        Raises:
            NotReady: no daemon answers there.
            RigdError: what the daemon said, as the class that it raised there.
        """
        return await self._ask("POST", path, kind, json=msgspec.to_builtins(body), timeout=patience_s)

    async def _ask(self, method: str, path: str, kind: type[T], **how: Any) -> T:
        try:
            reply = await self._http.request(method, path, **how)
        except httpx.HTTPError as error:
            raise NotReady(
                "The daemon does not answer.",
                f"It has the job open, but the request failed: {error or type(error).__name__}.",
                "Look at the terminal it runs in; end it there if it hangs, and try again.",
            ) from error  # fmt: skip
        if reply.is_error:
            raise _error(reply)
        return msgspec.json.decode(reply.content, type=kind)


def _error(reply: httpx.Response) -> RigdError:
    """The daemon's problem as the error that it was; anything else as a plain one."""
    try:
        problem = msgspec.json.decode(reply.content, type=_Problem)
    except msgspec.DecodeError:
        return RigdError(f"The daemon answered {reply.status_code}.", "", "Look into its log.")
    return by_code(problem.code)(problem.title, problem.detail, problem.remedy)
