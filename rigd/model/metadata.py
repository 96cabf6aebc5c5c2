"""What is told about pictures: inherited from the job by its rolls, and from a roll by its frames; checks of it."""

from __future__ import annotations

import re
from datetime import date

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from rigd.errors import InputError
from rigd.model.state import FrameState
from rigd.model.values import About, Job, Roll

FIELDS = About.__struct_fields__
# Longer than any caption that is read, short enough for every catalogue (common practice, no source).
_LONGEST = 2000
_DATE = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?[~?]?")
Text = str | UnsetType | None


class AboutChanges(Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """What is to be told differently. A field left out stays as it is; null is inherited again; "" says that nothing is
    known."""

    title: Text = UNSET
    caption: Text = UNSET
    photographer: Text = UNSET
    place: Text = UNSET
    dates: Text = UNSET
    camera: Text = UNSET
    lens: Text = UNSET
    stock: Text = UNSET
    process: Text = UNSET
    rights: Text = UNSET
    reference: Text = UNSET
    keywords: tuple[str, ...] | UnsetType | None = UNSET


def changed_about(about: About, changes: AboutChanges | UnsetType) -> About:
    """`about` with the changes, checked. Raises InputError."""
    if isinstance(changes, UnsetType):
        return about
    new = {name: value for name in FIELDS if not isinstance(value := getattr(changes, name), UnsetType)}
    told = replace(about, **{name: _clean(name, value) for name, value in new.items()})
    if told.dates:
        check_dates(told.dates)
    return told


def inherited(*chain: About) -> About:
    """The nearest word on each field; the nearest comes first."""
    return About(**{name: next((v for a in chain if (v := getattr(a, name)) is not None), None) for name in FIELDS})


def about_roll(job: Job | None, roll: Roll) -> About:
    """All that is told about a roll; its stock and process stand in the plan itself."""
    own = replace(roll.about, stock=roll.about.stock or roll.stock or None,
                  process=roll.about.process or roll.process or None)  # fmt: skip
    return inherited(own, job.about if job else About())


def about_frame(job: Job | None, roll: Roll, frame: FrameState) -> About:
    """All that is told about a frame."""
    return inherited(frame.about, about_roll(job, roll))


def check_dates(text: str) -> None:
    """Raises InputError unless `text` is a date of ISO 8601-1 (`1957`, `1957-05`, `1957-05-02`), perhaps with `~` for
    about or `?` for doubtful (ISO 8601-2), or two of them with a slash between, in order."""
    parts = text.split("/")
    days = [day for part in parts if (day := _first_day(part)) is not None]
    if len(days) != len(parts) or len(parts) > 2 or days != sorted(days):
        raise InputError(
            f"{text!r} is no date.",
            "A date is a year, perhaps with month and day: 1957, 1957-05 or 1957-05-02, and two for from and until.",
            "Write 1957-05, or 1957-05/1957-06; 1957~ for about, 1957? where in doubt.",
        )


def _first_day(text: str) -> date | None:
    match = _DATE.fullmatch(text.strip())
    if match is None:
        return None
    year, month, day = (int(part) if part else 1 for part in match.groups())
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _clean(name: str, value: str | tuple[str, ...] | None) -> str | tuple[str, ...] | None:
    """Without blanks at the ends and signs that no archive can print."""
    if value is None:
        return None
    if isinstance(value, tuple):
        words = tuple(dict.fromkeys(word.strip() for word in value if word.strip()))
        return words if all(_fits(name, word) for word in words) else None
    _fits(name, value)
    return value.strip()


def _fits(name: str, text: str) -> bool:
    if len(text) > _LONGEST:
        raise InputError(f"The {name} is too long.", f"It has {len(text)} signs of {_LONGEST} at most.", "Shorten it.")
    # XML 1.0, section 2.2: of the signs below a blank only tab, line feed and carriage return can be written.
    bad = [sign for sign in text if (ord(sign) < 32 and sign not in "\t\n\r") or 0xD800 <= ord(sign) <= 0xDFFF]
    if bad:
        raise InputError(f"The {name} holds a sign that cannot be written.", f"{bad[0]!r}.", "Type it anew.")
    return True
