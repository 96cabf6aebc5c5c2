"""What must not run by itself: film that can burn."""

from __future__ import annotations

from rigd.errors import NotReady
from rigd.model.state import RollState
from rigd.model.words import BaseType


def may_run_alone(roll: RollState) -> None:
    """Raises NotReady where the film of this roll must be fed by hand, with the reason and where to turn.

    Nitrate base can ignite by itself, burns without air and cannot be put out: NFPA 40, Standard for the Storage and
    Handling of Cellulose Nitrate Film (from memory).
    """
    if roll.roll.base_type == BaseType.NITRATE:
        raise NotReady(
            f"Roll {roll.roll.label} is nitrate film: the advancer does not run it.",
            "It can catch fire, burns without air and cannot be put out; NFPA 40 and local codes say how to handle it.",
            "Feed it by hand, never unattended, and ask a trained conservator first.",
        )
    if roll.roll.base_type == BaseType.UNKNOWN and not roll.heeded:
        raise NotReady(
            f"Nobody has said what base the film of roll {roll.roll.label} has: the advancer does not run it.",
            "It may be nitrate, which can catch fire (NFPA 40).",
            "Feed it by hand, or read its edge, ask a conservator, and give your word in the roll's data.",
        )
