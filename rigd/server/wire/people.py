"""Bodies about who comes in and who works the rig."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

RoleName = Literal["viewer", "operator"]
AnyRole = Literal["viewer", "operator", "host"]
Name = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$")]


def answered(**example: Any) -> ConfigDict:
    return ConfigDict(frozen=True, json_schema_extra={"examples": [example]})


def asked(**example: Any) -> ConfigDict:
    return ConfigDict(extra="forbid", frozen=True, json_schema_extra={"examples": [example]})


class EnterRequest(BaseModel):
    """The single-use code of a link, or the eight letters that the host's screen shows; `name`: what the device is to
    be called, which gets a number if another one has it."""

    model_config = asked(code="WDJB-MJHT", name="phone")
    code: Annotated[str, Field(min_length=1, max_length=200)]
    name: Name = "page"


class EnteredAnswer(BaseModel):
    """Who this browser is. `local`: it runs on the machine that rigd runs on."""

    model_config = answered(id=3, name="phone", role="operator", local=False)
    id: int
    name: str
    role: AnyRole
    local: bool


class PairRequest(BaseModel):
    """Open pairing for one device that may look, or work the rig."""

    model_config = asked(role="operator")
    role: RoleName = "operator"


class PairingAnswer(BaseModel):
    """Pairing as it stands open. `wrong`: how many wrong codes were typed, of five in all."""

    model_config = answered(role="operator", until="2026-03-01T12:10:00Z", wrong=0)
    role: AnyRole
    until: datetime
    wrong: int


class PairingStateAnswer(BaseModel):
    """`open` null: nobody is being let in; `worn_out`: wrong codes have shut it. `addresses`: under which this rigd can
    be reached by other devices."""

    model_config = answered(
        open={"role": "operator", "until": "2026-03-01T12:10:00Z", "wrong": 0}, worn_out=False,
        addresses=["http://192.0.2.20:8377", "http://rigd-studio.local:8377"],
    )  # fmt: skip
    open: PairingAnswer | None
    worn_out: bool = False
    addresses: list[str]


class OfferAnswer(BaseModel):
    """What to show to the device, once: a link with its QR code, rows of dark (1) and light (0) modules with the quiet
    zone left out, and the letters to type at one of `addresses`. Neither can be asked for again."""

    model_config = answered(
        link="http://192.0.2.20:8377/#4Jm0c1T8...", qr=["1110111", "1010101"], typed="WDJB-MJHT",
        addresses=["http://192.0.2.20:8377"], role="operator", until="2026-03-01T12:10:00Z",
    )  # fmt: skip
    link: str
    qr: list[str]
    typed: str
    addresses: list[str]
    role: AnyRole
    until: datetime


class DeviceAnswer(BaseModel):
    """One device that was let in. `here`: a page of it is open; `you`: it asks; `kept`: it outlives a restart."""

    model_config = answered(
        id=3, name="phone", role="operator", made_at="2026-03-01T12:01:00Z", seen_at="2026-03-01T15:40:00Z",
        address="192.0.2.31", here=True, you=False, control=True, kept=True,
    )  # fmt: skip
    id: int
    name: str
    role: AnyRole
    made_at: datetime
    seen_at: datetime
    address: str
    here: bool
    you: bool
    control: bool
    kept: bool


class RenameRequest(BaseModel):
    model_config = asked(name="red phone")
    name: Name


class LetInRequest(BaseModel):
    """A program, such as a monitor, that has no browser to pair."""

    model_config = asked(name="monitor", role="viewer")
    name: Name
    role: RoleName = "viewer"


class LetInAnswer(BaseModel):
    """The token for `Authorization: Bearer`. It is shown this once."""

    model_config = answered(id=5, name="monitor", token="mF_9.B5f-4.1JqM...")
    id: int
    name: str
    token: str


class ControlRequest(BaseModel):
    """`hold` true: take control of the rig; false: let go of it."""

    model_config = asked(hold=True)
    hold: bool


class HolderAnswer(BaseModel):
    model_config = answered(id=3, name="phone")
    id: int
    name: str


class ControlAnswer(BaseModel):
    """Who works the rig; null: nobody, and the next command takes control."""

    model_config = answered(holder={"id": 3, "name": "phone"})
    holder: HolderAnswer | None
