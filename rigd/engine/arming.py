"""Which frame lies in the gate: the film's travel followed from picture to picture, and the frames it brought so far.

Film coordinates are mm along the strip, growing towards later frames, from wherever the watch began. Pure: no input or
output, no clock. A frame is told by where it lies: one pitch after the last is the next one, whatever it shows; one
that was seen before is told by its likeness where the travel is not known.
"""

from __future__ import annotations

from msgspec.structs import replace

from rigd.engine.arming_travel import Travel
from rigd.engine.arming_values import Eye, Found, Known, Wanted, What
from rigd.engine.watch_sight import Seen
from rigd.imaging.live import ALIKE, Likeness, Lying, alike
from rigd.model.formats import FilmFormat

# A frame that lies more than this share of the pitch from the grid of frames is none of them.
_OFF_GRID = 0.3
# A gap may be off by two millimetres on worn cameras.
_GAP_MM = 2.0
# Spacing of frames on one film differs by so much of the pitch on worn cameras.
_UNEVEN = 0.15
# A blank frame's neighbours begin beyond its own gaps: an edge further inside than this is a frame's that lies askew.
_INSIDE_MM = 3.0
# Gaps beside a frame without edges must look like rebate over this share of the picture's height.
_LIKE_REBATE = 0.9
_SEEN_MM = 0.6


