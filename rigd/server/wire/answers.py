"""Bodies of answers, read off the domain's frozen values by name. Only `State` and events go out as they are: the
page folds them with the same rules."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from rigd.model.words import BaseType, Colour, Emulsion, Tone

Answer = TypeVar("Answer", bound=BaseModel)


def _like(**example: Any) -> ConfigDict:
    return ConfigDict(from_attributes=True, frozen=True, json_schema_extra={"examples": [example]})


class AliveAnswer(BaseModel):
    """Says only that a rigd answers here: it is given to anybody."""

    model_config = _like(ok=True)
    ok: bool = True


class AcceptedAnswer(BaseModel):
    """The cycle has started; what comes of it arrives on the live line."""

    model_config = _like(target="s2#4", nonce="6f1c0a54e2b7")
    target: str | None
    nonce: str


class DoneAnswer(BaseModel):
    """Carried out; what it changed arrives on the live line."""

    model_config = _like(done=True)
    done: bool = True


class AboutAnswer(BaseModel):
    """What is told about pictures; null is inherited: from the roll by a frame, from the job by a roll."""

    model_config = _like(title="North quay from the crane", place="Vessling", dates="1957-05", keywords=["quay"])
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


class JobAnswer(BaseModel):
    model_config = _like(
        job_id="8c1f",
        title="Harbour office, survey of the quays",
        default_base="safety",
        about={},
        names="",
        copy_to="",
    )
    job_id: str
    title: str
    default_base: BaseType
    about: AboutAnswer = AboutAnswer()
    names: str = ""
    copy_to: str = ""


class SetupAnswer(BaseModel):
    model_config = _like(
        setup_id="u-0001", holder="135 strip holder", lens="105 mm macro", f_number=8.0, iso=100, px_per_mm=132.4,
        lamp="panel, 5600 K", camera="", serial="", delay_s=0.5,
    )  # fmt: skip
    setup_id: str
    holder: str
    lens: str
    f_number: float
    iso: int
    px_per_mm: float | None
    lamp: str
    camera: str
    serial: str
    delay_s: float


class RollAnswer(BaseModel):
    model_config = _like(
        roll_id="r3", label="North quay 3", folder="north-quay-3", film_format="120-6x6", tone="negative",
        colour="mono", expected=[12, 12], strip_places=4, base_type="safety", stock="", process="", where="box 2",
    )  # fmt: skip
    roll_id: str
    label: str
    folder: str
    film_format: str
    tone: Tone
    colour: Colour
    expected: tuple[int, int] | None
    strip_places: int | None
    base_type: BaseType
    stock: str
    process: str
    where: str
    about: AboutAnswer = AboutAnswer()
    cuts: tuple[int, ...] = ()


class TallyAnswer(BaseModel):
    model_config = _like(
        expected=12, pictures=9, unexposed=1, fogged=0, skipped=0, open=1, missing=2, retaken=1, suspect=0, takes=11,
        again=0,
    )  # fmt: skip
    expected: int | None
    pictures: int
    unexposed: int
    fogged: int
    skipped: int
    open: int
    missing: int
    retaken: int
    suspect: int
    takes: int
    again: int = 0


class RollLineAnswer(BaseModel):
    """One line of the list of rolls; `place` is its number in the order of planning."""

    model_config = ConfigDict(from_attributes=True, frozen=True)
    roll: RollAnswer
    tally: TallyAnswer
    closed: bool
    current: bool
    place: int = 0


class StripAnswer(BaseModel):
    model_config = _like(strip_id="s8", roll_id="r3", number=2, places=4, emulsion="down", turn=0, assumed=False)
    strip_id: str
    roll_id: str
    number: int
    places: int | None
    emulsion: Emulsion
    turn: int
    assumed: bool
    sleeve: str = ""
    tone: Tone | None = None
    colour: Colour | None = None


class VerifyLineAnswer(BaseModel):
    model_config = _like(take_id="t-000012", path="north-quay-3/a.dng", ok=True, why="")
    take_id: str
    path: str
    ok: bool
    why: str
    state: str = "ok"


class VerifyAnswer(BaseModel):
    """Every file that was read back; `bad` counts those that are missing or changed. `papers`: sidecars and lists that
    are not as they were written; `surplus`: files that belong to nothing."""

    model_config = ConfigDict(from_attributes=True, frozen=True)
    files: int
    bad: int
    lines: list[VerifyLineAnswer]
    papers: list[str] = []
    surplus: list[str] = []


class UnreadAnswer(BaseModel):
    model_config = _like(files=3)
    files: int


class CheckLineAnswer(BaseModel):
    model_config = _like(what="Camera", state="missing", detail="None answers.", remedy="Switch it on.")
    what: str
    state: str
    detail: str
    remedy: str


class CheckAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True, frozen=True)
    lines: list[CheckLineAnswer]
    missing: int


class ChannelAnswer(BaseModel):
    """One CFA channel: counts from the darkest bin to the lightest."""

    model_config = ConfigDict(frozen=True)
    name: str
    counts: list[int]


class HistogramAnswer(BaseModel):
    """Counts over stops under saturation: bin i covers `from_stops + i * step` to the next; the last ends at
    `from_stops + step * bins`."""

    model_config = _like(from_stops=-12.0, step=0.125, channels=[{"name": "R", "counts": [0, 4, 9]}])
    from_stops: float = Field(description="lower edge of the first bin, in stops")
    step: float
    channels: list[ChannelAnswer]


def answer(kind: type[Answer], value: object) -> Answer:
    """The wire form of a domain value."""
    return kind.model_validate(value, from_attributes=True)


class FullAnswer(BaseModel):
    """A take at full size: `width` and `height` of the whole in pixels, and the side of a square tile."""

    model_config = _like(width=6000, height=4000, tile=1024)
    width: int
    height: int
    tile: int
