"""The things the ledger speaks of: job, set-up, roll, strip, frame, and what a take was found to be."""

from __future__ import annotations

from msgspec import Struct

from rigd.model.words import BaseType, Colour, Decision, Emulsion, Film, Purpose, Quality, Stage, Tone


class Job(Struct, frozen=True):
    """One commission. `job_id` is unique over machines; `default_base` is asked for with each roll."""

    job_id: str
    title: str
    default_base: BaseType = BaseType.UNKNOWN


class Setup(Struct, frozen=True):
    """Holder, lens, aperture, scale and lamp as they stand. A change of any makes a new one."""

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


class Roll(Struct, frozen=True):
    """One developed film, or one box of mounts or sheets. `expected` is (fewest, most) frames, or None if unknown;
    `strip_places` the usual number of places on one of its strips."""

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


class Strip(Struct, frozen=True):
    """A cut piece of a roll, as sleeved, with how it lay in the gate. `turn` in degrees, 0 or 180.
    `assumed` is True where nobody said how it lies and the strip before it was taken as the rule."""

    strip_id: str
    roll_id: str
    number: int
    places: int | None
    emulsion: Emulsion = Emulsion.DOWN
    turn: int = 0
    assumed: bool = False


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
    """One exposure and how far it has come. `path` is relative to the job's folder."""

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
