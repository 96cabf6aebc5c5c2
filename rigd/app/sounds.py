"""What the machine's own loudspeaker says of the cycle, where the settings ask for it: as the page does."""

from __future__ import annotations

import logging

from rigd import paths
from rigd.config import Settings, SpeakerSection
from rigd.drivers.speaker import PLAYERS, VOICES, Speaker, find, load_tunes
from rigd.hub import Hub, Notice, Refused, Subscription, Vitals
from rigd.model.events import Advanced, Committed, Exposed, Judged, Troubled
from rigd.model.words import Decision
from rigd.operations.checking import CheckLine

log = logging.getLogger("rigd.speaker")

_NO_PLAYER = "Install one of " + ", ".join(one.name for one in PLAYERS) + ", or leave the sounds to a phone."
_NO_VOICE = "Install one of " + ", ".join(one.name for one in VOICES) + ", or leave the words to a phone."


class Sounds:
    """`run` listens until it is cancelled. Nobody ever waits for it."""

    def __init__(self, hub: Hub, settings: Settings) -> None:
        self._hub, self._section = hub, settings.speaker
        self._tunes = load_tunes(paths.web_root() / "sound" / "notes.json")
        self._where = ""

    async def run(self) -> None:
        section = self._section
        if section.sounds == "none" and not section.speech:
            return
        for line in speaker_lines(section):
            if line.state == "missing":
                log.warning("%s %s", line.detail, line.remedy)
        player = find(PLAYERS) if section.sounds != "none" else None
        voice = find(VOICES) if section.speech else None
        async with Speaker(self._tunes, player, voice, section.volume) as speaker:
            await self._hub.follow(lambda listener: self._sound(speaker, listener))

    async def _sound(self, speaker: Speaker, listener: Subscription) -> None:
        async for item in listener:
            self._tell(speaker, item)

    def _tell(self, speaker: Speaker, item: Committed | Notice) -> None:
        sound = _sound_of(item)
        if sound and (self._tunes[sound].needed or self._section.sounds == "all"):
            speaker.play(sound)
        if isinstance(item, Committed) and isinstance(item.event, Troubled):
            speaker.say(f"{item.event.what} {item.event.remedy}")
        if isinstance(item, Vitals):
            where = item.where if self._hub.state.armed else ""
            if where != self._where:
                speaker.say(where)
            self._where = where


def _sound_of(item: Committed | Notice) -> str:
    """The name of its tune, "" where it has none."""
    if isinstance(item, Refused):
        return "refused"
    if not isinstance(item, Committed):
        return ""
    event = item.event
    if isinstance(event, Judged) and event.decision is Decision.RETAKE:
        return "again"
    names = {Exposed: "closed", Advanced: "safe", Troubled: "call"}
    return next((name for kind, name in names.items() if isinstance(event, kind)), "")


def speaker_lines(section: SpeakerSection) -> list[CheckLine]:
    """What `rigd check` tells of the loudspeaker; nothing where none is asked for."""
    found = []
    if section.sounds != "none":
        player = find(PLAYERS)
        found.append(CheckLine("loudspeaker", "ok", f"sounds by {player.name}") if player else
                     CheckLine("loudspeaker", "missing", "No program here plays sounds.", _NO_PLAYER))  # fmt: skip
    if section.speech:
        voice = find(VOICES)
        found.append(CheckLine("speech", "ok", f"words by {voice.name}") if voice else
                     CheckLine("speech", "missing", "No program here speaks.", _NO_VOICE))  # fmt: skip
    return found
