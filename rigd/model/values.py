"""The things the ledger speaks of: job, set-up, roll, strip, frame, and what a take was found to be."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct

from rigd.model.words import (
    Aim,
    BaseType,
    Colour,
    Decision,
    Emulsion,
    Film,
    Mains,
    Purpose,
    Quality,
    Second,
    Stage,
    Tone,
)


class About(Struct, frozen=True, omit_defaults=True):
    """What is told about pictures. Job, roll and frame each have one: a field that is None is inherited from the one
    above it, "" says that nothing is known or wanted here. `dates`: ISO 8601 date, or two with a slash between."""

    title: str | None = None
    caption: str | None = None
    photographer: str | None = None
    place: str | None = None
    dates: str | None = None
    camera: str | None = None
    lens: str | None = None
    stock: str | None = None
    process: str | None = None
    rights: str | None = None
    reference: str | None = None
    keywords: tuple[str, ...] | None = None


class Exposing(Struct, frozen=True, omit_defaults=True):
    """How frames are exposed. Job and roll each have one: a field that is None is inherited from the one above it, and
    at last from the device settings. `fastest_s` and `slowest_s`: the operator's limits of the shutter, seconds."""

    aim: Aim | None = None
    mains: Mains | None = None
    second: Second | None = None
    fastest_s: float | None = None
    slowest_s: float | None = None


class Job(Struct, frozen=True):
    """One commission. `job_id` is unique over machines; `default_base` is asked for with each roll. `names`: template
    of the file names at delivery; `copy_to`: folder on another disk for the second copy; "" for none."""

    job_id: str
    title: str
    default_base: BaseType = BaseType.UNKNOWN
    about: About = About()
    names: str = ""
    copy_to: str = ""
    exposing: Exposing = Exposing()


class Setup(Struct, frozen=True):
    """Holder, lens, aperture, scale and lamp as they stand. A change of any makes a new one. `still_s`: how long the
    film must have lain still before an exposure, where that was measured on exposures of this rig."""

    setup_id: str
    holder: str = ""
    lens: str = ""
    f_number: float = 8.0
    iso: int = 100
    px_per_mm: float | None = None
    lamp: str = ""
    camera: str = ""
    serial: str = ""
    delay_s: float = 0.5
    still_s: float | None = None


class Roll(Struct, frozen=True):
    """One developed film, or one box of mounts or sheets. `label`: what its sleeve or box says; `where`: where that
    lies. `expected` is (fewest, most) frames, or None if unknown; `strip_places` the usual number of places on one of
    its strips, `cuts` the places of each strip in the order of the film, where it was counted beforehand."""

    roll_id: str
    label: str
    folder: str
    film_format: str
    tone: Tone
    colour: Colour
    expected: tuple[int, int] | None = None
    strip_places: int | None = None
    base_type: BaseType = BaseType.UNKNOWN
    stock: str = ""
    process: str = ""
    where: str = ""
    about: About = About()
    cuts: tuple[int, ...] = ()
    exposing: Exposing = Exposing()


class Strip(Struct, frozen=True):
    """A cut piece of a roll, as sleeved, with how it lay in the gate. `number`: its place among the strips of the
    roll. `turn` in degrees, 0 or 180: turned, its places run against the film. `assumed` is True where nobody said how
    it lies and the strip before it was taken as the rule. `tone` and `colour` where it differs from its roll; `sleeve`
    what is written on its own sleeve."""

    strip_id: str
    roll_id: str
    number: int
    places: int | None
    emulsion: Emulsion = Emulsion.DOWN
    turn: int = 0
    assumed: bool = False
    sleeve: str = ""
    tone: Tone | None = None
    colour: Colour | None = None


class Frame(Struct, frozen=True):
    """One picture on film. `frame_id` is permanent; position and the printed edge mark are properties of it."""

    frame_id: str
    roll_id: str
    strip_id: str
    place: int
    mark: str = ""


class CardFile(Struct, frozen=True):
    """A file on the camera's card. `taken` is the camera's own time (ISO 8601, no zone), where it is known."""

    folder: str
    name: str
    bytes: int | None = None
    taken: str | None = None


class Exposure(Struct, frozen=True):
    """What the camera is set to: shutter time in seconds with the camera's own label for it, f-number, ISO."""

    shutter_s: float
    shutter: str
    f_number: float | None = None
    iso: int | None = None


class Held(Struct, frozen=True):
    """A shutter that is held for a roll, with the base it was chosen for: L of R, G, B for 1 s. `how`: "base take" or
    "rebate"; `take_id`: the take that metered it; `bound`: in words, what kept the shutter from what was wanted."""

    shutter_s: float
    shutter: str
    base_1s: tuple[float, float, float]
    how: str
    take_id: str = ""
    bound: str = ""


class Level(Struct, frozen=True):
    """Levels in stops under saturation (L of the definition of exposure), one value a CFA channel R, G, B.

    `dark`: the 0.5 % point, `light`: the 99.5 % point; `clipped_pct`: share of pixels over the ceiling, in the
    worst channel; `off_stops`: how far the take is from its aim (positive: too much light)."""

    dark: tuple[float, float, float]
    light: tuple[float, float, float]
    centre: float
    clipped_pct: float
    off_stops: float
    aim: str = "centre"


class Verdict(Struct, frozen=True):
    """What judging found: of the film (None: it could not be told), of the take, and in one plain sentence why.
    `numbers` led to it. `corners`: the picture's, as shares of the sensor's width and height (0 to 1), clockwise from
    the one at the top left; empty where they were not found."""

    film: Film | None
    take: Quality
    why: str
    level: Level | None = None
    numbers: dict[str, float] = {}
    ms: float = 0.0
    corners: tuple[tuple[float, float], ...] = ()


class Take(Struct, frozen=True):
    """One exposure and how far it has come. `path` is relative to the job's folder. A take of no frame may belong to a
    roll or a strip (a label take). `at`: when the shutter had closed. `copied`: the folders on other disks that hold a
    verified copy; `cleared`: its file was erased from the camera's card."""

    take_id: str
    frame_id: str | None
    purpose: Purpose
    number: int
    want: Exposure
    stage: Stage = Stage.INTENDED
    files: tuple[CardFile, ...] = ()
    path: str = ""
    sha256: str = ""
    bytes: int = 0
    verdict: Verdict | None = None
    decision: Decision | None = None
    why: str = ""
    verified: bool = False
    lost_why: str = ""
    roll_id: str | None = None
    strip_id: str | None = None
    at: datetime | None = None
    copied: tuple[str, ...] = ()
    cleared: bool = False
