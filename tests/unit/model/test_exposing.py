"""How frames are exposed: said of a job and its rolls, inherited, taken back, checked."""

from __future__ import annotations

import pytest

from rigd.errors import InputError
from rigd.model.exposing import ExposingChanges, changed_exposing, inherited
from rigd.model.values import Exposing
from rigd.model.words import Aim, Mains, Second


def test_the_nearest_word_counts_and_null_is_inherited_again() -> None:
    job = Exposing(Aim.BASE, Mains.HZ_50, slowest_s=4.0)
    roll = changed_exposing(Exposing(), ExposingChanges(mains=Mains.OFF, second=Second.TAKE))
    assert inherited(roll, job) == Exposing(Aim.BASE, Mains.OFF, Second.TAKE, None, 4.0)
    back = changed_exposing(roll, ExposingChanges(mains=None))
    assert inherited(back, job).mains is Mains.HZ_50


@pytest.mark.parametrize(
    "changes", [ExposingChanges(fastest_s=1.0, slowest_s=0.5), ExposingChanges(slowest_s=-1.0)]
)
def test_limits_that_cannot_be_are_refused(changes: ExposingChanges) -> None:
    with pytest.raises(InputError):
        changed_exposing(Exposing(), changes)
