"""The verbs that are declared as values, one list for the server and for whoever wants to know them all."""

from __future__ import annotations

from typing import Any

from rigd.operations import (
    browsing,
    claiming,
    clearing,
    copies,
    correcting,
    counting,
    describing,
    exposing,
    feeding,
    finding_jobs,
    flagging,
    handing,
    naming,
    outlook,
    plan_text,
    plans,
    rejudging,
    sheets,
    strips,
    verifying,
)
from rigd.operations.verb import Verb

ALL_VERBS: tuple[Verb[Any, Any], ...] = (
    *plans.VERBS,
    *exposing.VERBS,
    *strips.VERBS,
    *counting.VERBS,
    *flagging.VERBS,
    *correcting.VERBS,
    *rejudging.VERBS,
    *claiming.VERBS,
    *handing.VERBS,
    *describing.VERBS,
    *naming.VERBS,
    *browsing.VERBS,
    *finding_jobs.VERBS,
    *plan_text.VERBS,
    *sheets.VERBS,
    *feeding.VERBS,
    *verifying.VERBS,
    *copies.VERBS,
    *clearing.VERBS,
    *outlook.VERBS,
)
