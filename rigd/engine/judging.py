"""Judge a stored take, let the policy rule on it, and commit both together with what follows."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from rigd.engine.asking import asked_of, looked_at, unreadable, with_corners
from rigd.engine.holding import by_itself, first_hold, held_ruling, unmetered, watched
from rigd.engine.pictures import Looks, make_pair
from rigd.engine.places import next_place, roll_is_full
from rigd.engine.policy import History, Ruling, rule
from rigd.engine.rig import Rig
from rigd.engine.steps import Safe
from rigd.engine.watch_movement import Movement, with_movement
from rigd.errors import RawUnreadable
from rigd.imaging import Asked, Judgement
from rigd.imaging.raw import Raw
from rigd.imaging.signature import Signature, other_picture
from rigd.model.events import Advanced, AnyEvent, Judged, KeeperChosen, RollClosed
from rigd.model.events_exposing import ShutterHeld
from rigd.model.order import film_kind
from rigd.model.state import RollState
from rigd.model.values import Held, Take, Verdict
from rigd.model.words import Aim, Colour, Decision, Film, Purpose, Quality, Stage, Tone

# A camera that returns an old picture returns one of the last few: it buffers no more.
_REMEMBERED = 6

Looked = tuple[Raw, Judgement]
Heard = Callable[[Take, Ruling], None]


class Weighed(Struct, frozen=True):
    """A take's verdict and what follows from it, before either is committed; `looked` is what its picture is drawn
    from."""

    verdict: Verdict
    ruling: Ruling
    looked: Looked | RawUnreadable
    held: Held | None = None


class Judging:
    """The judge's bench. `cycle_from`: takes with a higher number than this belong to the cycle in hand. `foretold`:
    what was known of the frame in hand before its first take; its next verdict carries it. `ruled`: the last ruling."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self._seen: deque[tuple[str | None, Signature]] = deque(maxlen=_REMEMBERED)
        self.cycle_from = 0
        self.foretold: dict[str, float] = {}
        self.ruled: Ruling | None = None
        self._heard: Heard | None = None

    @contextmanager
    def heard(self, listener: Heard) -> Iterator[None]:
        """Within the block `listener` hears each ruling as soon as it is known, before it is committed: from then on
        only the file has to be made safe."""
        self._heard = listener
        try:
            yield
        finally:
            self._heard = None

    async def look(self, take: Take, path: Path) -> Looked | RawUnreadable:
        """Decode and judge in a thread; nothing is committed. An unreadable file is a finding, not a crash."""
        try:
            return await asyncio.to_thread(looked_at, path, self._asked(take, self._roll(take)))
        except RawUnreadable as error:
            return error
        except OSError as error:
            return RawUnreadable(f"{path.name} could not be opened.", f"{error.strerror}.", "Read it again.")

    async def judge(
        self, safe: Safe, looked: Looked | RawUnreadable | None = None, moved: Movement | None = None
    ) -> Ruling:
        """Commit verdict, ruling, keeper and advance of a stored take in one transaction. `looked`: what was found in
        its file while it was being stored; `moved` tells what moved during the exposure, once it is known."""
        rig = self._rig
        rig.phase("judge")
        take = rig.state.take(safe.take_id)
        assert take is not None
        if looked is None or isinstance(looked, RawUnreadable):
            # The name changed while it was being opened, or it is broken: the final name settles it.
            looked = await self.look(take, safe.path)
        return await self.commit(take, await self.weigh(take, looked, moved))

    async def weigh(self, take: Take, looked: Looked | RawUnreadable, moved: Movement | None) -> Weighed:
        """Verdict and ruling of a take, whether or not its file is safe already. Nothing is committed."""
        verdict, correction = self._found(take, looked)
        if moved is not None:
            verdict = with_movement(verdict, await moved)
        verdict = replace(verdict, numbers={**verdict.numbers, **self.foretold})
        ruling, held, verdict = self._ruled(take, self._roll(take), verdict, correction)
        if self._heard is not None:
            self._heard(take, ruling)
        return Weighed(verdict, ruling, looked, held)

    def _ruled(
        self, take: Take, roll: RollState | None, verdict: Verdict, correction: float
    ) -> tuple[Ruling, Held | None, Verdict]:
        """The ruling, the shutter that is held from now on (None: as before), and the verdict with what was watched."""
        rig = self._rig
        menu, bounds = rig.body.shutters if rig.body else (), rig.bounds(roll)
        history = self._history(take, roll)
        if roll is None or rig.rules(roll).aim is not Aim.BASE or take.purpose is not Purpose.WHOLE:
            return rule(take, verdict, correction, history, menu, bounds), None, verdict
        if roll.held is not None:
            verdict = watched(verdict, roll.held)
            return rule(take, verdict, correction, history, menu, replace(bounds, held=True)), None, verdict
        held = first_hold(take, verdict, menu, bounds, rig.metering)
        if held is None:
            again = unmetered(take, verdict, len(history.earlier) + 1, menu, bounds)
            return again or by_itself(rule(take, verdict, correction, history, menu, bounds)), None, verdict
        once_more = held_ruling(take, verdict, held)
        return once_more or rule(take, verdict, 0.0, history, menu, replace(bounds, held=True)), held, verdict

    async def commit(self, take: Take, weighed: Weighed) -> Ruling:
        """Commit what was weighed; the take's file is stored. Its picture is drawn after that."""
        await self._rig.hub.append(*self._outcome(take, self._roll(take), weighed))
        self.foretold, self.ruled = {}, weighed.ruling
        if not isinstance(weighed.looked, RawUnreadable):
            self._draw_later(take, self._roll(take), *weighed.looked)
        return weighed.ruling

    def _found(self, take: Take, looked: Looked | RawUnreadable) -> tuple[Verdict, float]:
        """Verdict and correction; what was seen is remembered."""
        if isinstance(looked, RawUnreadable):
            return unreadable(looked), 0.0
        raw, judgement = looked
        self._rig.sensor_px = raw.mosaic.shape[1]
        verdict = with_corners(judgement, raw)
        if take.purpose is Purpose.BRACKET:
            return self._of_the_same(take, verdict, judgement.signature), 0.0
        self._seen.append((take.frame_id, judgement.signature))
        return verdict, judgement.correction_stops

    def _of_the_same(self, take: Take, verdict: Verdict, sign: Signature) -> Verdict:
        """A second exposure that shows another picture than the first one counts for nothing."""
        first = [s for frame_id, s in self._seen if frame_id == take.frame_id]
        if not first or not other_picture(first[-1], sign):
            return verdict
        return replace(verdict, take=Quality.MISPLACED, why="It shows another picture than the first exposure.")

    def _roll(self, take: Take) -> RollState | None:
        return self._rig.state.roll_of(take.frame_id) if take.frame_id else None

    async def close(self) -> None:
        """Wait for pictures that are still being drawn."""
        await self._rig.pictures.done()

    def _asked(self, take: Take, roll: RollState | None) -> Asked:
        assert roll is not None, "only takes of frames are judged for exposure"
        seen = tuple(s for frame_id, s in self._seen if frame_id != take.frame_id)
        aim = self._rig.rules(roll).aim or Aim.CENTRE
        offset_s = self._rig.body.clock_offset_s if self._rig.body else None
        return asked_of(self._rig.state, take, roll, aim, self._rig.metering, seen, offset_s)

    def _history(self, take: Take, roll: RollState | None) -> History:
        if roll is None or take.frame_id is None:
            return History()
        frame = roll.frames[take.frame_id]
        ids = [i for i in frame.takes if i != take.take_id and number_of(i) > self.cycle_from]
        earlier = [roll.takes[i] for i in ids if roll.takes[i].stage is Stage.JUDGED]
        kept = tuple(i for i in frame.keeper if i in roll.takes and roll.takes[i].purpose is not take.purpose)
        return History([t for t in earlier if t.purpose is take.purpose], kept)

    def _outcome(self, take: Take, roll: RollState | None, weighed: Weighed) -> list[AnyEvent]:
        verdict, ruling = weighed.verdict, weighed.ruling
        events: list[AnyEvent] = [Judged(take.take_id, verdict, ruling.decision, ruling.why, ruling.carry_s)]
        if roll is not None and weighed.held is not None:
            events.append(ShutterHeld(roll.roll.roll_id, weighed.held))
        if roll is None or take.frame_id is None or not ruling.keeper:
            return events
        first = ruling.keeper[0]
        kept = verdict if first == take.take_id else roll.takes[first].verdict
        events.append(KeeperChosen(take.frame_id, ruling.keeper, (kept.film if kept else None) or Film.PICTURE))
        if ruling.decision is Decision.KEEP:
            events.append(Advanced(take.frame_id, next_place(roll, take.frame_id)))
            if roll_is_full(roll, take.frame_id):
                events.append(RollClosed(roll.roll.roll_id))
        return events

    def _draw_later(self, take: Take, roll: RollState | None, raw: Raw, judgement: Judgement) -> None:
        tone, colour = film_kind(roll, take.frame_id) if roll else (Tone.NEGATIVE, Colour.MONO)

        def draw() -> Looks:
            pair = make_pair(raw, tone, colour, judgement.corners)
            self._rig.store.previews.keep(take.take_id, tone, colour, pair["positive"])
            return pair, judgement.histogram

        self._rig.pictures.draw(take.take_id, draw)


def number_of(take_id: str) -> int:
    """The number in a take's id."""
    return int(take_id.rpartition("-")[2])
