"""Frozen values, the event union and the fold: no input or output, nothing that waits."""
