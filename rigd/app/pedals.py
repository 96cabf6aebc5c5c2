"""Choosing a foot pedal by pressing it, before or beside a daemon."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from rigd.config import PedalSection
from rigd.drivers.clock import RealClock
from rigd.drivers.pedal.learn import BY_ID, Candidate, Learned, candidates, learn
from rigd.errors import PedalMissing


async def choose_pedal(
    told: Callable[[list[Candidate]], None], devices: Sequence[Path], seconds: float, keyboards: bool
) -> Learned:
    """The pedal that is pressed within `seconds`, on one of these devices, or of all that may be read if none is named;
    `told` hears which those are.

    Raises:
        PedalMissing: there is no input device that may be read, or none was pressed.
        PedalUnfit: it was a key of a whole keyboard, and `keyboards` is False.
    """
    found = [Candidate(str(path), "", False) for path in devices] or candidates()
    if not found:
        raise PedalMissing(
            "No input device can be read.",
            f"There is none in {BY_ID}, or this user may not read it.",
            "Plug the pedal in; its udev rule is hardware/udev/61-rigd-pedal.rules.",
        )
    told(found)
    return await learn([Path(one.path) for one in found], RealClock(), seconds, keyboards)


def settings_of(learned: Learned, keyboard: bool) -> str:
    """The lines for the settings file."""
    section = PedalSection(device=learned.path, key=learned.code, keyboard=keyboard)
    lines = ["[pedal]", f'device = "{section.device}"', f"key = {section.key}"]
    lines += ["keyboard = true"] if keyboard else []
    gestures = {"short": section.short, "long": section.long, "double": section.double}
    return "\n".join(lines + [f'{name} = "{action}"' for name, action in gestures.items()])
