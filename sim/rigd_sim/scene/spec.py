"""What a scene is made of: plain frozen values, with defaults that resemble a well set-up rig."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

SENSORS: dict[int, tuple[int, int]] = {2: (1728, 1152), 12: (4224, 2816), 24: (6000, 4000), 60: (9504, 6336)}
"""Sensor width and height in pixels (3:2, both even) by nominal megapixels."""

KINDS = ("picture", "unexposed", "fogged", "dense", "thin")
_PLENTY = 20.0
"""Over four stops more light than a mid-tone: far up on any curve."""


@dataclass(frozen=True)
class FrameSpec:
    """One frame of the roll, where it shall differ from what the script says.

    kind       one of KINDS. `dense` and `thin` are pictures exposed as the script's dense and thin frame are; `fogged`
               is light-struck film without a picture (for a picture that light got at, give `picture` and `fog`).
    stops      the taking camera's exposure against an ordinary frame, in stops (None: what the kind implies).
    picture    scene luminance as (h, w) or (h, w, 3), float, 0..1, stretched over the frame; 0.18 is a mid-tone
               (None: drawn from the seed).
    fog        light that struck the film, as exposure relative to an ordinary mid-tone (0 = none, 1 = as much as it).
    fog_share  how much of the frame's length is struck: 1.0 wholly, 0.3 a third from its leading side, fading out.
    overlap_mm how far the frame runs into the one before it (negative: a wider gap). None: the usual gap.
    hair       a hair in the taking camera's gate, as a length in mm (0 = none).
    rings      interference rings from film on glass: depth of the light's ripple (0 = none, 0.1 shows plainly).
    curl_px    film not flat: further blur in the frame's middle, as sigma in px of the 24 MP sensor; negative: in its
               corners and edges instead, with the middle sharp.
    """

    kind: str = "picture"
    stops: float | None = None
    picture: NDArray[np.floating] | None = field(default=None, compare=False)
    fog: float = 0.0
    fog_share: float = 1.0
    overlap_mm: float | None = None
    hair: float = 0.0
    rings: float = 0.0
    curl_px: float = 0.0

    @property
    def struck(self) -> float:
        """The fog that this frame got: a frame said to be fogged, without saying how much, got plenty."""
        return self.fog if self.fog > 0 or self.kind != "fogged" else _PLENTY

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"unknown kind of frame {self.kind!r}; known: {', '.join(KINDS)}")


@dataclass(frozen=True)
class SceneSpec:
    """The rig and the roll. See each field; the defaults are small but not zero where a real rig is not perfect."""

    megapixels: int = 24
    film_format: str = "120-6x6"
    tone: str = "negative"
    colour: str = "mono"
    frames: int = 12
    strip: int | None = 4
    """Frames a strip; None: what is usual for the format."""
    seed: int = 1
    script: str = "harbour"
    """`harbour`: one unexposed, one dense, one thin frame; `plain`: ordinary pictures alone; `uneven`: each frame
    exposed by guess, so that densities vary by several stops; `rough`: a long job's film, blanks here and there."""
    overrides: tuple[tuple[int, FrameSpec], ...] = ()
    """(frame number on the roll from 1, what it shall be)."""

    spacing_mm: float | None = None
    """Unevenness of the gaps, one standard deviation; None: the format's own."""
    gate_tolerance: float = 0.015
    """The taking camera's gate differs from nominal by up to this share."""
    shrinkage: float = 0.001
    """Share by which the film has shrunk in both directions."""
    grain: float = 1.0
    dust: float = 1.0
    """Specks a frame, relative to a film that was blown clean (about five)."""

    opening_mm: tuple[float, float] | None = None
    """The holder's opening (along, across); None: what is usual for the format."""
    lies: tuple[int, int] = (1, 1)
    """How the strip lies, along and across: 1 as its pictures were seen, -1 the other way round."""
    margin: float = 0.16
    """The sensor sees the frame plus this share of it."""
    rotation_deg: float = 0.2
    tilt_deg: tuple[float, float] = (0.05, -0.03)
    """Tilt of the camera about the across and the along axis."""
    distance_mm: float = 400.0
    """Lens to film; sets how much a tilt distorts."""
    defocus_px: float = 0.35
    """Gaussian blur of a slight misfocus, at 24 MP's pixel size."""
    curl_px: float = 0.0
    """Further blur where the film bulges, in the frame's middle (negative: away from it), at 24 MP's pixel size."""
    gate_hair_mm: float = 0.0
    """A hair of that length in the holder's opening, 0.06 mm thick, curving in from the opening's lower edge."""
    gate_speck_mm: float = 0.0
    """A speck of about that width on the holder's glass or the film, somewhere in the opening."""

    falloff: float = 0.05
    """Loss of light at the sensor's corner against the middle."""
    stray: float = 0.002
    """Veiling light as a share of the mean light."""
    room: float = 0.0
    """Light of the room that film and holder throw back, as a share of the bare lamp: it stays when the lamp is off."""
    flicker_hz: float = 0.0
    flicker_depth: float = 0.0
    """Ripple of the lamp as a share of its level (peak)."""
    readout_ms: float = 0.0
    """Time a slit shutter takes to cross the frame: a rippling lamp then leaves bands. 0: all rows at once."""
    warm_up: float = 0.0
    """Share by which the lamp is brighter when just switched on."""

    vibration_hz: float = 12.0
    damping: float = 0.03
    vibration_deg: float = 25.0
    """Direction of the oscillation against the film's."""
    slide_kick_um: float = 4.0
    """Amplitude that the end of a slide leaves behind."""

    def __post_init__(self) -> None:
        if self.megapixels not in SENSORS:
            raise ValueError(f"megapixels is one of {sorted(SENSORS)}, not {self.megapixels}")
        if self.tone not in ("negative", "positive"):
            raise ValueError(f"tone is negative or positive, not {self.tone!r}")
        if self.colour not in ("mono", "colour"):
            raise ValueError(f"colour is mono or colour, not {self.colour!r}")
        if self.script not in ("harbour", "plain", "uneven", "rough"):
            raise ValueError(f"script is harbour, plain, uneven or rough, not {self.script!r}")
        if self.frames < 1:
            raise ValueError("a roll has at least one frame")

    @property
    def sensor(self) -> tuple[int, int]:
        """Sensor (width, height) in pixels."""
        return SENSORS[self.megapixels]
