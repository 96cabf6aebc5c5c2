"""The contact sheet of a delivery: drawn of its proofs, so that it shows the very pictures that are handed over."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

import msgspec

from rigd.errors import InputError
from rigd.handover.files import put_bytes
from rigd.handover.planning import RollPlan
from rigd.handover.values import FrameMade
from rigd.imaging import decode_jpeg, no_larger
from rigd.sheets import PAPERS, PICTURE_PX, contact, draw_pdf, draw_png, lay_out
from rigd.sheets.content import as_seen
from rigd.sheets.values import RGB8
from rigd.store.faults import translated
from rigd.store.papers import ROLL, read_roll

SHEET = "contact-sheet"
_PAPER = "A4"


def sheet_key(made: Sequence[FrameMade], roll: RollPlan) -> str:
    """The same key, the same sheet."""
    body = msgspec.json.encode(([one.key for one in made], roll.papers.get(ROLL, b"")))
    return hashlib.sha256(body).hexdigest()


def draw_sheet(roll: RollPlan, made: Sequence[FrameMade], folder: Path) -> None:
    """Write `contact-sheet.pdf` and one PNG a page into the roll's folder. Frames without a proof are left blank.
    Raises InputError for a proof that cannot be read, DiskFull, DiskFaulty."""
    paper = read_roll(roll.papers[ROLL])
    state = paper.state
    pictures: dict[str, RGB8] = {}
    for one in made:
        strip = state.strips[state.frames[one.frame_id].frame.strip_id]
        proof = next((folder / file.path for file in one.files if file.path.endswith(".jpg")), None)
        if proof is not None:
            # The sheet turns pictures as their strip lies; proofs are turned already, and twice is not at all.
            pictures[one.frame_id] = as_seen(_read(proof), strip)
    pages = lay_out(contact(paper.job, state, pictures), PAPERS[_PAPER])
    title = f"{roll.label}, contact sheet"
    put_bytes(folder, f"{SHEET}.pdf", draw_pdf(pages, title, paper.job.title if paper.job else ""))
    for number, page in enumerate(pages, 1):
        put_bytes(folder, f"{SHEET}-{number}.png", draw_png(page))


def _read(proof: Path) -> RGB8:
    with translated(f"Reading {proof.name}"):
        found = decode_jpeg(proof.read_bytes())
    if found is None:
        raise InputError(f"{proof.name} cannot be read as a picture.", "", "Remove it, and hand over again.")
    return no_larger(found, PICTURE_PX)
