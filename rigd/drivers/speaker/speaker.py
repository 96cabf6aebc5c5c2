"""Plays and speaks beside everything else: nobody waits for it, and what cannot be heard is told once."""

from __future__ import annotations

import asyncio
import logging
import tempfile
from collections.abc import Coroutine, Mapping
from pathlib import Path
from typing import Any

from rigd.drivers.speaker.notes import Tune, wav
from rigd.drivers.speaker.programs import Program

log = logging.getLogger("rigd.speaker")

# The longest sound takes a second, a sentence some seconds: a program that takes longer hangs.
_SOUND_S, _WORDS_S = 5.0, 30.0
# A rig gives a sound every second or so. More at once can only be a player that is stuck.
_AT_ONCE = 4


class Speaker:
    """Used as an async context manager. `play` and `say` return at once.

    Args:
        player, voice: programs; None: no sounds, no words.
        volume: 0 to 1, of the sounds.
    """

    def __init__(
        self, tunes: Mapping[str, Tune], player: Program | None, voice: Program | None = None, volume: float = 1.0
    ) -> None:
        self._tunes, self._volume = tunes, volume
        self._player, self._voice = player, voice
        self._folder = tempfile.TemporaryDirectory(prefix="rigd-sounds-")
        self._running: set[asyncio.Task[None]] = set()
        self._speaking: asyncio.Task[None] | None = None
        self._told = False

    async def __aenter__(self) -> Speaker:
        await asyncio.to_thread(self._write)
        return self

    async def __aexit__(self, *_: object) -> None:
        for task in self._running:
            task.cancel()
        await asyncio.gather(*self._running, return_exceptions=True)
        self._folder.cleanup()

    def play(self, sound: str) -> None:
        """Sound that tune, if there is a player and it is not behind already."""
        if self._player is not None and len(self._running) < _AT_ONCE:
            words = (*self._player.words, str(self._place(sound)))
            self._begin(self._run(self._player.name, words, b"", _SOUND_S))

    def say(self, words: str) -> None:
        """Say it, in place of what is still being said."""
        if self._voice is None:
            return
        if self._speaking is not None:
            self._speaking.cancel()
        if words:
            work = self._run(self._voice.name, self._voice.words, f"{words}\n".encode(), _WORDS_S)
            self._speaking = self._begin(work)

    # -- inside ------------------------------------------------------------------------------------------------------

    def _place(self, sound: str) -> Path:
        return Path(self._folder.name) / f"{sound}.wav"

    def _write(self) -> None:
        for name, tune in self._tunes.items():
            self._place(name).write_bytes(wav(tune.notes, self._volume))

    def _begin(self, work: Coroutine[Any, Any, None]) -> asyncio.Task[None]:
        task = asyncio.create_task(work, name="loudspeaker")
        self._running.add(task)
        task.add_done_callback(self._running.discard)
        return task

    async def _run(self, name: str, words: tuple[str, ...], told: bytes, within_s: float) -> None:
        try:
            process = await asyncio.create_subprocess_exec(
                name, *words, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.DEVNULL,
                stderr=asyncio.subprocess.PIPE,
            )  # fmt: skip
        except OSError as error:
            self._warn(name, f"{error.strerror}")
            return
        try:
            _, said = await asyncio.wait_for(process.communicate(told), within_s)
        except (TimeoutError, asyncio.CancelledError) as ended:
            process.kill()
            await process.wait()
            if isinstance(ended, asyncio.CancelledError):
                raise
            self._warn(name, f"it did not end within {within_s:.0f} seconds")
            return
        if process.returncode:
            self._warn(name, said.decode(errors="replace").strip()[:200] or f"it ended with {process.returncode}")

    def _warn(self, name: str, why: str) -> None:
        if not self._told:
            log.warning("Nothing can be heard from this machine's loudspeaker: %s: %s.", name, why)
        self._told = True
