"""Every verb that is declared as a value."""

from __future__ import annotations

from typing import Any

from rigd.operations import counting, plans, strips
from rigd.operations.verb import Verb

ALL_VERBS: tuple[Verb[Any, Any], ...] = (*plans.VERBS, *strips.VERBS, *counting.VERBS)
