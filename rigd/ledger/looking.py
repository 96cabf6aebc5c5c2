"""The ledger's look-ups, from the event loop: each is carried out by the thread that owns the connection."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import Concatenate, ParamSpec, TypeVar

from rigd.ledger import view
from rigd.ledger.book import Book
from rigd.ledger.owner import OwnerThread
from rigd.ledger.standing import JobTotals
from rigd.ledger.view import FrameToSee, RollTotals, View
from rigd.model.state import RollState
from rigd.model.values import CardFile, Take

P = ParamSpec("P")
T = TypeVar("T")


class Looking:
    """What the rows and the rolls out of hand say. Costs the same at any size of the job, if nothing else is said."""

    def __init__(self, thread: OwnerThread, book: Book) -> None:
        self._thread = thread
        self._book = book

    async def _look(self, query: Callable[Concatenate[View, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        return await self._thread.submit(partial(self._book.look, lambda there: query(there, *args, **kwargs)))

    async def roll(self, name: str) -> RollState | None:
        """A roll by its id or its label, in hand or not."""
        return await self._look(view.roll_named, name)

    async def roll_of(self, thing: str) -> RollState | None:
        """The roll that a strip, frame or take is of."""
        return await self._look(view.roll_of, thing)

    async def take(self, take_id: str) -> Take | None:
        """A take by its id."""
        return await self._look(view.take, take_id)

    async def lines(
        self, after: int = 0, limit: int | None = None, words: Iterable[str] = (), kind: str = ""
    ) -> list[RollTotals]:
        """Rolls in the order of planning, after that place; with words, those whose plan holds all of them; of a kind:
        unfinished, missing, look. Costs time in proportion to what it returns, with words or a kind to the number of
        rolls."""
        return await self._look(view.lines, after, limit, words, kind)

    async def job(self) -> JobTotals:
        """The totals of the whole job."""
        return await self._look(view.job)

    async def label_is_taken(self, label: str) -> bool:
        return await self._look(view.labels, label)

    async def folders(self, start: str) -> list[str]:
        """The folders of rolls whose name begins with that, whatever the case of their letters."""
        return await self._look(view.folders, start)

    async def to_see(self, roll_id: str | None = None, limit: int | None = None) -> list[FrameToSee]:
        """Frames that are suspect, open, skipped, or to be taken again, in the order in which they were placed."""
        return await self._look(view.to_see, roll_id, limit)

    async def unread(self, after: str = "", limit: int = 1000) -> list[str]:
        """Ids of stored takes that have not been read back yet, in order, after that id."""
        return await self._look(view.unread, after, limit)

    async def stored(self, after: str = "", limit: int = 1000, roll_id: str | None = None) -> list[Take]:
        """Takes with a file, in order, after that id, of one roll or of all."""
        return await self._look(view.stored, after, limit, roll_id)

    async def uncopied(self, to: str, after: str = "", limit: int = 1000) -> tuple[list[Take], str | None]:
        """Of the next `limit` takes with a file after that id, those without a copy in `to`; and the id that was
        reached, None at the end."""
        return await self._look(view.uncopied, to, after, limit)

    async def copies(self, to: str) -> tuple[int, int]:
        """How many takes have a copy there, of how many that have a file. In proportion to the job: ask seldom."""
        return await self._look(view.copies, to)

    async def files_in(self, folder: str) -> list[tuple[str, str]]:
        """(sha256, path) of every stored file below a folder of the job, whatever roll its frame is of now."""
        return await self._look(view.files_in, folder)

    async def claimed(self, names: Iterable[str]) -> list[CardFile]:
        """Files with these names on a camera's card that belong to a take already."""
        return await self._look(view.claimed, tuple(names))

    async def from_card(self, name: str) -> list[Take]:
        """The takes that had a file of that name on the card."""
        return await self._look(view.taken_from_card, name)
