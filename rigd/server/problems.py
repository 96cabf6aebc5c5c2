"""Errors on the wire: RFC 9457 problem details, built from the error tree. A traceback never leaves the daemon."""

from __future__ import annotations

import logging

import msgspec
from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from msgspec import Struct
from starlette.exceptions import HTTPException

from rigd import errors as er

log = logging.getLogger("rigd.server")

MEDIA_TYPE = "application/problem+json"

# The nearest class above an error decides; HTTP's own meanings (RFC 9110; 507 from RFC 4918).
_STATUS: dict[type[er.RigdError], int] = {
    er.RigdError: 500,
    er.InputError: 422,
    er.NotFound: 404,
    er.StaleCommand: 409,
    er.Busy: 409,
    er.NotReady: 409,
    er.CameraError: 503,
    er.CardFull: 507,
    er.DiskFull: 507,
}


class Problem(Struct, frozen=True):
    """`title` what happened, `detail` why, `remedy` what to do now; `code` is for programs."""

    status: int
    code: str
    title: str
    detail: str = ""
    remedy: str = ""

    def body(self) -> bytes:
        """The JSON text; `type` is a relative reference made from the code."""
        return msgspec.json.encode({"type": f"/problems/{self.code}", **msgspec.to_builtins(self)})

    def response(self) -> Response:
        return Response(self.body(), self.status, media_type=MEDIA_TYPE)


INTERNAL = Problem(
    500, "internal", "Something inside rigd went wrong.",
    "It is written down in the daemon's log.", "Try again; if it comes back, restart rigd and keep the log.",
)  # fmt: skip

_OF_HTTP = {
    400: Problem(
        400, "input", "The request could not be read.", "Its body is not valid JSON.", "Send one JSON object.",
    ),
    404: Problem(
        404, "not-found", "There is nothing at this address.", "It may be mistyped, or of another version.",
        "The page is at /; what the API has stands in /api/openapi.json.",
    ),
    405: Problem(
        405, "method", "This address does not take this kind of request.", "Looking is GET, everything else is POST.",
        "Use the other one; /api/openapi.json tells which.",
    ),
}  # fmt: skip


def from_error(error: er.RigdError) -> Problem:
    """What, why and remedy of an error of ours, with the HTTP status of its kind."""
    status = next(_STATUS[kind] for kind in type(error).__mro__ if kind in _STATUS)
    return Problem(status, error.code, error.what, error.why, error.remedy)


def _from_validation(error: RequestValidationError) -> Problem:
    lines = [f"{'.'.join(str(part) for part in e['loc'][1:]) or 'body'}: {e['msg']}" for e in error.errors()]
    return Problem(422, "input", "The request does not fit.", "; ".join(lines)[:500], "Correct the named fields.")


def _from_http(error: HTTPException) -> Problem:
    known = _OF_HTTP.get(error.status_code)
    return known or Problem(
        error.status_code, "error", "The request was refused.", str(error.detail)[:200],
        "Look it up in /api/openapi.json.",
    )  # fmt: skip


def install(app: FastAPI) -> None:
    """Answer every error of this app as a problem. What is unknown is left to the guard, which logs it."""

    async def ours(_: Request, error: Exception) -> Response:
        assert isinstance(error, er.RigdError)
        return from_error(error).response()

    async def unfit(_: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        return _from_validation(error).response()

    async def http(_: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        return _from_http(error).response()

    app.add_exception_handler(er.RigdError, ours)
    app.add_exception_handler(RequestValidationError, unfit)
    app.add_exception_handler(HTTPException, http)
