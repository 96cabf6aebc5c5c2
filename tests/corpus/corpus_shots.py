"""What a corpus is made of: rolls of the simulated scene, and the exposures that are made of each."""

from __future__ import annotations

from dataclasses import dataclass

from rigd_sim.scene import SceneSpec


@dataclass(frozen=True)
class Shot:
    """One exposure of a roll.

    `frame`: number on the roll from 1, None for the empty gate. `stops`: exposure against the right one (a frame
    without a picture: against the roll's first frame); a camera's list usually falls a little short of it. `off_mm`:
    the film lies so far from its place. `moved_px` of this sensor along `moved_deg` (against the film; 0 is a slide,
    else the rig shakes). `defocus_px`, `curl_px`: blur in pixels of this sensor (curl negative: away from the middle).
    `rig`: further changes of the set-up for this exposure. `first`: judged as a roll's first take is, with no other
    takes known. `again`: the frame is judged as if it were the next one, the film having stayed; with `same_file` the
    very file of the shot before. `says_other_time`: the file tells another time than the camera was set to."""

    frame: int | None
    stops: float = -0.17
    off_mm: float = 0.0
    moved_px: float = 0.0
    moved_deg: float = 0.0
    defocus_px: float = 0.0
    curl_px: float = 0.0
    rig: tuple[tuple[str, float], ...] = ()
    first: bool = False
    again: bool = False
    same_file: bool = False
    says_other_time: bool = False

    @property
    def fault(self) -> str:
        """One word for the report."""
        names = (
            ("stale", self.again or self.same_file or self.says_other_time),
            ("moved", self.moved_px > 0), ("out of focus", self.defocus_px > 0), ("not flat", self.curl_px != 0),
            ("misplaced", self.off_mm != 0), ("dirt", any("gate" in name for name, _ in self.rig)),
        )  # fmt: skip
        return next((name for name, holds in names if holds), "none")


@dataclass(frozen=True)
class Roll:
    """One scene and its exposures, in order. `scale_known`: the judge is told the scale, as a set-up tells it."""

    name: str
    spec: SceneSpec
    shots: tuple[Shot, ...]
    scale_known: bool = True
    lamp_known: bool = True
