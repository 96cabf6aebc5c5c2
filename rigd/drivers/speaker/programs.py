"""Programs of the system that play a file or say words, best first; what is there is found on the PATH."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Program:
    """`name` on the PATH with its words. A player gets a file's path as its last word; a voice reads what it is to say
    from its input, so that no words of anybody can be taken for options."""

    name: str
    words: tuple[str, ...] = ()


# PipeWire, PulseAudio, ALSA, macOS.
PLAYERS = (Program("pw-play"), Program("paplay"), Program("aplay", ("-q",)), Program("afplay"))
# Speech Dispatcher, eSpeak NG, macOS.
VOICES = (
    Program("spd-say", ("-e", "-w", "-l", "en")), Program("espeak-ng", ("-v", "en", "--stdin")),
    Program("espeak", ("-v", "en", "--stdin")), Program("say", ("-f", "-")),
)  # fmt: skip


def find(programs: Iterable[Program]) -> Program | None:
    """The first of them that is installed."""
    return next((one for one in programs if shutil.which(one.name)), None)
