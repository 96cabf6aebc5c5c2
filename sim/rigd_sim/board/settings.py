"""What the rig is built like, and the EEPROM that keeps it (layout as in hardware/PROTOCOL.md, "Settings")."""

from __future__ import annotations

import struct

from rigd_sim.board.lines import crc8

ROWS: dict[str, tuple[int, int, int]] = {
    "gear": (80000, 1000, 1000000),
    "top": (8000, 100, 10000),
    "ramp": (20000, 1000, 200000),
    "creep": (1600, 50, 4000),
    "span": (40000, 1, 1000000),
    "longest": (20000, 100, 120000),
    "silence": (1000, 200, 5000),
    "tail": (200, 1, 10000),
    "overrun": (0, 0, 100000),
    "slack": (0, 0, 100000),
    "warm": (5000, 0, 600000),
    "dark": (900, 10, 7200),
    "flip": (0, 0, 7),
}
"""Name to (usual, least, most), in the order in which they are kept."""

FLIP_MOTOR, FLIP_FILM, FLIP_PEDALS = 1, 2, 4

_MARK, _LAYOUT = 0x52, 1
_FORM = struct.Struct(f"<BB{len(ROWS)}I")
_BOOTS = struct.Struct("<H")


class Settings:
    """Values in force, by name. `kept` is False while the EEPROM is blank or damaged: then the usual ones are."""

    def __init__(self, eeprom: bytearray) -> None:
        self._eeprom = eeprom
        self.value, self.kept = self._read()
        at = _FORM.size + 1
        self.boot = (_BOOTS.unpack_from(eeprom, at)[0] + 1) & 0xFFFF
        _BOOTS.pack_into(eeprom, at, self.boot)

    def _read(self) -> tuple[dict[str, int], bool]:
        mark, layout, *values = _FORM.unpack_from(self._eeprom)
        named = dict(zip(ROWS, values, strict=True))
        sound = crc8(self._eeprom[: _FORM.size]) == self._eeprom[_FORM.size]
        if mark == _MARK and layout == _LAYOUT and sound and all(fits(n, v) for n, v in named.items()):
            return named, True
        return {name: usual for name, (usual, _, _) in ROWS.items()}, False

    def __getitem__(self, name: str) -> int:
        return self.value[name]

    def keep(self, name: str, value: int) -> None:
        """Put in force and into the EEPROM. The caller has checked it with `fits`."""
        self.value[name] = value
        _FORM.pack_into(self._eeprom, 0, _MARK, _LAYOUT, *self.value.values())
        self._eeprom[_FORM.size] = crc8(self._eeprom[: _FORM.size])
        self.kept = True


def fits(name: str, value: int) -> bool:
    _, least, most = ROWS[name]
    return least <= value <= most
