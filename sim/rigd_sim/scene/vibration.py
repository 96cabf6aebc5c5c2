"""The rig shakes: damped oscillations, each started by a kick, summed.

    x(t) = A0 exp(-zeta w t) sin(w_d t),   w = 2 pi f,   w_d = w sqrt(1 - zeta^2)

the answer of a damped oscillator to a blow at rest: the envelope is A0 exp(-zeta w t), the logarithmic decrement
2 pi zeta / sqrt(1 - zeta^2), and nothing jumps at the moment of the blow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rigd_sim.scene.planes import Floats


@dataclass(frozen=True)
class Oscillator:
    """Natural frequency (Hz), damping ratio, direction against the film's (degrees)."""

    hertz: float
    damping: float
    direction_deg: float

    @property
    def omega(self) -> float:
        """Undamped angular frequency, rad/s."""
        return 2.0 * math.pi * self.hertz

    def envelope(self, amplitude: float, after: float) -> float:
        """Amplitude left `after` seconds after a blow, same unit as `amplitude`."""
        return amplitude * math.exp(-self.damping * self.omega * after) if after >= 0 else 0.0

    def settled_after(self, amplitude: float, limit: float) -> float:
        """Seconds until the envelope has fallen from `amplitude` to `limit`: ln(A0 / A) / (zeta w)."""
        return max(0.0, math.log(amplitude / limit) / (self.damping * self.omega)) if amplitude > 0 else 0.0

    def answer(self, amplitude: float, after: Floats) -> Floats:
        """Displacement `after` seconds after a blow (0 before it), same shape and unit."""
        since = np.maximum(after, 0.0)
        damped = self.omega * math.sqrt(max(0.0, 1.0 - self.damping**2))
        result: Floats = amplitude * np.exp(-self.damping * self.omega * since) * np.sin(damped * since)
        return result


class Vibration:
    """All the blows the rig has had. Times in seconds of the scene's clock, amplitudes in um at the film."""

    _NEGLIGIBLE_UM = 0.001
    _KEPT = 256

    def __init__(self, oscillator: Oscillator) -> None:
        self.oscillator = oscillator
        self._blows: tuple[tuple[float, float], ...] = ()

    def kick(self, at: float, amplitude_um: float) -> None:
        """A blow at that time; may lie in the future. Blows that died away long before it are forgotten."""
        if amplitude_um <= 0:
            return
        quiet = self.oscillator.settled_after(1e4, self._NEGLIGIBLE_UM) + 60.0
        kept = [blow for blow in self._blows if blow[0] > at - quiet][-self._KEPT + 1 :]
        self._blows = (*kept, (at, amplitude_um))

    def along(self, times: Floats) -> Floats:
        """Displacement along the oscillator's own direction at these times, um."""
        total = np.zeros(times.shape)
        for at, amplitude in self._blows:
            total += self.oscillator.answer(amplitude, times - at)
        return total

    def displacement(self, times: Floats) -> tuple[Floats, Floats]:
        """Displacement (along the film, across it) at these times, um."""
        moved = self.along(times)
        angle = math.radians(self.oscillator.direction_deg)
        return moved * math.cos(angle), moved * math.sin(angle)

    def envelope_um(self, at: float) -> float:
        """Sum of the envelopes at that time: an upper limit of what still moves, um."""
        return sum(self.oscillator.envelope(amplitude, at - start) for start, amplitude in self._blows)
