"""Which files belong to a shot, and when it is over. No camera here: events and times in, a decision out."""

from __future__ import annotations

from datetime import datetime, timedelta

from rigd.drivers.camera.config import Allowances
from rigd.model.values import CardFile

Key = tuple[str, str]


def key(file: CardFile) -> Key:
    """What tells one file on the card from another at one time: names repeat over weeks, not side by side."""
    return file.folder, file.name


class Collector:
    """The events of one shot.

    A file belongs to the shot if it came neither before this exposure can have ended nor as a repeat of the last
    shot's; one whose own date is before the trigger is doubtful, and counts only where nothing better comes.

    Args:
        expect: how many files one release gives.
        exposure_s: None where the camera does not tell its shutter time; then only the allowance is waited for.
        trigger_s: monotonic time of the release.
        trigger_date: the release in the camera's own time; None where its clock is unknown.
        before: the files of the shot before, whose events may be repeated.
    """

    def __init__(
        self,
        expect: int,
        exposure_s: float | None,
        trigger_s: float,
        trigger_date: datetime | None,
        before: frozenset[Key],
        allow: Allowances,
    ) -> None:
        self._expect, self._allow, self._before = expect, allow, before
        self._exposure_s, self._trigger_s, self._trigger_date = exposure_s or 0.0, trigger_s, trigger_date
        self._good: dict[Key, CardFile] = {}
        self._doubtful: dict[Key, CardFile] = {}
        self._early: dict[Key, CardFile] = {}
        self._latest_s = trigger_s
        self._complete = self._full = False

    def arrived(self, file: CardFile, now_s: float) -> None:
        """A file is on the card."""
        if key(file) in self._before or key(file) in self._early:
            return
        self._latest_s = now_s
        if now_s - self._trigger_s < self._exposure_s * self._allow.earliest_share:
            self._early[key(file)] = file
        else:
            (self._doubtful if self._older(file) else self._good)[key(file)] = file

    def completed(self, now_s: float) -> None:
        """The camera says that it is done with a capture; by itself that proves nothing."""
        if now_s - self._trigger_s >= self._exposure_s * self._allow.earliest_share:
            self._complete = True
            self._latest_s = now_s

    def card_full(self, now_s: float) -> None:
        """The camera says that its card is full, for want of room for this picture or because of it."""
        self._full = True
        self._latest_s = now_s

    def refused(self, now_s: float) -> bool:
        """The card is full, files are missing, and none came for a while: none will."""
        missing = len(self._good) + len(self._doubtful) < self._expect
        return self._full and missing and now_s - self._latest_s >= self._allow.quiet_s

    def _older(self, file: CardFile) -> bool:
        if self._trigger_date is None or file.taken is None:
            return False
        slack = timedelta(seconds=self._allow.taken_slack_s)
        return datetime.fromisoformat(file.taken) < self._trigger_date - slack

    def done(self, now_s: float) -> bool:
        """All files there, and completion or quiet; with doubtful ones among them, completion and quiet."""
        quiet = now_s - self._latest_s >= self._allow.quiet_s
        if len(self._good) >= self._expect:
            return self._complete or quiet
        enough = len(self._good) + len(self._doubtful) >= self._expect
        return enough and self._complete and quiet

    def deadline_s(self) -> float:
        """Monotonic time when the first wait ends."""
        return self._trigger_s + self._exposure_s + self._allow.event_s

    def late_deadline_s(self) -> float:
        """Monotonic time when the second wait ends, which allows for a dark frame of the camera's own."""
        return self.deadline_s() + self._exposure_s + self._allow.late_s

    def pause_s(self, now_s: float) -> float:
        """How long to wait before the next look at the events: long while the shutter is open, short at its end."""
        left = self._trigger_s + self._exposure_s * self._allow.earliest_share - now_s
        return min(0.05, max(0.001, left / 2))

    @property
    def files(self) -> tuple[CardFile, ...]:
        """The shot's files, in the order in which they came."""
        if len(self._good) >= self._expect:
            return tuple(self._good.values())
        return (*self._good.values(), *self._doubtful.values())

    @property
    def strays(self) -> tuple[CardFile, ...]:
        """What came and is not the shot's."""
        better = len(self._good) >= self._expect
        return (*self._early.values(), *(self._doubtful.values() if better else ()))
