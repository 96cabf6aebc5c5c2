"""Verb of file names at delivery: what the template would give, before anything is delivered."""

from __future__ import annotations

from msgspec import Struct

from rigd.model.names import USUAL, Named, files_of, look_over, named
from rigd.model.reconcile import Finding
from rigd.operations.desk import Desk
from rigd.operations.finding import known_roll
from rigd.operations.verb import Args, Verb

_PAGE = 200


class Naming(Args, frozen=True):
    """`roll` left out: all rolls. `template` left out: the job's. At most `limit` names are told; all are looked at."""

    roll: str | None = None
    template: str | None = None
    limit: int = 1000


class Names(Struct, frozen=True):
    """The template that was used, how many files it names, the first of them, and what is wrong with all of them."""

    template: str
    files: int
    names: tuple[Named, ...]
    findings: tuple[Finding, ...]


async def preview(desk: Desk, args: Naming, by: str) -> Names:
    """Which names the files would get at delivery, and whether these can be."""
    job = desk.state.job
    template = args.template or (job.names if job else "") or USUAL
    found: list[Named] = named(template, ())
    for roll_id in await _rolls(desk, args.roll):
        found.extend(named(template, files_of(job, await known_roll(desk, roll_id))))
    return Names(template, len(found), tuple(found[: max(0, args.limit)]), tuple(look_over(found)))


async def _rolls(desk: Desk, name: str | None) -> list[str]:
    if name is not None:
        return [(await known_roll(desk, name)).roll.roll_id]
    found: list[str] = []
    last = 0
    while page := await desk.hub.look.lines(last, _PAGE):
        found.extend(line.roll_id for line in page if line.tally.takes)
        last = page[-1].place
    return found


NAMES = Verb("names/preview", Naming, Names, preview, Naming("r-0001", USUAL), reads=True)

VERBS = (NAMES,)
