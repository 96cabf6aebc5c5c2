"""Which of a camera's many settings plays which part: candidates by role, the first that fits wins.

The names are the library's. No maker and no model is asked for anywhere; a body that calls a setting otherwise is
helped by `CameraConfig.widgets`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

Role = Literal[
    "shutter", "aperture", "iso", "format", "compression", "mode", "focus", "target", "liveview",
    "auto_iso", "drive", "stabiliser", "long_exposure_noise", "mirror", "exposure_delay", "sleep",
    "battery", "clock", "model", "serial",
]  # fmt: skip

CANDIDATES: dict[Role, tuple[str, ...]] = {
    "shutter": ("shutterspeed2", "shutterspeed"),
    "aperture": ("f-number", "aperture"),
    "iso": ("iso",),
    "format": ("imageformat", "imagequality"),
    "compression": ("rawcompression",),
    "mode": ("expprogram", "autoexposuremode"),
    "focus": ("focusmode",),
    "target": ("capturetarget",),
    "liveview": ("viewfinder",),
    "auto_iso": ("isoauto", "autoiso"),
    "drive": ("drivemode", "capturemode", "selftimer"),
    "stabiliser": ("imagestabilization",),
    "long_exposure_noise": ("longexpnr",),
    "mirror": ("mirrorlock",),
    "exposure_delay": ("exposuredelaymode",),
    "sleep": ("autopoweroff", "meterofftime"),
    "battery": ("batterylevel",),
    "clock": ("datetime",),
    "model": ("cameramodel",),
    "serial": ("serialnumber", "eosserialnumber"),
}

ROLES: tuple[Role, ...] = get_args(Role)

ESSENTIAL: frozenset[Role] = frozenset({"shutter", "aperture", "iso", "clock", "serial"})
"""Waited for where the camera is too busy to show them; the others are only looked at."""


def candidates(role: Role, by_hand: Mapping[str, str]) -> tuple[str, ...]:
    """Widget names to try for a role, best first; the one named by hand comes before all others."""
    named = by_hand.get(role)
    return (named, *CANDIDATES[role]) if named else CANDIDATES[role]
