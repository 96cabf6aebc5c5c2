"""The newest live picture, understood once for everybody who needs it: the wait for stillness and the watch."""

from __future__ import annotations

import asyncio

from rigd.engine.live import LiveFeed, Shown
from rigd.engine.rig import Rig
from rigd.engine.watch_sight import Asked, Seen, Sight
from rigd.model.formats import film_format
from rigd.model.words import Tone


class Eyes:
    """`after` gives the next look. One film at a time: another format or tone, or another set-up, starts afresh."""

    def __init__(self, rig: Rig, live: LiveFeed) -> None:
        self.live = live
        self._rig = rig
        self._sight: Sight | None = None
        self._setup_id: str | None = None
        self._seen: Seen | None = None
        self._one_at_a_time = asyncio.Lock()

    @property
    def can_see(self) -> bool:
        """True if the camera has live view and a roll tells what film to expect."""
        body, roll = self._rig.body, self._rig.state.roll
        return bool(self._rig.stilling.measure and body and body.live_view and roll)

    @property
    def last(self) -> Seen | None:
        """The newest look, however old."""
        return self._seen

    async def after(self, number: int, expected_mm: float | None = None) -> Seen:
        """The newest picture with a number over `number`, understood; waits for it. Raises RawUnreadable."""
        shown = await self.live.shown_after(number)
        async with self._one_at_a_time:
            if self._seen is None or self._seen.number < shown.number:
                self._seen = await asyncio.to_thread(self._see, shown, expected_mm)
            return self._seen

    def sight(self) -> Sight:
        """What looks at the film of the current roll. Asserts that there is one."""
        asked = self._asked()
        setup = self._rig.state.setup
        setup_id = setup.setup_id if setup else None
        if self._sight is None or self._sight.asked != asked:
            same = self._sight is not None and self._setup_id == setup_id
            before = self._sight
            self._sight = Sight(asked, before.lightest if before and same else None)
            if before and same and before.asked.film == asked.film:
                self._sight.scale = self._sight.scale or before.scale
            self._setup_id = setup_id
        self._sight.sensor_px = self._rig.sensor_px
        return self._sight

    def _see(self, shown: Shown, expected_mm: float | None) -> Seen:
        return self.sight().see(shown.number, shown.at, shown.jpeg, expected_mm, shown.asked)

    def _asked(self) -> Asked:
        state, rig = self._rig.state, self._rig
        roll = state.roll
        assert roll is not None, "whoever looks has asked can_see"
        tone = state.strip.tone if state.strip and state.strip.tone else roll.roll.tone
        return Asked(
            film=film_format(roll.roll.film_format),
            tone=Tone(tone),
            px_per_mm=state.setup.px_per_mm if state.setup else None,
            pictures=rig.stilling.pictures,
        )

