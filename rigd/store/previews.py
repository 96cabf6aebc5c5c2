"""Positives of takes, kept beside the job so that a roll is looked through without decoding its raws again.

They can be thrown away: whatever lacks is drawn from the raw. So they are not made durable, and no failure counts.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from rigd import paths
from rigd.model.words import Colour, Tone


class Previews:
    """The previews of one job: one JPEG a take, for the kind of film that it was drawn as."""

    def __init__(self, root: Path) -> None:
        self._folder = paths.previews_folder(root)

    def read(self, take_id: str, tone: Tone, colour: Colour) -> bytes | None:
        """The JPEG, or None."""
        with contextlib.suppress(OSError):
            return self._path(take_id, tone, colour).read_bytes() or None
        return None

    def keep(self, take_id: str, tone: Tone, colour: Colour, jpeg: bytes) -> None:
        """Write it, whole or not at all. On a full or failing disk nothing is written, and nobody is told."""
        path = self._path(take_id, tone, colour)
        part = path.with_name(f"{path.name}.{os.getpid()}")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            part.write_bytes(jpeg)
            part.replace(path)
        except OSError:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)

    def _path(self, take_id: str, tone: Tone, colour: Colour) -> Path:
        """A thousand takes to a folder."""
        return self._folder / take_id[:-3] / f"{take_id}-{tone.value}-{colour.value}.jpg"
