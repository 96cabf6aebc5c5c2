"""File and folder names as a camera gives them: four letters, four digits, and round again.

The scheme is that of the DCF standard (JEITA CP-3461): DCIM/ nnnAAAAA / AAAAnnnn.EXT, numbers from 1 to 9999
and folders from 100 to 999. When the numbers roll over the folder number goes up by one.
"""

from __future__ import annotations

from dataclasses import dataclass

ROOT = "DCIM"
LAST_NUMBER = 9999
FIRST_FOLDER, LAST_FOLDER = 100, 999


@dataclass
class Names:
    """The counter of the body: `next` gives the folder and the file name of the next picture."""

    number: int = 1
    folder: int = FIRST_FOLDER

    def next(self) -> tuple[str, str]:
        if self.number > LAST_NUMBER:
            self.number = 1
            self.folder = self.folder + 1 if self.folder < LAST_FOLDER else FIRST_FOLDER
        names = f"{self.folder}RIGSM", f"RIG_{self.number:04}.DNG"
        self.number += 1
        return names
