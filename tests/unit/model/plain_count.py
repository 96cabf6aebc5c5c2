"""The tallies of a job from its events alone, by looking for the last word on each frame: no fold, no state."""

from __future__ import annotations

from collections.abc import Iterable

from rigd.model import events as ev
from rigd.model import events_later as late
from rigd.model.tally import Tally
from rigd.model.values import Roll, Strip
from rigd.model.words import Film, Quality

Said = list[ev.AnyEvent]


def plain_count(said: Said) -> dict[str, Tally]:
    """The tally of each roll."""
    rolls = {e.roll.roll_id: e.roll for e in said if isinstance(e, ev.RollPlanned)}
    rolls |= {e.roll.roll_id: e.roll for e in said if isinstance(e, ev.RollChanged) and e.roll.roll_id in rolls}
    gone = _dropped(said)
    return {roll_id: _tally(said, roll) for roll_id, roll in rolls.items() if roll_id not in gone}


def _dropped(said: Said) -> set[str]:
    """Rolls that were dropped while nothing of them was there."""
    drops = [(n, e.roll_id) for n, e in enumerate(said) if isinstance(e, late.RollDropped)]
    return {roll_id for n, roll_id in drops if not _inhabited(said[:n], roll_id)}


def _inhabited(said: Said, roll_id: str) -> bool:
    strips = {s.strip_id: s.roll_id for e in said for s in _strips(e)}
    labels = [e for e in said if isinstance(e, ev.ExposureIntended) and e.roll_id]
    homes = [strips.get(e.strip_id or "", e.roll_id) for e in labels]
    return roll_id in strips.values() or roll_id in homes


def _strips(e: ev.AnyEvent) -> Iterable[Strip]:
    if isinstance(e, ev.StripLoaded):
        return (e.strip,)
    return e.strips if isinstance(e, late.StripsChanged) else ()


def _home(said: Said, frame_id: str) -> str:
    """The roll that a frame is of in the end."""
    strip_id = roll_id = ""
    for e in said:
        placed = [f for f in (e.frames if isinstance(e, late.FramesMoved) else ()) if f.frame_id == frame_id]
        if isinstance(e, ev.FramePlaced) and e.frame.frame_id == frame_id:
            placed = [e.frame]
        for frame in placed:
            strip_id, roll_id = frame.strip_id, frame.roll_id
        for strip in _strips(e):
            roll_id = strip.roll_id if strip.strip_id == strip_id else roll_id
    return roll_id


def _tally(said: Said, roll: Roll) -> Tally:
    placed = [e.frame.frame_id for e in said if isinstance(e, ev.FramePlaced)]
    frames = {f: _about(said, f) for f in placed if _home(said, f) == roll.roll_id}
    kinds = [_kind(about) for about in frames.values()]
    made = {f: _takes(about) for f, about in frames.items()}
    stored = {e.take_id for e in said if isinstance(e, ev.Stored)}
    stored |= {e.take.take_id for e in said if isinstance(e, late.StrayAssigned)}
    first = roll.expected[0] if roll.expected else None
    done = sum(kinds.count(k) for k in ("picture", "unexposed", "fogged"))
    open_, skipped = kinds.count("open"), kinds.count("skipped")
    return Tally(
        expected=first,
        pictures=kinds.count("picture"),
        unexposed=kinds.count("unexposed"),
        fogged=kinds.count("fogged"),
        skipped=skipped,
        open=open_,
        missing=open_ + skipped if first is None else max(0, first - done),
        retaken=sum(len(made[f]) > max(1, len(_keeper(about))) for f, about in frames.items()),
        suspect=sum(_suspect(said, about) for about in frames.values()),
        takes=sum(t in stored for takes in made.values() for t in takes),
        again=sum(_again(about) for about in frames.values()),
    )


def _about(said: Said, frame_id: str) -> Said:
    return [
        e
        for e in said
        if getattr(e, "frame_id", None) == frame_id
        or frame_id in getattr(e, "frame_ids", ())
        or (isinstance(e, late.StrayAssigned) and e.take.frame_id == frame_id)
    ]


def _takes(about: Said) -> list[str]:
    made = [e.take_id for e in about if isinstance(e, ev.ExposureIntended)]
    return made + [e.take.take_id for e in about if isinstance(e, late.StrayAssigned)]


def _kind(about: Said) -> str:
    if (film := _film(about)) in (Film.UNEXPOSED, Film.FOGGED):
        return film.value
    if _keeper(about):
        return "picture"
    kinds = ev.FrameSkipped | ev.KeeperChosen | ev.ExposureIntended | late.StrayAssigned
    words = [e for e in about if isinstance(e, kinds)]
    return "skipped" if words and isinstance(words[-1], ev.FrameSkipped) else "open"


def _film(about: Said) -> Film | None:
    """The last mark since the keeper was chosen that was not taken back; else what the keeper's choice said."""
    judged: Film | None = None
    marks: list[Film] = []
    for e in about:
        if isinstance(e, ev.KeeperChosen):
            judged, marks = e.film, []
        elif isinstance(e, ev.FrameMarked | late.FramesMarked):
            marks = [] if e.film is None else [*marks, e.film]
        elif isinstance(e, late.MarkUndone):
            marks = marks[:-1]
    return marks[-1] if marks else judged


def _keeper(about: Said) -> tuple[str, ...]:
    chosen = [e.takes for e in about if isinstance(e, ev.KeeperChosen)]
    return chosen[-1] if chosen else ()


def _again(about: Said) -> bool:
    words = [e for e in about if isinstance(e, late.FramesWanted | late.FramesAccepted | ev.KeeperChosen)]
    return bool(words) and isinstance(words[-1], late.FramesWanted) and bool(words[-1].why)


def _suspect(said: Said, about: Said) -> bool:
    keeper = _keeper(about)
    words = [e for e in about if isinstance(e, late.FramesDoubted | late.FramesAccepted | ev.KeeperChosen)]
    last = words[-1] if words else None
    if not keeper or isinstance(last, late.FramesAccepted):
        return False
    if isinstance(last, ev.KeeperChosen) and last.by != "rigd":
        return False
    judged = {e.take_id: e.verdict.take for e in said if isinstance(e, ev.Judged)}
    fine = {Quality.GOOD} if len(keeper) < 2 else {Quality.GOOD, Quality.EXCEEDS}
    return isinstance(last, late.FramesDoubted) or any(judged.get(t, Quality.GOOD) not in fine for t in keeper)
