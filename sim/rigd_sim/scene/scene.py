"""The scene: film, lamp, optics, vibration and sensor, as functions of time. All simulated devices look at one.

Nothing here waits: `now` is handed in, and each method that changes something does so from that moment on.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any, Literal, Self

import numpy as np

from rigd_sim.scene.ahead import Ahead
from rigd_sim.scene.cover import Cover, scaled
from rigd_sim.scene.field import Composer
from rigd_sim.scene.film import FilmMaker
from rigd_sim.scene.lamp import Lamp
from rigd_sim.scene.motion import Motion, Move
from rigd_sim.scene.optics import Optics
from rigd_sim.scene.planes import Bytes, Light, Words
from rigd_sim.scene.preview import Moment, Preview
from rigd_sim.scene.right import RightExposure
from rigd_sim.scene.roll import Frame, Strip, lay_out
from rigd_sim.scene.sensor import Exposure, Sensor, decode_flux
from rigd_sim.scene.smear import path_kernel, sample_times
from rigd_sim.scene.spec import SceneSpec
from rigd_sim.scene.strips import FilmStore
from rigd_sim.scene.truth import describe
from rigd_sim.scene.vibration import Oscillator, Vibration

ADJUSTABLE = frozenset(
    (
        "rotation_deg", "tilt_deg", "defocus_px", "curl_px", "falloff", "stray", "room", "slide_kick_um", "readout_ms",
        "gate_hair_mm", "gate_speck_mm", "lies",
    )
)  # fmt: skip
"""Fields of the spec that can change while film lies in the gate."""
THREADS = 2
"""Bands of a picture are worked on by this many threads."""
_LIVE_SECONDS = 1 / 15
"""A live view refreshes at least that often, whatever exposure time it shows."""
_COMING_MM = 150.0
"""A strip laid over some time comes in from this far outside, and leaves as far."""


class Scene:
    """One rig with one roll. Close it (or use `with`) to end its threads."""

    def __init__(self, spec: SceneSpec, now: Callable[[], float] = time.monotonic) -> None:
        self.spec = spec
        self.now = now
        self.optics = Optics(spec)
        self.strips: tuple[Strip, ...] = lay_out(spec)
        self.motion = Motion()
        self.vibration = Vibration(Oscillator(spec.vibration_hz, spec.damping, spec.vibration_deg))
        self._cover = Cover()
        self._lamp = Lamp(spec.flicker_hz, spec.flicker_depth, spec.warm_up)
        self._f_number = 8.0
        along, across = self.optics.gate_mm
        reach, height = along / 2 + 3.0, across + 4.0  # a little more than the gate shows, for turn and tilt
        self._pool = ThreadPoolExecutor(THREADS, "scene-band")
        maker = FilmMaker(spec, self.optics.px_per_mm, height)
        self._films = FilmStore(maker, self.strips, reach)
        self._composer = Composer(self.optics, self._films, self._pool)
        self._ahead = Ahead(self._composer)
        self._sensor = Sensor(*spec.sensor, spec.seed, self._pool)
        self._live = Preview(self.optics, self.strips, reach, height)
        self._right = RightExposure(spec, self.strips, self._live.films)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Ends the background threads; waits for what they are doing."""
        self._ahead.close()
        self._pool.shutdown(wait=True)

    def lay(
        self, strip: int | None, at_mm: float | None = None, seconds: float = 0.0,
        emulsion: Literal["down", "up"] = "down", turn: Literal[0, 180] = 0,
    ) -> None:  # fmt: skip
        """Puts a strip (number from 1) into the gate, or takes the film out (None).

        Emulsion down, its pictures are seen as the photographer saw them; up, they are mirrored, left for right. `turn`
        degrees about the line of sight, the other end first.

        `at_mm` of the strip comes to lie at the gate's middle (default: the middle of its first frame). Over `seconds`
        it glides in from outside; taken out, it glides away. Raises ValueError for a strip that isn't there.
        """
        start = self.now()
        if strip is None:
            self._take_out(start, seconds)
            return
        end = self._strip(strip).frames[0].centre if at_mm is None else at_mm
        turned = -1 if turn == 180 else 1
        lies = (turned if emulsion == "down" else -turned, turned)
        if lies != self.spec.lies:
            self.adjust(lies=lies)
        self._begin(Move(strip, start, seconds, end - (_COMING_MM if seconds > 0 else 0.0), end))

    def slide(
        self, to_mm: float | None = None, frame: int | None = None, off_mm: float = 0.0, seconds: float = 1.5
    ) -> None:
        """Moves the film in the gate to `to_mm`, or to a frame of the strip (number from 1), off by `off_mm`.

        Smooth (minimum jerk); its end leaves a small vibration. Raises ValueError without film, or for no such frame.
        """
        start = self.now()
        strip = self.motion.strip(start)
        if strip is None:
            raise ValueError("no film lies in the gate")
        begin = self.motion.position(start)
        self._begin(Move(strip, start, seconds, begin, self._target(strip, to_mm, frame, begin) + off_mm))

    def kick(self, amplitude_um: float = 30.0) -> None:
        """A footstep: starts a damped oscillation now; amplitude of its envelope in um at the film."""
        self.vibration.kick(self.now(), amplitude_um)

    def cover(self, share: float = 0.0) -> None:
        """A hand reaches over that share of the gate, from its near side, from now on; 0 takes it away."""
        self._cover.reach(self.now(), share)

    def lamp(self, on: bool, level: float = 1.0) -> None:
        """Switches the lamp, from now on."""
        self._lamp.set(self.now(), level if on else 0.0)

    def adjust(self, **changes: Any) -> None:
        """The rig itself is changed: new values of the spec's ADJUSTABLE fields, for all that is seen from now on.

        Raises ValueError for another field.
        """
        if unknown := changes.keys() - ADJUSTABLE:
            raise ValueError(f"can't adjust {', '.join(sorted(unknown))}; can: {', '.join(sorted(ADJUSTABLE))}")
        self.spec = replace(self.spec, **changes)
        self.optics = Optics(self.spec)
        self._composer = Composer(self.optics, self._films, self._pool)
        self._ahead.change(self._composer)
        self._live.change(self.optics)

    def prepare(self) -> None:
        """Waits until the picture is ready of where the film is going to rest."""
        last = self.motion.last
        self._ahead.get(last.strip, last.end, self._f_number)

    def expose(self, start: float, seconds: float, f_number: float, iso: int) -> Words:
        """One exposure of [start, start + seconds]: (H, W) uint16 Bayer RGGB, black 512, white 16383.

        Twice the time gives twice the signal above black until it clips; light goes with the f-number's square.
        A film or rig that moves is smeared along its path.
        """
        self._f_number = f_number
        bands = self._lamp.bands(start, seconds, self.spec.readout_ms / 1000, self.spec.sensor[1])
        exposure = Exposure(seconds, f_number, iso, self._lamp.mean(start, seconds), bands, self.spec.room)
        mosaic = self._mosaic(start, seconds, f_number)
        covered = self._cover.box(start, self.optics)
        if covered is not None:
            mosaic = mosaic.copy()
            mosaic[covered] = 0
        return self._sensor.expose(mosaic, exposure)

    def light(self, start: float, seconds: float, f_number: float, iso: int) -> Light:
        """What an exposure would hold were there neither noise nor saturation: (H, W) float32, white is 1.0, black 0.0,
        as a truth for tests. The film and the rig may move meanwhile; hands, bands and room light are left out."""
        exposure = Exposure(seconds, f_number, iso, self._lamp.mean(start, seconds))
        return decode_flux(self._mosaic(start, seconds, f_number), exposure)

    def preview(
        self,
        at: float,
        width: int = 960,
        seconds: float = 1 / 30,
        f_number: float = 8.0,
        iso: int = 100,
        gain: Literal["follow", "auto"] = "follow",
    ) -> Bytes:
        """The live view at that moment: (h, w, 3) uint8 RGB, h = 2/3 width, film and vibration where they then are.

        `follow` shows what the exposure settings would give; `auto` brightens or darkens to a readable picture.
        """
        position, scale = self.motion.position(at), self.optics.px_per_mm
        along, across = self.vibration.displacement(np.array([at]))
        shown = min(seconds, _LIVE_SECONDS)
        smear = abs(self.motion.position(at + shown) - position) * scale
        moved = (float(along[0]) * scale / 1000, float(across[0]) * scale / 1000)
        exposure = Exposure(seconds, f_number, iso, self._lamp.mean(at, shown))
        moment = Moment(self.motion.strip(at), position, moved, smear)
        picture = self._live.picture(moment, width, exposure, gain == "auto")
        covered = self._cover.box(at, self.optics)
        if covered is not None:
            picture[scaled(covered, width / self.spec.sensor[0])] = 0
        return picture

    def truth(self) -> dict[str, object]:
        """What is really there now; for tests alone. See `truth.describe`."""
        return describe(self, self.now())

    def right_seconds(self, frame: Frame) -> float | None:
        """The exposure time at f/8, ISO 100, full lamp, that suits a frame's picture; see `right.RightExposure`."""
        return self._right.seconds(frame)

    def _take_out(self, start: float, seconds: float) -> None:
        strip, position = self.motion.strip(start), self.motion.position(start)
        if strip is not None and seconds > 0:
            self.motion.begin(Move(strip, start, seconds, position, position + _COMING_MM))
        self._begin(Move(None, start + max(seconds, 0.0), 0.0, 0.0, 0.0))

    def _begin(self, move: Move) -> None:
        """Starts a movement, its closing knock, and the rendering of its end."""
        self.motion.begin(move)
        if move.seconds > 0 and move.begin != move.end:
            self.vibration.kick(move.finish, self.spec.slide_kick_um)
        self._ahead.want(move.strip, move.end, self._f_number)

    def _strip(self, number: int) -> Strip:
        if not 1 <= number <= len(self.strips):
            raise ValueError(f"the roll has strips 1 to {len(self.strips)}, not {number}")
        return self.strips[number - 1]

    def _target(self, strip: int, to_mm: float | None, frame: int | None, here: float) -> float:
        if frame is None:
            return here if to_mm is None else to_mm
        frames = self._strip(strip).frames
        if not 1 <= frame <= len(frames):
            raise ValueError(f"strip {strip} has frames 1 to {len(frames)}, not {frame}")
        return frames[frame - 1].centre

    def _mosaic(self, start: float, seconds: float, f_number: float) -> Words:
        """The light codes of that exposure: the still field where nothing moves, else one smeared along the path."""
        times = sample_times(start, seconds, self.spec.vibration_hz)
        strip, path = self.motion.strip(start), self.motion.path(start, times)
        rest = float(path[0]) if np.ptp(path) * self.optics.px_per_mm < 0.05 else float(path.mean())
        along, across = self.vibration.displacement(times)
        shaken = self.optics.film_to_sensor()[:2, :2] @ np.stack([along, across]) / 1000
        dx, dy = shaken + self.optics.strip_to_sensor()[:2, :2] @ np.stack([rest - path, np.zeros_like(path)])
        smear = None if strip is None else path_kernel(dx, dy)
        field = self._ahead.get(strip, rest, f_number)
        return field.mosaic if smear is None else self._composer.mosaic(field.density, smear)
