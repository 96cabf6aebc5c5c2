"""A twin of the film advancer board: the same line protocol and the same steps as the firmware, as a function of time.

hardware/PROTOCOL.md is what both hold to, and tests/contract/test_board_*.py runs on both. Time is counted in ticks of
half a microsecond, as the firmware's Timer1 does.
"""
