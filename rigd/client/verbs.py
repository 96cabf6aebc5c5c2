"""The verbs of `rigd.operations.verbs`, spoken to a running daemon by HTTP with its run-time token."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator
from typing import Any, TypeVar
from urllib.parse import quote

import httpx
import msgspec

from rigd.errors import NotReady, RigdError, by_code
from rigd.model.tally import Tally
from rigd.model.values import Job, Roll, Setup, Strip
from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone
from rigd.operations.checking import CheckReport
from rigd.operations.looking import Status, VerifyReport
from rigd.operations.rolls import RollLine
from rigd.operations.running import Accepted

T = TypeVar("T")

# Reading a whole job back takes minutes; everything else answers at once.
_ANSWER_S = 30.0
_VERIFY_S = 3600.0


@contextlib.asynccontextmanager
async def remote_verbs(url: str, token: str) -> AsyncIterator[RemoteVerbs]:
    """The verbs of the daemon at `url`, as long as the block runs."""
    headers = {"Authorization": f"Bearer {token}"}
    async with httpx.AsyncClient(base_url=url, headers=headers, timeout=_ANSWER_S, trust_env=False) as http:
        yield RemoteVerbs(http)


class RemoteVerbs:
    """Arguments, results and errors are those of the operations. An order returns when it has been accepted.

    Raises:
        NotReady: the daemon does not answer.
    """

    def __init__(self, http: httpx.AsyncClient) -> None:
        self._http = http

    async def status(self) -> Status:
        return await self._ask("GET", "/api/state", Status)

    async def verify(self, *, roll_id: str | None = None) -> VerifyReport:
        return await self._ask("POST", "/api/verify", VerifyReport, timeout=_VERIFY_S, roll_id=roll_id)

    async def check(self) -> CheckReport:
        return await self._ask("GET", "/api/check", CheckReport)

    async def open_job(self, *, title: str, default_base: BaseType) -> Job:
        return await self._ask("POST", "/api/job", Job, title=title, default_base=default_base)

    async def describe_setup(self, *, holder: str, lens: str, f_number: float, iso: int, lamp: str) -> Setup:
        return await self._ask(
            "POST", "/api/setup", Setup, holder=holder, lens=lens, f_number=f_number, iso=iso, lamp=lamp
        )

    async def plan_roll(
        self, *, label: str, film_format_name: str, tone: Tone, colour: Colour, expected: tuple[int, int] | None,
        strip_places: int | None, base_type: BaseType | None, stock: str, process: str, where: str,
    ) -> Roll:  # fmt: skip
        return await self._ask(
            "POST", "/api/rolls", Roll, label=label, film_format=film_format_name, tone=tone, colour=colour,
            expected=expected, strip_places=strip_places, base_type=base_type, stock=stock, process=process,
            where=where,
        )  # fmt: skip

    async def open_roll(self, *, roll_id: str) -> Roll:
        return await self._ask("POST", f"/api/rolls/{quote(roll_id, safe='')}/open", Roll)

    async def close_roll(self, *, roll_id: str) -> Tally:
        return await self._ask("POST", f"/api/rolls/{quote(roll_id, safe='')}/close", Tally)

    async def list_rolls(self) -> tuple[RollLine, ...]:
        return await self._ask("GET", "/api/rolls", tuple[RollLine, ...])

    async def tally(self, *, roll_id: str | None = None) -> Tally:
        path = f"/api/rolls/{quote(roll_id, safe='')}/tally" if roll_id else "/api/tally"
        return await self._ask("GET", path, Tally)

    async def load_strip(
        self, *, places: int | None = None, emulsion: Emulsion | None = None, turn: int | None = None
    ) -> Strip:
        return await self._ask("POST", "/api/strips", Strip, places=places, emulsion=emulsion, turn=turn)

    async def mark(self, *, frame_id: str, film: Film | None) -> None:
        await self._ask("POST", "/api/mark", dict, frame_id=frame_id, film=film)

    async def trigger(self, *, nonce: str = "", target: str | None = None) -> Accepted:
        return await self._ask("POST", "/api/trigger", Accepted, nonce=nonce, target=target)

    async def retake(self, *, nonce: str = "", frame_id: str | None = None) -> Accepted:
        return await self._ask("POST", "/api/retake", Accepted, nonce=nonce, frame_id=frame_id)

    async def skip(self, *, target: str | None = None) -> Accepted:
        return await self._ask("POST", "/api/skip", Accepted, target=target)

    async def measure_gate(self) -> Accepted:
        return await self._ask("POST", "/api/gate", Accepted)

    async def pause(self) -> None:
        await self._ask("POST", "/api/pause", dict)

    async def resume(self) -> None:
        await self._ask("POST", "/api/resume", dict)

    async def recover(self) -> None:
        await self._ask("POST", "/api/recover", dict)

    async def quit(self) -> None:
        """Ask the daemon to end."""
        await self._ask("POST", "/api/quit", dict)

    async def _ask(self, method: str, path: str, kind: type[T], timeout: float = _ANSWER_S, **body: Any) -> T:  # noqa: ASYNC109 - httpx's own time limit is set, nothing is awaited here
        content = None if method == "GET" else msgspec.json.encode(body)
        headers = {} if method == "GET" else {"Content-Type": "application/json"}
        try:
            reply = await self._http.request(method, path, content=content, headers=headers, timeout=timeout)
        except httpx.HTTPError as error:
            raise NotReady(
                "The daemon does not answer.",
                f"It has the job open, but the request failed: {error or type(error).__name__}.",
                "Look at the terminal it runs in; end it there if it hangs, and try again.",
            ) from error
        if reply.is_error:
            raise _problem(reply)
        return msgspec.json.decode(reply.content, type=kind)


def _problem(reply: httpx.Response) -> RigdError:
    """The error that the daemon reported (RFC 9457), as the class it was there."""
    try:
        said = reply.json()
    except ValueError:
        said = {}
    kind = by_code(str(said.get("code", "")))
    return kind(
        str(said.get("title", f"The daemon answered {reply.status_code}.")),
        str(said.get("detail", "")),
        str(said.get("remedy", "")),
    )
