"""What is known of a job without its ledger: enough to find a roll a year later, down to the shelf."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import datetime

from msgspec import Struct

from rigd.model.metadata import FIELDS, about_roll
from rigd.model.tally import Tally
from rigd.model.values import About, Job, Roll

_YEAR = re.compile(r"\d{4}")


class KnownRoll(Struct, frozen=True):
    """A roll as it was when its job was looked at last. `words`: all that is told about it and its frames, in small
    letters."""

    roll: Roll
    closed: bool
    tally: Tally
    words: str


class KnownJob(Struct, frozen=True):
    """A job as its ledger had it at event `seq`, then, in that folder of this machine. `version` of this form."""

    job: Job
    root: str
    seq: int
    at: datetime
    rolls: tuple[KnownRoll, ...]
    version: int = 1


class Found(Struct, frozen=True):
    """A roll that was looked for. `about` with what it inherits; `there`: its job's folder can be reached now."""

    job_id: str
    job: str
    root: str
    there: bool
    at: datetime
    roll: Roll
    about: About
    closed: bool
    tally: Tally


def matches(known: KnownJob, words: Iterable[str]) -> Iterator[KnownRoll]:
    """The rolls of a job of which all of the words are told: in its own plan, its frames or its job. A year is told
    also where it lies between two dates."""
    asked = [word.casefold() for word in words]
    of_job = "\n".join(_texts(known.job.about, known.job.title)).casefold()
    for one in known.rolls:
        years = years_of(one.roll.about.dates or known.job.about.dates or "")
        if all(word in one.words or word in of_job or _among(word, years) for word in asked):
            yield one


def found(known: KnownJob, one: KnownRoll, there: bool) -> Found:
    about = about_roll(known.job, one.roll)
    return Found(known.job.job_id, known.job.title, known.root, there, known.at, one.roll, about, one.closed, one.tally)


def years_of(dates: str) -> tuple[int, int] | None:
    """First and last year of a date, or of two with a slash between; None where there is none."""
    years = [int(match[0]) for part in dates.split("/") if (match := _YEAR.match(part.strip()))]
    return (min(years), max(years)) if years else None


def _among(word: str, years: tuple[int, int] | None) -> bool:
    return years is not None and _YEAR.fullmatch(word) is not None and years[0] <= int(word) <= years[1]


def _texts(about: About, title: str) -> Iterator[str]:
    yield title
    for name in FIELDS:
        value = getattr(about, name)
        yield from value if isinstance(value, tuple) else [value] if value else []
