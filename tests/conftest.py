"""For all tests: nothing may be left behind, and on request nothing may be left out (see tests/plugins)."""

from __future__ import annotations

pytest_plugins = ["rigd_leaks", "rigd_no_skips", "pytester"]
