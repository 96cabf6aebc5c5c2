"""How frames are exposed, as it is said of a job and of its rolls: inherited, changed, checked."""

from __future__ import annotations

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from rigd.errors import InputError
from rigd.model.values import Exposing
from rigd.model.words import Aim, Mains, Second

FIELDS = Exposing.__struct_fields__
# No shutter is faster or slower than these; a typing error is.
_FASTEST_S, _SLOWEST_S = 1 / 64000, 900.0


class ExposingChanges(Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """What is to be different. A field left out stays as it is; null is inherited again."""

    aim: Aim | UnsetType | None = UNSET
    mains: Mains | UnsetType | None = UNSET
    second: Second | UnsetType | None = UNSET
    fastest_s: float | UnsetType | None = UNSET
    slowest_s: float | UnsetType | None = UNSET


def said(exposing: Exposing) -> ExposingChanges | UnsetType:
    """What is said of a roll, as changes of a new one; UNSET where nothing is."""
    told = {name: value for name in FIELDS if (value := getattr(exposing, name)) is not None}
    return ExposingChanges(**told) if told else UNSET


def inherited(*chain: Exposing) -> Exposing:
    """The nearest word on each field; the nearest comes first."""
    return Exposing(**{name: next((v for e in chain if (v := getattr(e, name)) is not None), None) for name in FIELDS})


def changed_exposing(before: Exposing, changes: ExposingChanges | UnsetType) -> Exposing:
    """`before` with the changes, checked. Raises InputError."""
    if isinstance(changes, UnsetType):
        return before
    new = {name: value for name in FIELDS if not isinstance(value := getattr(changes, name), UnsetType)}
    done = replace(before, **new)
    for seconds in (done.fastest_s, done.slowest_s):
        if seconds is not None and not _FASTEST_S <= seconds <= _SLOWEST_S:
            raise InputError(f"{seconds:g} s is no shutter time.", "", "Give seconds, such as 1/500 or 4.")
    if done.fastest_s and done.slowest_s and done.fastest_s > done.slowest_s:
        raise InputError(
            f"The fastest time, {done.fastest_s:g} s, is longer than the slowest, {done.slowest_s:g} s.",
            "No shutter time lies between them.", "Give the shorter one as the fastest.",
        )  # fmt: skip
    return done
