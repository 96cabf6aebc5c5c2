"""Does it come out even? At the end of a strip, a roll, a job: a sentence, what is off, and how to settle it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import pairwise

from msgspec import Struct

from rigd.model.edges import direction, order_of
from rigd.model.order import frames_of, in_order, places_of, strips_in_order
from rigd.model.state import FrameState, RollState
from rigd.model.tally import Tally, is_suspect, tally, tally_strip
from rigd.model.values import Strip
from rigd.model.words import Stage


class Finding(Struct, frozen=True):
    """Something that is off: in plain words, with what settles it, and the frames it is about."""

    code: str
    what: str
    remedy: str
    frames: tuple[str, ...] = ()


class Account(Struct, frozen=True):
    """`of` what, the sentence, and whether it comes out `even`: nothing is missing and nothing is left to settle."""

    of: str
    sentence: str
    even: bool
    findings: tuple[Finding, ...] = ()


def account_strip(roll: RollState, strip: Strip) -> Account:
    """The account of one strip against the places it has."""
    count, places = tally_strip(roll, strip.strip_id), places_of(roll, strip)
    held = None if places is None else (places, places)
    findings = [*_counted(count, held, f"strip {strip.number}"), *_to_do(roll, frames_of(roll, strip))]
    findings += _strip_gaps(roll, strip, places)
    findings += _turned(roll, strip)
    return _account(f"Strip {strip.number}", count, held, "the strip has", findings)


def account_roll(roll: RollState) -> Account:
    """The account of one roll against what its sleeve or box says."""
    count = tally(roll)
    findings = [*_counted(count, roll.roll.expected, f"roll {roll.roll.label}"), *_to_do(roll, in_order(roll))]
    findings += [*_strips(roll), *_edges(roll), *_files(roll)]
    for strip in strips_in_order(roll):
        findings += [*_strip_gaps(roll, strip, places_of(roll, strip)), *_turned(roll, strip)]
    return _account(roll.roll.label, count, roll.roll.expected, "the sleeve says", findings)


def account_job(title: str, rolls: int, closed: int, unknown: int, count: Tally) -> Account:
    """The account of a whole job from its totals."""
    findings: list[Finding] = []
    if closed < rolls:
        findings.append(Finding("rolls-open", f"{rolls - closed} of {rolls} rolls are not closed.",
                                "Digitise them, or close those that are through: rigd rolls close."))  # fmt: skip
    if unknown:
        findings.append(Finding("unknown", f"Of {unknown} rolls nobody has said how many frames they hold.",
                                "Count them: rigd rolls change ROLL --expected N."))  # fmt: skip
    expected = (count.expected, count.expected) if count.expected and not unknown else None
    if count.missing:
        findings.append(Finding("missing", f"{count.missing} frames are missing.",
                                "See which: rigd rolls account, roll by roll."))  # fmt: skip
    findings += _open_counts(count)
    return _account(title, count, expected, "the sleeves say", findings)


def sum_words(count: Tally) -> str:
    """`11 pictures + 1 blank + 0 fogged`, without what there is none of."""
    parts = (
        (count.pictures, "picture", "pictures"),
        (count.unexposed, "blank", "blanks"),
        (count.fogged, "fogged", "fogged"),
    )
    shown = [f"{n} {one if n == 1 else many}" for n, one, many in parts if n]
    return " + ".join(shown) if shown else "no frame yet"


def _account(
    of: str, count: Tally, expected: tuple[int, int] | None, says: str, findings: list[Finding]
) -> Account:
    total = f" = {count.counted}" if count.counted else ""
    if expected is None:
        rest = "nobody has said how many there should be"
    elif expected[0] <= count.counted <= expected[1]:
        rest = f"as {says}" + ("" if expected[0] == expected[1] else f" ({expected[0]} to {expected[1]})")
    else:
        rest = f"but {says} {'-'.join(map(str, dict.fromkeys(expected)))}"
    return Account(of, f"{sum_words(count)}{total}, {rest}.", not findings, tuple(findings))


def _counted(count: Tally, expected: tuple[int, int] | None, of: str) -> list[Finding]:
    if expected is None:
        return [Finding("unknown", f"Nobody has said how many frames {of} holds, so nobody can tell what is missing.",
                        "Count it on the film, and say so.")]  # fmt: skip
    lacking = expected[0] - count.counted - count.skipped - count.open  # those are told of by themselves
    if lacking > 0:
        return [Finding("missing", f"{lacking} of {expected[0]} frames of {of} are missing.",
                        "Take them, mark them unexposed if the film ends there, or correct the count.")]  # fmt: skip
    if count.counted > expected[1]:
        more = count.counted - expected[1]
        return [Finding("too-many", f"{of[0].upper()}{of[1:]} has {more} frames more than it should.",
                        "Correct the count, or say which strip is of another roll: rigd rolls correct.")]  # fmt: skip
    return []


def _to_do(roll: RollState, frames: list[FrameState]) -> list[Finding]:
    """Frames that wait for somebody: each in the first of these lists that it fits."""
    kinds: dict[str, tuple[Callable[[FrameState], bool], str, str]] = {
        "again": (lambda f: bool(f.again), "to be taken again", "Go through the list: rigd rolls todo."),
        "skipped": (lambda f: f.skipped and not f.done, "skipped", "Go back to them: rigd rolls recall FRAME."),
        "open": (lambda f: not f.done and not f.skipped, "begun and not kept", "Take them again, or skip them."),
        "suspect": (lambda f: is_suspect(f, roll), "in doubt", "Look at them, then accept or retake: rigd rolls todo."),
    }
    found: list[Finding] = []
    left = list(frames)
    for code, (fits, words, remedy) in kinds.items():
        some = [f for f in left if fits(f)]
        left = [f for f in left if f not in some]
        if some:
            what = f"{len(some)} {'frame is' if len(some) == 1 else 'frames are'} {words}: {_places(roll, some)}."
            found.append(Finding(code, what, remedy, tuple(f.frame.frame_id for f in some)))
    return found


def _open_counts(count: Tally) -> list[Finding]:
    found = []
    for code, number, words in (
        ("again", count.again, "are to be taken again"), ("suspect", count.suspect, "are in doubt"),
        ("skipped", count.skipped, "were skipped"), ("open", count.open, "were begun and not kept"),
    ):  # fmt: skip
        if number:
            found.append(Finding(code, f"{number} frames {words}.", "Go through the list: rigd rolls todo."))
    return found


def _strip_gaps(roll: RollState, strip: Strip, places: int | None) -> list[Finding]:
    taken = Counter(f.frame.place for f in roll.frames.values() if f.frame.strip_id == strip.strip_id)
    found: list[Finding] = []
    last = max(taken, default=0)
    gaps = [place for place in range(1, last) if place not in taken]
    if gaps:
        found.append(Finding("gap", f"Strip {strip.number} has nothing at place {_list(gaps)}.",
                             "Take what lies there, or say where the others belong: rigd rolls correct."))  # fmt: skip
    twice = [place for place, n in sorted(taken.items()) if n > 1]
    if twice:
        found.append(Finding("twice", f"Strip {strip.number} has two frames at place {_list(twice)}.",
                             "One of them is of another strip: rigd rolls correct."))  # fmt: skip
    if places is not None and last > places:
        found.append(Finding("beyond", f"Strip {strip.number} has {places} places, but a frame at place {last}.",
                             "Say how many it has, or where the next strip began: rigd rolls correct."))  # fmt: skip
    return found


def _turned(roll: RollState, strip: Strip) -> list[Finding]:
    frames = frames_of(roll, strip)
    if direction([f.frame.mark for f in frames]) != -1:
        return []
    what = f"The edge marks of strip {strip.number} fall: it was fed end for end."
    remedy = f"Say so: rigd rolls correct --strips {strip.number} --turn."
    return [Finding("backwards", what, remedy, tuple(f.frame.frame_id for f in frames))]


def _strips(roll: RollState) -> list[Finding]:
    found: list[Finding] = []
    numbers = Counter(strip.number for strip in roll.strips.values() if frames_of(roll, strip))
    twice = [number for number, n in sorted(numbers.items()) if n > 1]
    if twice:
        found.append(Finding("strip-twice", f"Strip {_list(twice)} is there twice.",
                             "Give one of them its own number: rigd rolls correct."))  # fmt: skip
    planned = len(roll.roll.cuts)
    lacking = [n for n in range(1, max(planned, max(numbers, default=0)) + 1) if n not in numbers]
    if lacking:
        found.append(Finding("strip-missing", f"Strip {_list(lacking)} was not fed.", "Lay it: rigd strip --number N."))
    return found


def _edges(roll: RollState) -> list[Finding]:
    marked = [(f, order) for f in in_order(roll) if (order := order_of(f.frame.mark)) is not None]
    counts = Counter(f.frame.mark for f, _ in marked)
    found: list[Finding] = []
    twice = [mark for mark, n in counts.items() if n > 1]
    if twice:
        frames = tuple(f.frame.frame_id for f, _ in marked if f.frame.mark in twice)
        found.append(Finding("mark-twice", f"Edge mark {', '.join(twice)} comes twice.",
                             "A frame was taken under two numbers, or a strip is of another roll: rigd rolls correct.",
                             frames))  # fmt: skip
    orders = sorted({order for _, order in marked})
    jumps = [(a, b) for a, b in pairwise(orders) if b - a > 1.0]
    for a, b in jumps:
        found.append(Finding("mark-gap", f"The edge marks jump from {a:g} to {b:g}.",
                             "A frame between them was not taken, or a mark was misread."))  # fmt: skip
    return found


def _files(roll: RollState) -> list[Finding]:
    damaged = [t for t in roll.takes.values() if t.lost_why and t.stage in (Stage.STORED, Stage.JUDGED)]
    if not damaged:
        return []
    frames = tuple(dict.fromkeys(t.frame_id for t in damaged if t.frame_id))
    return [Finding("damaged", f"{len(damaged)} files are not as they were stored.",
                    "Bring them back from the second copy: rigd verify says which.", frames)]  # fmt: skip


def _places(roll: RollState, frames: list[FrameState]) -> str:
    """Where frames are, a dozen at most."""
    shown = [f"strip {roll.strips[f.frame.strip_id].number} place {f.frame.place}" for f in frames[:12]]
    return ", ".join(shown) + (" ..." if len(frames) > 12 else "")


def _list(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers))
