"""Bodies of requests. Words nobody knows are refused, so that a typing error never passes as a default."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from rigd.model.words import BaseType, Colour, Emulsion, Film, Tone

# Control characters would garble a list, a terminal or a log.
_LINE = r"^[^\x00-\x1f\x7f-\x9f]*$"
# Ids, labels and nonces are short; a note on where a film lies is a line of text.
Short = Annotated[str, Field(max_length=120, pattern=_LINE)]
Nonce = Annotated[str, Field(min_length=8, max_length=64, pattern=_LINE)]
Count = Annotated[int, Field(ge=1, le=999)]


def _like(**example: Any) -> ConfigDict:
    return ConfigDict(extra="forbid", frozen=True, json_schema_extra={"examples": [example]})


class Nothing(BaseModel):
    """An empty object: the command says it all."""

    model_config = _like()


class TriggerRequest(BaseModel):
    """`target` is the frame that the sender means, as `strip#place`; another one being current, it is refused."""

    model_config = _like(nonce="6f1c0a54e2b7", target="s2#4")
    nonce: Nonce
    target: Short | None = None


class SkipRequest(BaseModel):
    """Leave the frame in the gate; `target` as for a trigger."""

    model_config = _like(target="s2#4")
    target: Short | None = None


class RetakeRequest(BaseModel):
    """`frame_id` None: the frame that was taken last."""

    model_config = _like(nonce="6f1c0a54e2b7", frame_id="f17")
    nonce: Nonce
    frame_id: Short | None = None


class MarkRequest(BaseModel):
    """The operator's word on the film of one frame; `film` null takes the mark back."""

    model_config = _like(frame_id="f17", film="unexposed")
    frame_id: Short
    film: Film | None


class JobRequest(BaseModel):
    model_config = _like(title="Harbour office, survey of the quays", default_base="safety")
    title: Annotated[str, Field(min_length=1, max_length=120, pattern=_LINE)]
    default_base: BaseType = BaseType.UNKNOWN


class SetupRequest(BaseModel):
    """The set-up as it stands now. Fields left out have their defaults."""

    model_config = _like(holder="135 strip holder", lens="105 mm macro", f_number=8.0, iso=100, lamp="panel, 5600 K")
    holder: Short = ""
    lens: Short = ""
    f_number: Annotated[float, Field(gt=0.5, lt=64)] = 8.0
    iso: Annotated[int, Field(ge=25, le=102400)] = 100
    px_per_mm: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    lamp: Short = ""
    delay_s: Annotated[float, Field(ge=0, le=60)] = 0.5


class RollRequest(BaseModel):
    """`expected` is (fewest, most) frames; `strip_places` the usual number of places on one strip."""

    model_config = _like(
        label="North quay 3", film_format="120-6x6", tone="negative", colour="mono", expected=[12, 12],
        strip_places=4, base_type="safety", stock="", process="", where="box 2, sleeve 7",
    )  # fmt: skip
    label: Annotated[str, Field(min_length=1, max_length=60, pattern=_LINE)]
    film_format: Short
    tone: Tone = Tone.NEGATIVE
    colour: Colour = Colour.MONO
    expected: tuple[Count, Count] | None = None
    strip_places: Count | None = None
    base_type: BaseType | None = None
    stock: Short = ""
    process: Short = ""
    where: Short = ""


class StripRequest(BaseModel):
    """`places` None: as many as is usual on this roll. How it lies left out: as the strip before it lay."""

    model_config = _like(places=4, emulsion="down", turn=0)
    places: Count | None = None
    emulsion: Emulsion | None = None
    turn: Annotated[int, Field(multiple_of=180, ge=0, le=180)] | None = None


class VerifyRequest(BaseModel):
    """`roll_id` null: every roll of the job."""

    model_config = _like(roll_id="r3")
    roll_id: Short | None = None
