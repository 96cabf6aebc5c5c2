"""Looking things up in the rows and in the rolls that are out of hand: what the fold alone does not hold."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

import msgspec
from msgspec import Struct

from rigd.ledger.hand import homes, read_roll
from rigd.ledger.projection import Projection
from rigd.ledger.standing import JobTotals
from rigd.model.state import RollState, State
from rigd.model.tally import Tally
from rigd.model.values import CardFile, Roll, Take

_COUNTS = ", ".join(Tally.__struct_fields__)
_LINE = f"SELECT place, body, closed, {_COUNTS}, worked_s, paced, words FROM roll"
_decode_roll = msgspec.json.Decoder(Roll).decode
# A backslash and the two signs that LIKE knows (https://www.sqlite.org/lang_expr.html#like).
_LIKE = str.maketrans({"\\": "\\\\", "%": "\\%", "_": "\\_"})


class View(Struct, frozen=True):
    """One open ledger to look into: `saved` is the event number of the newest checkpoint."""

    db: sqlite3.Connection
    state: State
    saved: int
    rows: Projection


class RollTotals(Struct, frozen=True):
    """One roll as its row says it: the plan, the tally, its place in the order of planning, its pace, and all that is
    told about it and its frames in small letters."""

    place: int
    roll: Roll
    closed: bool
    tally: Tally
    worked_s: float = 0.0
    paced: int = 0
    words: str = ""

    @property
    def roll_id(self) -> str:
        return self.roll.roll_id


class FrameToSee(Struct, frozen=True):
    """A frame that somebody should look at, or go back to."""

    frame_id: str
    roll_id: str
    kind: str
    suspect: bool
    again: bool


def roll(view: View, roll_id: str) -> RollState | None:
    """A roll by its id, in hand or not."""
    return view.state.rolls.get(roll_id) or read_roll(view.db, roll_id, view.saved)


def roll_named(view: View, name: str) -> RollState | None:
    """A roll by its id or its label."""
    found = roll(view, name)
    if found is not None:
        return found
    row = view.db.execute("SELECT roll_id FROM roll WHERE label = ?", (name,)).fetchone()
    return roll(view, row[0]) if row else None


def roll_of(view: View, thing: str) -> RollState | None:
    """The roll that a strip, frame or take is of."""
    for roll_id in homes(view.db, thing):
        found = roll(view, roll_id)
        if found and (thing in found.frames or thing in found.takes or thing in found.strips):
            return found
    return None


def take(view: View, take_id: str) -> Take | None:
    """A take by its id."""
    known = view.state.take(take_id)
    if known is not None:
        return known
    home = roll_of(view, take_id)
    return home.takes[take_id] if home else None


def totals(view: View, roll_id: str) -> RollTotals | None:
    """The line of one roll."""
    row = view.db.execute(f"{_LINE} WHERE roll_id = ?", (roll_id,)).fetchone()
    return _line(row) if row else None


_KINDS = {
    "": "", "unfinished": " AND NOT closed", "missing": " AND missing > 0",
    "look": " AND suspect + skipped + open + again > 0",
}  # fmt: skip


def lines(view: View, after: int, limit: int | None, words: Iterable[str] = (), kind: str = "") -> list[RollTotals]:
    """Lines of rolls after that place in the order of planning; only those whose plan holds all of the words, and of
    that kind: unfinished, missing (frames), look (frames that somebody should look at)."""
    asked = [f"%{word.casefold().translate(_LIKE)}%" for word in words]
    where = "".join(" AND words LIKE ? ESCAPE '\\'" for _ in asked)
    query = f"{_LINE} WHERE place > ?{where}{_KINDS[kind]} ORDER BY place LIMIT ?"
    rows = view.db.execute(query, (after, *asked, -1 if limit is None else limit))
    return [_line(row) for row in rows]


def job(view: View) -> JobTotals:
    """The totals of the job, as they were kept up to date."""
    return view.rows.standing.totals()


def labels(view: View, label: str) -> bool:
    """True if a roll has that label."""
    return view.db.execute("SELECT 1 FROM roll WHERE label = ?", (label,)).fetchone() is not None


def folders(view: View, start: str) -> list[str]:
    """The folders of rolls whose name begins with that, whatever the case of their letters."""
    asked = start.translate(_LIKE) + "%"
    return [row[0] for row in view.db.execute("SELECT folder FROM roll WHERE folder LIKE ? ESCAPE '\\'", (asked,))]


def to_see(view: View, roll_id: str | None, limit: int | None) -> list[FrameToSee]:
    """Frames that are suspect, open, skipped, or to be taken again, of one roll or of all."""
    query = (
        "SELECT frame_id, roll_id, kind, suspect, again FROM frame WHERE (suspect OR again OR kind IN "
        "('skipped', 'open')) AND (?1 IS NULL OR roll_id = ?1) ORDER BY frame_id LIMIT ?2"
    )
    rows = view.db.execute(query, (roll_id, -1 if limit is None else limit))
    return [FrameToSee(f, r, kind, bool(suspect), bool(again)) for f, r, kind, suspect, again in rows]


def unread(view: View, after: str, limit: int) -> list[str]:
    """Ids of stored takes that have not been read back, in order, after that id."""
    query = (
        "SELECT take_id FROM take WHERE NOT verified AND NOT lost AND stage IN ('stored', 'judged') AND take_id > ? "
        "ORDER BY take_id LIMIT ?"
    )
    return [row[0] for row in view.db.execute(query, (after, limit))]


def stored(view: View, after: str, limit: int, roll_id: str | None = None) -> list[Take]:
    """Takes with a file, in the order of their ids, after that id, of one roll or of all."""
    # The sign + keeps SQLite from going through all takes in their order for the few of one roll.
    of_roll = "" if roll_id is None else " AND roll_id = ?3"
    order = "take_id" if roll_id is None else "+take_id"
    query = f"SELECT take_id, roll_id FROM take WHERE take_id > ?1 AND path > ''{of_roll} ORDER BY {order} LIMIT ?2"
    asked = (after, limit) if roll_id is None else (after, limit, roll_id)
    return _takes(view, view.db.execute(query, asked).fetchall())


def uncopied(view: View, to: str, after: str, limit: int) -> tuple[list[Take], str | None]:
    """Of the next `limit` takes with a file after that id: those without a copy there. And the id that was reached,
    None at the end."""
    rows = view.db.execute(
        "SELECT take_id, roll_id, EXISTS (SELECT 1 FROM copy WHERE copied_to = ?3 AND copy.take_id = take.take_id) "
        "FROM take WHERE take_id > ?1 AND path > '' AND NOT lost ORDER BY take_id LIMIT ?2",
        (after, limit, to),
    ).fetchall()
    found = _takes(view, [(take_id, roll_id) for take_id, roll_id, has in rows if not has])
    return found, rows[-1][0] if len(rows) == limit else None


def copies(view: View, to: str) -> tuple[int, int]:
    """How many takes have a copy there, and how many have a file."""
    done = view.db.execute("SELECT count(*) FROM copy WHERE copied_to = ?", (to,)).fetchone()[0]
    return int(done), int(view.db.execute("SELECT count(*) FROM take WHERE path > ''").fetchone()[0])


def files_in(view: View, folder: str) -> list[tuple[str, str]]:
    """(sha256, path) of every stored file below a folder, whatever roll its frame is of now."""
    # "0" is the sign after "/".
    query = "SELECT sha256, path FROM take WHERE path > '' AND path >= ? AND path < ? ORDER BY path"
    return list(view.db.execute(query, (f"{folder}/", f"{folder}0")))


def claimed(view: View, names: Iterable[str]) -> list[CardFile]:
    """The files with these names on a camera's card that belong to a take already."""
    found: list[CardFile] = []
    for name in set(names):
        rows = view.db.execute("SELECT folder, name, bytes, taken FROM card_file WHERE name = ?", (name,))
        found.extend(CardFile(*row) for row in rows)
    return found


