"""How far the film has gone since the watch began, and how sure that is. Pure: looks in, millimetres out."""

from __future__ import annotations

from dataclasses import dataclass

from rigd.engine.watch_follow import bridged_mm, lost_mm
from rigd.engine.watch_sight import Seen

# Travel is measured to about a hundredth.
_TRAVEL_ERROR = 0.01
# Edges are found to a few tenths of a millimetre.
_EDGE_MM = 0.5


@dataclass
class Gap:
    """Pictures that could not be followed, for so many `seconds`: where the film was before, and its speed then."""

    here_mm: float
    doubt_mm: float
    speed: float
    seconds: float = 0.0


class Travel:
    """`here_mm`: what lies at the gate's middle, in film coordinates; it is right to `doubt_mm` either way. `adrift`:
    some picture could not be followed since the place was last told by a frame."""

    def __init__(self) -> None:
        self.here_mm = 0.0
        self.doubt_mm = 0.0
        self._speed = 0.0
        self._sure: tuple[float, float] | None = None
        self._gap: Gap | None = None

    @property
    def adrift(self) -> bool:
        return self._sure is not None

    def follow(self, seen: Seen, forwards: int, seconds: float) -> None:
        """Take in one more look, `seconds` after the one before."""
        if seen.moved_mm is None:
            self._lose(seconds)
        else:
            speed = -forwards * seen.moved_mm / seconds if seconds > 0 else 0.0
            self._bridge(speed, seconds)
            self.here_mm -= forwards * seen.moved_mm
            self.doubt_mm += _TRAVEL_ERROR * abs(seen.moved_mm)
            self._speed = speed
        if seen.found_mm is not None and self._sure is not None:
            self.here_mm, self.doubt_mm = self._sure[0] - forwards * seen.found_mm, self._sure[1] + _EDGE_MM
            self._sure = self._gap = None

    def anew(self) -> None:
        """Another film, or nobody watched: nothing is known to doubt."""
        self.doubt_mm, self._sure, self._gap = 0.0, None, None

    def stopped(self) -> None:
        """There is no film to move."""
        self.anew()
        self._speed = 0.0

    def told(self, off_mm: float = 0.0) -> None:
        """A frame's own edges tell where the film is: `off_mm` less than was thought."""
        self.here_mm -= off_mm
        self.doubt_mm, self._sure, self._gap = _EDGE_MM, None, None

    def about(self, off_mm: float, doubt_mm: float) -> None:
        """A frame of the grid tells where the film is, as well as the grid is even."""
        if self.doubt_mm > doubt_mm:
            self.here_mm -= off_mm
            self.doubt_mm = doubt_mm

    def _lose(self, seconds: float) -> None:
        """One step could not be followed."""
        if self._sure is None:
            self._sure = self.here_mm, self.doubt_mm
        self._gap = gap = self._gap or Gap(self.here_mm, self.doubt_mm, self._speed)
        gap.seconds += seconds
        self.here_mm = gap.here_mm + gap.speed * gap.seconds
        self.doubt_mm = gap.doubt_mm + lost_mm(gap.speed, gap.seconds)

    def _bridge(self, speed: float, seconds: float) -> None:
        """The film can be followed again: its speed before and after tells about how far it went between."""
        gap, self._gap = self._gap, None
        if gap is None:
            return
        self.here_mm = gap.here_mm + (gap.speed + speed) / 2 * gap.seconds
        self.doubt_mm = gap.doubt_mm + min(bridged_mm(gap.seconds + seconds), lost_mm(gap.speed, gap.seconds))
