"""From a roll of the ledger to what stands on its contact sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime

import cv2
import numpy as np

from rigd.model.formats import film_format
from rigd.model.metadata import about_roll
from rigd.model.order import numbers, places_of, strips_in_order
from rigd.model.reconcile import account_roll
from rigd.model.state import FrameState, RollState
from rigd.model.tally import is_retaken, is_suspect, kind_of, tally
from rigd.model.values import Job, Strip
from rigd.model.words import Emulsion
from rigd.sheets.values import RGB8, Cell, Contact, Piece

# Between mounts or sheets that lie side by side, as a share of their length (value chosen by eye).
_LOOSE_GAP = 1.06


def contact(job: Job | None, roll: RollState, pictures: Mapping[str, RGB8]) -> Contact:
    """The contact sheet of one roll.

    Args:
        pictures: positives by frame id, (h, w, 3) sRGB, as the camera saw them; those that lack are left blank.
    """
    form = film_format(roll.roll.film_format)
    return Contact(
        title=roll.roll.label,
        job=job.title if job else "",
        facts=_facts(job, roll),
        sum=account_roll(roll).sentence,
        note=_note(roll.last_at),
        pieces=_pieces(roll, pictures),
        along_mm=form.along_mm,
        across_mm=form.across_mm,
        pitch_mm=form.pitch_mm or form.along_mm * _LOOSE_GAP,
    )


def as_seen(picture: RGB8, strip: Strip) -> RGB8:
    """The picture upright and the right way round: emulsion up was seen from behind, a turned strip end for end."""
    if strip.emulsion is Emulsion.UP:
        picture = np.asarray(cv2.flip(picture, 1), np.uint8)
    return np.asarray(cv2.rotate(picture, cv2.ROTATE_180), np.uint8) if strip.turn == 180 else picture


def _facts(job: Job | None, roll: RollState) -> tuple[tuple[str, str], ...]:
    about, plan = about_roll(job, roll.roll), roll.roll
    film = f"{plan.film_format}, {plan.colour.value} {plan.tone.value}"
    told = {
        "Title": about.title, "Caption": about.caption, "Place": about.place, "Dates": about.dates,
        "Photographer": about.photographer, "Film": film, "Stock": about.stock, "Process": about.process,
        "Base": plan.base_type.value, "Camera": about.camera, "Lens": about.lens, "Rights": about.rights,
        "Reference": about.reference, "Keywords": ", ".join(about.keywords or ()), "Kept in": plan.where,
    }  # fmt: skip
    return tuple((name, " ".join(value.split())) for name, value in told.items() if value)


def _note(last: datetime | None) -> str:
    return f"Last frame {last:%Y-%m-%d %H:%M} UTC" if last else "Nothing taken yet"


def _pieces(roll: RollState, pictures: Mapping[str, RGB8]) -> tuple[Piece, ...]:
    order, count = numbers(roll), tally(roll)
    lacking = count.missing - count.skipped - count.open  # these have a place of their own
    found: list[Piece] = []
    for strip in strips_in_order(roll):
        cells, gaps = _cells(roll, strip, order, pictures, lacking)
        lacking -= gaps
        found.append(Piece(_heading(roll, strip), cells))
    return (*found, *_never_fed(roll, lacking))


def _heading(roll: RollState, strip: Strip) -> str:
    """Loose ones have their number below them already."""
    loose = film_format(roll.roll.film_format).loose
    words = [strip.sleeve] if loose else [f"Strip {strip.number}", strip.sleeve]
    words += [strip.tone.value] if strip.tone and strip.tone is not roll.roll.tone else []
    return "  ".join(word for word in words if word)


def _cells(
    roll: RollState, strip: Strip, order: Mapping[str, int], pictures: Mapping[str, RGB8], lacking: int
) -> tuple[tuple[Cell, ...], int]:
    """The places of a strip, and how many of them hold nothing. Places after the last frame are named as missing only
    as far as the roll still lacks frames: film may end before its last strip does."""
    there: dict[int, list[FrameState]] = defaultdict(list)
    for frame in roll.frames.values():
        if frame.frame.strip_id == strip.strip_id:
            there[frame.frame.place].append(frame)
    last = max(there, default=0)
    inside = last - len(there)
    end = max(last, min(places_of(roll, strip) or 0, last + max(0, lacking - inside)))
    places = range(1, end + 1) if strip.turn != 180 else range(end, 0, -1)
    cells: list[Cell] = []
    for place in places:
        cells += [_cell(roll, strip, frame, order, pictures) for frame in there[place]] or [_gap()]
    return tuple(cells), sum(cell.number == 0 for cell in cells)


def _gap() -> Cell:
    return Cell(0, "", None, ("missing",), True)


def _cell(
    roll: RollState, strip: Strip, frame: FrameState, order: Mapping[str, int], pictures: Mapping[str, RGB8]
) -> Cell:
    frame_id = frame.frame.frame_id
    picture = pictures.get(frame_id)
    seen = None if picture is None else as_seen(picture, strip)
    words, loud = words_of(roll, frame)
    return Cell(order[frame_id], frame.frame.mark, seen, words, loud)


def words_of(roll: RollState, frame: FrameState) -> tuple[tuple[str, ...], bool]:
    """What is to be said of a frame, nothing where it is a plain good picture; and whether somebody should look."""
    kind = kind_of(frame)
    verdicts = [take.verdict for t in frame.keeper if (take := roll.takes.get(t)) is not None]
    faults = [v.take.value for v in verdicts if v is not None and v.take.value != "good"]
    suspect = is_suspect(frame, roll)
    found = [] if kind == "picture" else ["not kept" if kind == "open" else kind]
    found += [f"in doubt: {', '.join(dict.fromkeys(faults)) or frame.doubt}"] if suspect else []
    found += ["take again"] if frame.again else []
    found += ["retaken"] if is_retaken(frame) else []
    return tuple(found), suspect or bool(frame.again) or kind in ("open", "skipped")


def _never_fed(roll: RollState, lacking: int) -> list[Piece]:
    """Strips that the plan counts and nobody fed, as far as frames are lacking."""
    fed = {strip.number for strip in roll.strips.values()}
    found: list[Piece] = []
    for number, places in enumerate(roll.roll.cuts, 1):
        if number not in fed and lacking > 0:
            found.append(Piece(f"Strip {number}  not fed", (_gap(),) * min(places, lacking)))
            lacking -= places
    return found
