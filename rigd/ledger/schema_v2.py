"""Schema number 2: a roll's totals and its plan stand in its row, so that a job of any size is looked through quickly;
strips, card files and copies have rows of their own; checkpoints say which rolls were in hand."""

from __future__ import annotations

V2 = (
    "DROP VIEW roll_totals",
    "DROP TABLE roll",
    "DROP TABLE frame",
    "DROP TABLE take",
    # `body` is the plan as JSON, `words` all of its text in small letters: what a search looks through.
    "CREATE TABLE roll (place INTEGER PRIMARY KEY, roll_id TEXT NOT NULL UNIQUE, label TEXT NOT NULL, "
    "folder TEXT NOT NULL, closed INTEGER NOT NULL, expected INTEGER, pictures INTEGER NOT NULL, "
    "unexposed INTEGER NOT NULL, fogged INTEGER NOT NULL, skipped INTEGER NOT NULL, open INTEGER NOT NULL, "
    "missing INTEGER NOT NULL, retaken INTEGER NOT NULL, suspect INTEGER NOT NULL, takes INTEGER NOT NULL, "
    "again INTEGER NOT NULL, first_at TEXT, last_at TEXT, worked_s REAL NOT NULL, paced INTEGER NOT NULL, "
    "words TEXT NOT NULL, body TEXT NOT NULL)",
    "CREATE INDEX roll_by_label ON roll (label)",
    "CREATE INDEX roll_done ON roll (closed, expected)",
    "CREATE TABLE strip (strip_id TEXT PRIMARY KEY, roll_id TEXT NOT NULL, number INTEGER NOT NULL, places INTEGER) "
    "WITHOUT ROWID",
    "CREATE TABLE frame (frame_id TEXT PRIMARY KEY, roll_id TEXT NOT NULL, strip_id TEXT NOT NULL, "
    "place INTEGER NOT NULL, mark TEXT NOT NULL, kind TEXT NOT NULL, retaken INTEGER NOT NULL, "
    "suspect INTEGER NOT NULL, again INTEGER NOT NULL) WITHOUT ROWID",
    "CREATE INDEX frame_of_roll ON frame (roll_id)",
    # The frames that somebody should look at: few, and found without looking at the others.
    "CREATE INDEX frame_to_see ON frame (roll_id) WHERE suspect OR again OR kind IN ('skipped', 'open')",
    "CREATE TABLE take (take_id TEXT PRIMARY KEY, roll_id TEXT, frame_id TEXT, purpose TEXT NOT NULL, "
    "number INTEGER NOT NULL, stage TEXT NOT NULL, path TEXT NOT NULL, sha256 TEXT NOT NULL, "
    "bytes INTEGER NOT NULL, verified INTEGER NOT NULL, lost INTEGER NOT NULL, cleared INTEGER NOT NULL) WITHOUT ROWID",
    "CREATE INDEX take_of_roll ON take (roll_id)",
    "CREATE INDEX take_by_path ON take (path, sha256) WHERE path > ''",
    "CREATE INDEX take_unread ON take (take_id) WHERE NOT verified AND NOT lost AND stage IN ('stored', 'judged')",
    # The rolls that a strip, frame or take was of before it was found to be of another one.
    "CREATE TABLE been (thing TEXT NOT NULL, roll_id TEXT NOT NULL, PRIMARY KEY (thing, roll_id)) WITHOUT ROWID",
    "CREATE TABLE card_file (name TEXT NOT NULL, folder TEXT NOT NULL, take_id TEXT NOT NULL, bytes INTEGER, "
    "taken TEXT, PRIMARY KEY (name, folder, take_id)) WITHOUT ROWID",
    "CREATE TABLE copy (copied_to TEXT NOT NULL, take_id TEXT NOT NULL, PRIMARY KEY (copied_to, take_id)) "
    "WITHOUT ROWID",
    "CREATE VIEW roll_totals AS SELECT place, roll_id, label, closed, expected, pictures, unexposed, fogged, skipped, "
    "open, missing, retaken, suspect, takes, again FROM roll",
    "DROP TABLE checkpoint",
    "DROP TABLE checkpoint_roll",
    # `hand`: the ids of the rolls that were in hand, as JSON. A roll without a body was dropped.
    "CREATE TABLE checkpoint (seq INTEGER PRIMARY KEY, reducer_version INTEGER NOT NULL, rolls INTEGER NOT NULL, "
    "hand TEXT NOT NULL, crc INTEGER NOT NULL, body BLOB NOT NULL)",
    "CREATE TABLE checkpoint_roll (roll_id TEXT NOT NULL, seq INTEGER NOT NULL, place INTEGER NOT NULL, "
    "crc INTEGER NOT NULL, body BLOB NOT NULL, UNIQUE (roll_id, seq))",
)