def taken_from_card(view: View, name: str) -> list[Take]:
    """The takes that have a file of that name on the card."""
    rows = view.db.execute(
        "SELECT take.take_id, roll_id FROM card_file JOIN take USING (take_id) WHERE name = ?", (name,)
    ).fetchall()
    return _takes(view, rows)


def _takes(view: View, rows: list[tuple[str, str | None]]) -> list[Take]:
    """The takes of these (take, roll) ids; each roll is read once."""
    rolls: dict[str, RollState | None] = {}
    found: list[Take] = []
    for take_id, roll_id in rows:
        if roll_id is None:
            known = view.state.loose.get(take_id)
        else:
            if roll_id not in rolls:
                rolls[roll_id] = roll(view, roll_id)
            home = rolls[roll_id]
            known = home.takes.get(take_id) if home else None
        if known is not None:
            found.append(known)
    return found


def _line(row: tuple[object, ...]) -> RollTotals:
    place, body, closed, expected, *rest = row
    *counts, worked_s, paced, words = rest
    tally = Tally(expected, *counts)  # type: ignore[arg-type]  # the columns are those of the tally
    pace = float(str(worked_s)), int(str(paced))
    return RollTotals(int(str(place)), _decode_roll(str(body)), bool(closed), tally, *pace, str(words))
