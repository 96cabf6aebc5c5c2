"""Errors on the wire. Sources: RFC 9457 (members and media type), RFC 9110 and RFC 4918 (status codes)."""

from __future__ import annotations

import json

import pytest

from rigd import errors as er
from rigd.server.problems import MEDIA_TYPE, from_error


def kinds(root: type[er.RigdError] = er.RigdError) -> list[type[er.RigdError]]:
    return [root, *(kind for child in root.__subclasses__() for kind in kinds(child))]


@pytest.mark.parametrize("kind", kinds())
def test_every_error_has_a_status_and_keeps_its_words(kind: type[er.RigdError]) -> None:
    answer = from_error(kind("What.", "Why.", "Remedy.")).response()
    assert answer.media_type == MEDIA_TYPE == "application/problem+json"
    said = json.loads(bytes(answer.body))
    assert (said["title"], said["detail"], said["remedy"], said["code"]) == ("What.", "Why.", "Remedy.", kind.code)
    assert said["status"] == answer.status_code
    assert 400 <= answer.status_code < 600


@pytest.mark.parametrize(
    ("kind", "status"),
    [
        (er.NotFound, 404), (er.BadSetting, 422), (er.StaleCommand, 409), (er.Busy, 409), (er.NotReady, 409),
        (er.CameraLost, 503), (er.CardFull, 507), (er.DiskFull, 507), (er.LedgerDamaged, 500),
    ],
)  # fmt: skip
def test_the_status_is_that_of_the_nearest_kind(kind: type[er.RigdError], status: int) -> None:
    assert from_error(kind("What.")).status == status
