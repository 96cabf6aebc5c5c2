"""Foot pedals: gestures from timed edges, and pedals that act as keyboards on a Linux host."""

from rigd.drivers.pedal.gestures import Edge, Timing, gestures, steady

__all__ = ["Edge", "Timing", "gestures", "steady"]
