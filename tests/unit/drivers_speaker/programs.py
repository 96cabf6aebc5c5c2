"""Real processes in the place of a player and a voice: they keep what they were given."""

from __future__ import annotations

from pathlib import Path

PLAYER = """#!/bin/sh
exec /bin/cp "$1" "{kept}/$$.wav"
"""
VOICE = """#!/bin/sh
exec /bin/cat > "{kept}/$$.txt"
"""
BROKEN = """#!/bin/sh
echo "no sound card" >&2
exit 3
"""
STUCK = """#!/bin/sh
/bin/echo begun > "{kept}/$$.txt"
exec /bin/sleep 600
"""


def install(folder: Path, name: str, text: str, kept: Path) -> None:
    """A program of that name in that folder."""
    folder.mkdir(exist_ok=True)
    kept.mkdir(exist_ok=True)
    place = folder / name
    place.write_text(text.format(kept=kept))
    place.chmod(0o755)
