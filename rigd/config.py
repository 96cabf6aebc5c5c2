"""Device settings: one TOML file, or the environment (`RIGD_CAMERA__ADDRESS=...`). A job's settings are events instead.

Every section refuses words it does not know, so that a typing error never passes as a default.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_settings import BaseSettings, PydanticBaseSettingsSource, SettingsConfigDict

from rigd.errors import BadSetting


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class CameraSection(_Section):
    """How the camera is reached and what it is set to. `widgets` names a widget for a role by hand, where the
    usual candidates do not fit a body."""

    address: str = Field(default="usb", description="usb, or ptpip:HOST, or ptpip:HOST:CMD:EVT (numeric IPv4)")
    model: str = Field(default="", description="only this model, where several bodies are connected")
    serial: str = Field(default="", description="only this serial number")
    f_number: float | None = Field(default=8.0, gt=0.5, lt=64, description="also of a manual lens")
    iso: int | None = Field(default=100, ge=25, le=102400)
    widgets: dict[str, str] = Field(default_factory=dict)


class ExposureSection(_Section):
    """Limits of the metering loop, in stops and seconds. Defaults are those of the definition of exposure."""

    aim: Literal["centre", "base"] = Field(default="centre", description="each frame by itself, or held for the roll")
    mains: Literal["off", "50", "60", "both"] = Field(default="off", description="times its ripple cannot disturb")
    second: Literal["offer", "take"] = Field(default="offer", description="where a range exceeds one exposure")
    max_takes: int = Field(default=3, ge=1, le=9)
    too_high_stops: float = Field(default=1 / 3, gt=0, le=2)
    too_low_stops: float = Field(default=2 / 3, gt=0, le=3)
    first_s: float = Field(default=1 / 30, gt=0, description="shutter of the very first frame, when nothing is known")
    shortest_s: float = Field(default=1 / 8000, gt=0)
    longest_s: float = Field(default=8.0, gt=0)


class SettleSection(_Section):
    """The wait until nothing moves: measured in live pictures, or a fixed delay where there are none."""

    delay_s: float = Field(default=0.5, ge=0, le=60, description="so long the film must have lain still")
    measure: bool = Field(default=True, description="false: the fixed delay alone")
    pictures: int = Field(default=4, ge=2, le=100, description="so many live pictures must show no movement")
    pace_s: float = Field(default=0.05, ge=0.01, le=1, description="time between them")
    deadline_s: float = Field(default=8.0, ge=1, le=120, description="after that somebody must look")
    margin_mm: float = Field(default=0.5, ge=0, le=10, description="film to be seen beyond a frame before it is taken")


Action = Literal["none", "trigger", "retake", "skip", "unexposed", "undo", "arm", "pause", "stop", "choose"]
"""What a press can do. `choose` offers every action that has no gesture of its own, one after the other."""


class PressesSection(_Section):
    """What short, long and double presses of one pedal do. Where long and double are "none", a short press acts at the
    moment it goes down; else it waits until it cannot become one of them. A long press while the motor moves film
    always stops the film."""

    short: Action = "trigger"
    long: Action = "choose"
    double: Action = "retake"


class PedalSection(PressesSection):
    """A foot pedal that acts as a keyboard on this machine; `rigd pedal` finds it. Without `device` there is none."""

    device: str = Field(default="", description="such as /dev/input/by-id/usb-...-event-kbd")
    key: int | None = Field(default=None, ge=0, le=0x2FF, description="only this key of it")
    keyboard: bool = Field(default=False, description="true: it is a whole keyboard, and may be taken all the same")


class BoardSection(_Section):
    """The film advancer board. Without `address` there is none: the film is fed by hand."""

    address: str = Field(default="", description="serial port (best one below /dev/serial/by-id), or socket://HOST:PORT")
    feed: bool = Field(default=True, description="false: its pedals and lamp alone; the film is fed by hand")
    sensor_mm: float = Field(default=50.0, gt=0, le=500, description="from the film sensor to the gate's middle")
    tolerance_mm: float = Field(default=0.2, gt=0, le=2, description="a frame lies well within this of the middle")
    lamp: float = Field(default=0.0, ge=0, le=1, description="level of the light it drives; 0: the lamp is not its own")
    colour: Literal["white", "red", "green", "blue"] = "white"
    pedal_1: PressesSection = PressesSection()
    pedal_2: PressesSection = PressesSection(short="skip", long="stop", double="undo")


class SpeakerSection(_Section):
    """The loudspeaker of the machine itself: what the page sounds and says, for a room without a phone in it."""

    sounds: Literal["none", "needed", "all"] = Field(
        default="none", description="needed: shutter closed, file safe, somebody is needed"
    )
    speech: bool = Field(default=False, description="say in words what is needed, and where to slide the film")
    volume: float = Field(default=1.0, ge=0, le=1, description="of the sounds")


class ServerSection(_Section):
    """Where the page is served: on loopback, and with `lan` on one address of the local network too."""

    host: str = "127.0.0.1"
    port: int = Field(default=8377, ge=0, le=65535)
    lan: str = Field(default="", description="one numeric address of this machine that other devices can reach")
    names: tuple[str, ...] = Field(default=(), description="further host names that lead to that address")
    announce: bool = Field(default=True, description="tell the local network a name for it (multicast DNS)")
    certificate: Path | None = Field(default=None, description="PEM, for HTTPS on that address")
    key: Path | None = Field(default=None, description="PEM, unlocked; may be left out if the certificate holds it")


class Settings(BaseSettings):
    """All device settings."""

    model_config = SettingsConfigDict(env_prefix="RIGD_", env_nested_delimiter="__", extra="forbid", frozen=True)

    camera: CameraSection = CameraSection()
    exposure: ExposureSection = ExposureSection()
    settle: SettleSection = SettleSection()
    board: BoardSection = BoardSection()
    pedal: PedalSection = PedalSection()
    speaker: SpeakerSection = SpeakerSection()
    server: ServerSection = ServerSection()

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,
        file_secret_settings: PydanticBaseSettingsSource,
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """The environment wins over the file; nothing else is read."""
        return env_settings, init_settings


def load_settings(path: Path | None = None) -> Settings:
    """Settings from `path` (defaults alone if None), the environment on top.

    Raises:
        BadSetting: no such file, no TOML, an unknown word, or a value out of range; names section and word.
    """
    try:
        values = tomllib.loads(path.read_text("utf-8")) if path else {}
        return Settings(**values)
    except OSError as error:
        raise BadSetting(
            f"The settings file {path} cannot be read.",
            str(error.strerror),
            "Check the path given with --config, or leave it out to use the defaults.",
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadSetting(f"{path} is not valid TOML.", f"{error}.", "Correct that line and start again.") from error
    except ValidationError as error:
        raise _explained(path, error) from error


def _explained(path: Path | None, error: ValidationError) -> BadSetting:
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    unknown = first["type"] == "extra_forbidden"
    return BadSetting(
        f"The setting {where} in {path or 'the environment'} " + ("is unknown." if unknown else "does not fit."),
        "" if unknown else f"{first['msg']}: {first['input']!r}.",
        f"Known words there: {', '.join(_known(first['loc']))}." if unknown else "Correct it and start again.",
    )


def _known(loc: tuple[int | str, ...]) -> list[str]:
    section = Settings.model_fields.get(str(loc[0])) if len(loc) > 1 else None
    kind = section.annotation if section else Settings
    return sorted(kind.model_fields) if isinstance(kind, type) and issubclass(kind, BaseModel) else []
