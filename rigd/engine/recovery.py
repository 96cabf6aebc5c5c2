"""After a crash or a lost camera: every half-finished take has one defined way to its end.

intended: the card tells whether the shutter opened; exposed: fetch; fetched: fetch again; stored: judge.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from rigd.engine.cardfiles import among, unclaimed_files
from rigd.engine.rig import Rig
from rigd.engine.taking import Taking
from rigd.model.events import CameraJoined, Exposed
from rigd.model.values import CardFile, Take
from rigd.model.words import Stage

# The camera writes whole seconds and its clock was compared once: what lies this much before the intent can still
# be the shot in question.
_CLOCK_SLACK = timedelta(seconds=3)
# From the end of the exposure until the file is on the card: 60 MP raws take 1 to 2 s on slow cards.
_WRITING_S = 6.0
_LOOK_S = 0.5


class Recovery:
    """Reconciles the ledger with the card."""

    def __init__(self, rig: Rig, taking: Taking) -> None:
        self._rig = rig
        self._taking = taking

    async def join(self) -> None:
        """Connect the camera and record which one it is.

        Raises:
            CameraMissing, CameraHeld, ...: what the driver says.
        """
        self._rig.body = await self._rig.camera.connect()
        await self._recorded()

    async def rejoin(self) -> None:
        """Climb the reconnect ladder. Raises CameraMissing at its end."""
        self._rig.body = None
        self._rig.body = await self._rig.camera.recover()
        await self._recorded()

    async def reconcile(self) -> Take | None:
        """Bring the take in hand to its end; the take as it stands afterwards, None if there was none."""
        take = self._working()
        if take is None:
            return None
        if take.stage is Stage.INTENDED:
            take = await self._claimed(take)
        if take.stage is Stage.LOST:
            return take
        if take.stage in (Stage.EXPOSED, Stage.FETCHED) and not await self._on_card(take):
            await self._taking.set_spool_aside(take)
            await self._taking.lose(take.take_id, "Its file is on the card no more.")
            return self._rig.state.take(take.take_id)
        return await self._taking.finish(take)

    def _working(self) -> Take | None:
        state = self._rig.state
        return state.take(state.working) if state.working else None

    async def _claimed(self, take: Take) -> Take:
        """Look on the card for the shot that was intended. Exactly one new file that fits is it; else it is lost."""
        since = await self._intended_at(take.take_id)
        fresh = await self._fresh(since)
        # The shutter may still be open, or the camera writing, while we are back already: wait, never fire again.
        until = since + timedelta(seconds=take.want.shutter_s + _WRITING_S)
        while not fresh and self._rig.clock.now() < until:
            await self._rig.clock.sleep(_LOOK_S)
            # The camera library remembers a folder it has listed: only a new connection looks again.
            self._rig.body = await self._rig.camera.connect()
            fresh = await self._fresh(since)
        if len(fresh) == 1:
            await self._rig.hub.append(Exposed(take.take_id, take.want.shutter_s, (fresh[0],)))
        else:
            why = "The shutter never opened." if not fresh else "More than one file could be it; all stay on the card."
            await self._taking.lose(take.take_id, why)
        found = self._rig.state.take(take.take_id)
        assert found is not None
        return found

    async def _fresh(self, since: datetime) -> list[CardFile]:
        """Files on the card that no take has claimed and that can be of a shot at `since`."""
        recent = [file for file in await self._rig.card.items() if self._fits(file, since)]
        return await unclaimed_files(self._rig.hub, recent)

    def _fits(self, file: CardFile, since: datetime) -> bool:
        offset = self._rig.body.clock_offset_s if self._rig.body else None
        if file.taken is None or offset is None:
            return True
        taken = datetime.fromisoformat(file.taken).replace(tzinfo=since.tzinfo) - timedelta(seconds=offset)
        return taken >= since - _CLOCK_SLACK

    async def _intended_at(self, take_id: str) -> datetime:
        """When the exposure was intended: it is near the end of the ledger."""
        events = await self._rig.hub.ledger.read(after=max(0, self._rig.state.seq - 50))
        hits = [c.at for c in events if getattr(c.event, "take_id", None) == take_id]
        return hits[0] if hits else self._rig.clock.now()

    async def _on_card(self, take: Take) -> bool:
        there = await self._rig.card.items()
        return all(among(f, there) for f in take.files)

    async def _recorded(self) -> None:
        body, state = self._rig.body, self._rig.state
        self._rig.in_force = None
        if body and (body.model, body.serial) != (state.camera, state.serial):
            await self._rig.hub.append(CameraJoined(body.model, body.serial, body.clock_offset_s))
