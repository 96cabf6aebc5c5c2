"""Planning a roll: what can be said about it beforehand, what its format suggests, and whether it can be."""

from __future__ import annotations

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from rigd.errors import InputError
from rigd.model.exposing import ExposingChanges, changed_exposing
from rigd.model.formats import FilmFormat, film_format
from rigd.model.metadata import AboutChanges, changed_about
from rigd.model.values import Roll
from rigd.model.words import BaseType, Colour, Tone

Expected = tuple[int, int]


class RollChanges(Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True, kw_only=True):
    """What is said about a roll; what is left out stays as it is, or as is usual for a new one. `exposures`: what the
    box or the sleeve says, such as 36: counts and cuts are suggested from it where they are not given."""

    label: str | UnsetType = UNSET
    film_format: str | UnsetType = UNSET
    tone: Tone | UnsetType = UNSET
    colour: Colour | UnsetType = UNSET
    exposures: int | UnsetType = UNSET
    expected: Expected | UnsetType | None = UNSET
    strip_places: int | UnsetType | None = UNSET
    cuts: tuple[int, ...] | UnsetType = UNSET
    base_type: BaseType | UnsetType = UNSET
    stock: str | UnsetType = UNSET
    process: str | UnsetType = UNSET
    where: str | UnsetType = UNSET
    about: AboutChanges | UnsetType = UNSET
    exposing: ExposingChanges | UnsetType = UNSET


class Suggested(Struct, frozen=True):
    """What a format suggests: how many frames to expect (fewest, most), None where nobody can know; how it is usually
    cut; and why, in a sentence."""

    expected: Expected | None
    strip_places: int | None
    cuts: tuple[int, ...]
    why: str


def suggested(name: str, exposures: int | None = None) -> Suggested:
    """What to expect of a roll of that format.

    Args:
        name: a film format.
        exposures: what its box says, if anything.

    Raises:
        InputError: there is no such format, or the number cannot be.
    """
    kind = film_format(name)
    if exposures is not None:
        _require_count(exposures)
    expected = _expected(kind, exposures)
    places = None if kind.loose else kind.cut[0]
    exact = expected[0] if expected and expected[0] == expected[1] else None
    return Suggested(expected, places, cut(exact, places) if exact and places else (), _why(kind, exposures, expected))


def cut(frames: int, places: int) -> tuple[int, ...]:
    """A roll of that many frames cut into strips: all alike, and what is left over."""
    whole, rest = divmod(frames, places)
    return (places,) * whole + ((rest,) if rest else ())


def _expected(kind: FilmFormat, exposures: int | None) -> Expected | None:
    if exposures is not None:
        return exposures, exposures + (0 if kind.loose else kind.spare)
    if kind.loose or not kind.counts or kind.perforated:
        return None
    return kind.counts[0], kind.counts[-1]


def _why(kind: FilmFormat, exposures: int | None, expected: Expected | None) -> str:
    if kind.loose:
        return "Mounts and sheets come one by one: count them, or leave the count open."
    if expected is None:
        usual = " or ".join(map(str, kind.counts))
        return f"A roll of {kind.name} has {usual} exposures, and a few more in truth: say which."
    if exposures is not None and kind.spare:
        return f"A {exposures} exposure roll of {kind.name} often holds up to {kind.spare} more."
    return f"A roll of {kind.name} gives {' or '.join(map(str, kind.counts))} frames, as the camera spaces them."


def planned(changes: RollChanges, roll_id: str, folder: str, base: BaseType) -> Roll:
    """A new roll. Raises InputError where it cannot be."""
    if isinstance(changes.label, UnsetType) or isinstance(changes.film_format, UnsetType):
        raise InputError("A new roll needs a label and a film format.", "", "Give both.")
    blank = Roll(roll_id, changes.label, folder, changes.film_format, Tone.NEGATIVE, Colour.MONO, base_type=base)
    return changed_roll(blank, changes)


def changed_roll(roll: Roll, changes: RollChanges) -> Roll:
    """`roll` with the changes, checked. Raises InputError where it cannot be."""
    names = [name for name in RollChanges.__struct_fields__ if name not in ("about", "exposures", "exposing")]
    new = {name: value for name in names if not isinstance(value := getattr(changes, name), UnsetType)}
    if not isinstance(changes.exposures, UnsetType):
        found = suggested(str(new.get("film_format", roll.film_format)), changes.exposures)
        new = {"expected": found.expected, "strip_places": roll.strip_places or found.strip_places, **new}
    # Typed words only: a member of an enumeration is a string too, and would come back as a plain one.
    clean = {name: value.strip() if type(value) is str else value for name, value in new.items()}
    done = replace(roll, **clean, about=changed_about(roll.about, changes.about))
    done = replace(done, exposing=changed_exposing(roll.exposing, changes.exposing))
    check_roll(done)
    return done


def check_roll(roll: Roll) -> None:
    """Raises InputError where a roll cannot be."""
    film_format(roll.film_format)
    if not roll.label:
        raise InputError("A roll needs a label.", "", "Use what is written on its sleeve or box.")
    if roll.expected is not None:
        _require_range(roll.expected)
    for places in (*([] if roll.strip_places is None else [roll.strip_places]), *roll.cuts):
        if not 1 <= places <= 100:
            raise InputError(f"A strip cannot hold {places} frames.", "", "Use a number from 1 to 100.")
    if roll.cuts and roll.expected and sum(roll.cuts) > roll.expected[1]:
        raise InputError(
            f"The strips hold {sum(roll.cuts)} frames, but at most {roll.expected[1]} are expected.",
            "Both are said of the same roll.", "Correct the strips or the count.",
        )  # fmt: skip


def _require_range(expected: Expected) -> None:
    if not 1 <= expected[0] <= expected[1] <= 10_000:
        raise InputError(
            f"{expected[0]} to {expected[1]} frames cannot be.",
            "The first number is the fewest, the second the most.",
            "Use numbers from 1, or leave the count out while it is unknown.",
        )


def _require_count(exposures: int) -> None:
    if not 1 <= exposures <= 1000:
        raise InputError(f"{exposures} exposures cannot be.", "", "Use the number on the box, from 1 to 1000.")