class FilmPlace:
    """Keeps the place of one film. `follow` takes each look, `find` tells what lies in the gate, `done` that a frame is
    done with. `fresh`: the gate was empty since the last frame. `must_leave`: the film in the gate belongs to what was
    done before; nothing counts until it is out."""

    def __init__(self, film: FilmFormat, margin_mm: float) -> None:
        self.film = film
        self.margin_mm = margin_mm
        self.pitch_mm = film.pitch_mm or film.along_mm
        self.length_mm = film.along_mm
        self.strip_id: str | None = None
        self.fresh = False
        self.must_leave = False
        self.wary_from: float | None = None
        self._travel = Travel()
        self._lead: float | None = None
        self._known: list[Known] = []
        self._looks: dict[tuple[str, int], Likeness] = {}

    # -- what happens ------------------------------------------------------------------------------------------------

    def follow(self, seen: Seen, forwards: int, seconds: float) -> None:
        """Take in one more look, `seconds` after the one before."""
        if seen.frozen or seen.dark:
            return
        if seen.open:
            self._empty()
            return
        self._travel.follow(seen, forwards, seconds)
        if seen.end is not None and seen.end.film_right == (forwards > 0):
            self._lead = self._travel.here_mm + forwards * seen.end.at_mm

    def forget(self) -> None:
        """Nobody watched for a while: where the film lies is not known. What frames look like is."""
        self._known, self._lead, self.fresh = [], None, False
        self._travel.anew()

    def lies(self) -> None:
        """A take of what lies in the gate begins: whatever was in doubt before, from here on that frame tells."""
        self._travel.told()

    def done(self, strip_id: str, place: int, left_mm: float, right_mm: float, here_mm: float, look: Likeness,
             edges: bool, forwards: int) -> None:
        """A frame is done with; it lay there when the film was at `here_mm`. Where `edges` tell, it is a ruler too."""
        if strip_id != self.strip_id:
            self.strip_id, self._known = strip_id, []
        at = here_mm + forwards * (left_mm + right_mm) / 2
        before = next((k for k in self._known if k.place == place - 1), None)
        if edges and before is not None and before.edges:
            self.pitch_mm = (self.pitch_mm + (at - before.at_mm)) / 2
        if edges:
            self.length_mm = right_mm - left_mm
        self._known = [k for k in self._known if k.place != place]
        self._known.append(Known(place, at, edges))
        if not self._travel.adrift:
            self._travel.told()
        self.fresh, self.wary_from = False, None
        if not look.blank:
            self._looks[strip_id, place] = look

    def remember(self, strip_id: str, place: int, look: Likeness) -> None:
        """What a frame looks like that was taken before anybody watched."""
        if not look.blank:
            self._looks[strip_id, place] = look

    def knows(self, strip_id: str, place: int) -> bool:
        """True if it is known what that frame looks like."""
        return (strip_id, place) in self._looks

    @property
    def adrift(self) -> bool:
        """The film was lost for a while, and has not been found again."""
        return self._travel.adrift

    @property
    def here_mm(self) -> float:
        """What lies at the gate's middle, in film coordinates."""
        return self._travel.here_mm

    # -- what lies in the gate -----------------------------------------------------------------------------------------

    def find(self, seen: Seen, wanted: Wanted, eye: Eye) -> Found:
        """What lies in the gate, at a look that shows the film slow or at rest."""
        found = self._find(seen, wanted, eye)
        if found.what is What.WANTED and not self.film.loose and not self._roomy(seen, found):
            return replace(found, what=What.PARTLY)
        return found

    def _find(self, seen: Seen, wanted: Wanted, eye: Eye) -> Found:
        if self.must_leave and not (seen.dark or seen.open):
            return Found(What.TAKEN)
        if seen.dark or seen.open or seen.bed is None:
            return Found(What.NOTHING)
        if self.film.loose:
            return self._loose(seen, wanted, eye)
        frame = seen.frame if seen.frame is not None and seen.frame.plain else None
        if frame is not None and not self._known:
            self._recognise(seen, frame, wanted, eye)
        if not self._known:
            return self._unknown(seen, frame, wanted)
        if frame is not None:
            return self._told(seen, frame, wanted, eye)
        if self._travel.doubt_mm > _OFF_GRID * self.pitch_mm:
            return Found(What.PARTLY, slide_mm=self._slide_in(seen))
        return self._told_by_travel(seen, wanted, eye)

    def _told(self, seen: Seen, frame: Lying, wanted: Wanted, eye: Eye) -> Found:
        """What a plain frame is; where the gate shows more than one, a thin one beside it may be the wanted one."""
        adrift = self._travel.adrift
        found = self._told_by_edges(frame, wanted)
        doubtful = found.what is What.UNSURE or (adrift and found.what is What.WANTED)
        if doubtful and self._recognise(seen, frame, wanted, eye):
            return self._told_by_edges(frame, wanted)
        if found.what in (What.WANTED, What.UNSURE):
            return found
        beside = self._told_by_travel(seen, wanted, eye)
        return beside if beside.what is What.WANTED else found

    def _roomy(self, seen: Seen, found: Found) -> bool:
        """True if the margin lies in the gate on both sides."""
        assert seen.bed is not None
        room = seen.bed.half_mm - self.margin_mm
        return -room <= found.left_mm and found.right_mm <= room

    def expected_mm(self, wanted: Wanted) -> float | None:
        """Where the middle of the wanted frame should lie, right of the gate's middle; None where nobody knows."""
        at = self._place_mm(wanted.place) if wanted.strip_id == self.strip_id else None
        return None if at is None else wanted.forwards * (at - self._travel.here_mm)

    def _loose(self, seen: Seen, wanted: Wanted, eye: Eye) -> Found:
        """A mount or a sheet fills the gate; the next one comes when this one has been taken out."""
        assert seen.bed is not None
        half = seen.bed.half_mm
        if eye.lamp_beside(seen):
            return Found(What.PARTLY)
        if self._known:
            return Found(What.TAKEN, self._known[-1].place, -half, half)
        look = eye.likeness(seen, -half, half)
        if any(alike(look, other) >= ALIKE for other in self._looks.values()) and not self._again(look, wanted):
            return Found(What.TAKEN, None, -half, half)
        return Found(What.WANTED, wanted.place, -half, half, 0.0)

    def _again(self, look: Likeness, wanted: Wanted) -> bool:
        """True if this is the very mount that is wanted once more."""
        before = self._looks.get((wanted.strip_id or "", wanted.place))
        return before is not None and alike(look, before) >= ALIKE

    def _recognise(self, seen: Seen, frame: Lying, wanted: Wanted, eye: Eye) -> bool:
        """If this frame was seen before, the film's place is known again."""
        if not self._looks:
            return False
        look = eye.likeness(seen, frame.left_mm, frame.right_mm)
        (strip_id, place), best = max(self._looks.items(), key=lambda item: alike(look, item[1]))
        if alike(look, best) < ALIKE:
            return False
        self.strip_id = strip_id
        self._known = [Known(place, self._travel.here_mm + wanted.forwards * frame.centre_mm, True)]
        self._travel.told()
        self.fresh = False
        return True

    def _unknown(self, seen: Seen, frame: Lying | None, wanted: Wanted) -> Found:
        """No frame of this film has been met yet."""
        if frame is None:
            return Found(What.PARTLY, slide_mm=self._slide_in(seen))
        if self.wary_from is not None and abs(self._travel.here_mm - self.wary_from) < self.pitch_mm / 2:
            # Some frame of this strip could not be learned from its file: this may be it, until the film goes on.
            on = -(wanted.forwards * self.pitch_mm + frame.centre_mm)
            return Found(What.TAKEN, None, frame.left_mm, frame.right_mm, on)
        if self.fresh and wanted.place > 1:
            return Found(What.UNSURE)
        if self._passed_over(frame, wanted):
            away = wanted.forwards * self.pitch_mm - frame.centre_mm
            return Found(What.BEYOND, None, frame.left_mm, frame.right_mm, away, True)
        return Found(What.WANTED, wanted.place, frame.left_mm, frame.right_mm, -frame.centre_mm, True)

    def _passed_over(self, frame: Lying, wanted: Wanted) -> bool:
        """True if a whole frame lies between the strip's leading end and this one: strips are cut in the gaps, only
        the first may have a leader."""
        if self._lead is None or wanted.first_strip or self.film.loose:
            return False
        start = self._travel.here_mm + wanted.forwards * frame.centre_mm - self.length_mm / 2
        return start - self._lead > 0.75 * self.pitch_mm

    def _told_by_edges(self, frame: Lying, wanted: Wanted) -> Found:
        at = self._travel.here_mm + wanted.forwards * frame.centre_mm
        near = min(self._known, key=lambda k: abs(k.at_mm - at))
        steps = round((at - near.at_mm) / self.pitch_mm)
        off = at - near.at_mm - steps * self.pitch_mm
        if self._not_told(abs(off)):
            return Found(What.UNSURE, None, frame.left_mm, frame.right_mm)
        if steps == 0:
            # A frame that was here before is the best ruler there is: what the travel's errors added up to goes.
            self._travel.told(off)
        else:
            self._travel.about(off, _UNEVEN * self.pitch_mm)
        return self._compared(near.place + steps, frame.left_mm, frame.right_mm, wanted, True)

    def _not_told(self, off_mm: float) -> bool:
        """True if a frame so far off its place may be none of the grid's, or the next one."""
        if off_mm > self._travel.doubt_mm + _OFF_GRID * self.pitch_mm:
            return True
        return self.pitch_mm - off_mm < self._travel.doubt_mm + _UNEVEN * self.pitch_mm

    def _told_by_travel(self, seen: Seen, wanted: Wanted, eye: Eye) -> Found:
        """No edges: a blank, or none of a frame whole. The wanted frame lies where the travel says, or nothing does."""
        middle = self.expected_mm(wanted)
        if middle is None:
            return Found(What.PARTLY)
        if seen.frame is not None and abs(seen.frame.centre_mm - middle) < _GAP_MM:
            middle = seen.frame.centre_mm
        left, right = middle - self.length_mm / 2, middle + self.length_mm / 2
        if self._whole(seen, left, right) and self._framed(seen, left, right, eye):
            return Found(What.WANTED, wanted.place, left, right, -middle, False)
        near = min(self._known, key=lambda k: abs(k.at_mm - self._travel.here_mm))
        what = What.TAKEN if abs(near.at_mm - self._travel.here_mm) < _OFF_GRID * self.pitch_mm else What.PARTLY
        return Found(what, near.place if what is What.TAKEN else None, left, right, -middle)

    def _whole(self, seen: Seen, left: float, right: float) -> bool:
        """True if the stretch and a margin lie in the gate, on film, with no edge of another frame inside."""
        assert seen.bed is not None
        room = seen.bed.half_mm - self.margin_mm - self._travel.doubt_mm
        if left < -room or right > room:
            return False
        if seen.end is not None and (left < seen.end.at_mm if seen.end.film_right else right > seen.end.at_mm):
            return False
        return not any(left + _INSIDE_MM < edge.at_mm < right - _INSIDE_MM for edge in seen.edges)

    def _framed(self, seen: Seen, left: float, right: float, eye: Eye) -> bool:
        """True if rebate lies on both sides: what is cut by the gate has picture there."""
        before = eye.rebate(seen, left - self.margin_mm - _SEEN_MM, left - self.margin_mm)
        after = eye.rebate(seen, right + self.margin_mm, right + self.margin_mm + _SEEN_MM)
        return min(before, after) >= _LIKE_REBATE

    def _compared(self, place: int, left: float, right: float, wanted: Wanted, edges: bool) -> Found:
        """The place that was found against the one that is wanted."""
        if place < 1:
            # Nothing lies before the first frame: what was followed was not the film.
            return Found(What.UNSURE, None, left, right)
        there = self.strip_id == wanted.strip_id
        slide = -(self.expected_mm(wanted) or 0.0) if there else None
        known = {k.place for k in self._known}
        if there and place == wanted.place:
            return Found(What.WANTED, place, left, right, slide, edges)
        if not there and wanted.place == 1 and place > max(known):
            # The next strip was pushed in right behind the last: no gap was seen, but no frame of the old one is left.
            return Found(What.WANTED, 1, left, right, -(left + right) / 2, edges)
        if place in known or not there:
            return Found(What.TAKEN, place, left, right, slide, edges)
        return Found(What.BEYOND if place > wanted.place else What.BEFORE, place, left, right, slide, edges)

    # -- inside ------------------------------------------------------------------------------------------------------

    def _place_mm(self, place: int) -> float | None:
        near = min(self._known, key=lambda k: abs(k.place - place), default=None)
        return None if near is None else near.at_mm + (place - near.place) * self.pitch_mm

    def _slide_in(self, seen: Seen) -> float | None:
        """The shortest way to bring a frame to the middle of which one edge is seen."""
        half = self.length_mm / 2
        ways = [-(edge.at_mm + (half if edge.begins else -half)) for edge in seen.edges]
        return min(ways, key=abs, default=None)

    def _empty(self) -> None:
        self.forget()
        self._travel.stopped()
        self.fresh, self.must_leave, self.wary_from = True, False, None
