"""The back door of the simulated devices: a Unix socket for the hand that moves film, for faults and for the truth."""

from rigd_sim.control.hand import ControlError, Hand

__all__ = ["ControlError", "Hand"]
