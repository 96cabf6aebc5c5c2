"""What several flow tests share: a daemon on a simulated rig, spoken to by HTTP, with a roll open and a strip in."""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from rigd.app.daemon import Daemon, running_daemon
from rigd.client import RemoteVerbs, remote_verbs
from rigd.config import CameraSection, ExposureSection, ServerSection, Settings, SettleSection
from rigd.model.state import FrameState, RollState
from rigd.model.words import BaseType, Colour, Tone


def settings_for(camera: str, first_s: float = 1 / 30, **sections: Any) -> Settings:
    """Settings of a simulated rig in a hurry; `sections` such as a board's stand as they are."""
    return Settings(
        camera=CameraSection(address=camera),
        settle=SettleSection(delay_s=0.05),
        exposure=ExposureSection(first_s=first_s),
        server=ServerSection(port=0),
        **sections,
    )


@contextlib.asynccontextmanager
async def daemon_on(
    root: Path, camera: str, first_s: float = 1 / 30, **sections: Any
) -> AsyncIterator[tuple[Daemon, RemoteVerbs]]:
    """A daemon that has joined its camera (or said that it cannot)."""
    async with contextlib.AsyncExitStack() as stack:
        daemon = await stack.enter_async_context(running_daemon(root, settings_for(camera, first_s, **sections)))
        verbs = await stack.enter_async_context(remote_verbs(daemon.url, daemon.token))
        await daemon.desk.engine().until_idle()
        yield daemon, verbs


async def paper_work(verbs: RemoteVerbs, expected: tuple[int, int] | None = (12, 12)) -> None:
    """A job, one roll of it open, its first strip in the gate."""
    await verbs.open_job(title="Port of Vessling", default_base=BaseType.SAFETY)
    await verbs.plan_roll(
        label="HO 12", film_format_name="120-6x6", tone=Tone.NEGATIVE, colour=Colour.MONO, expected=expected,
        strip_places=4, base_type=None, stock="", process="", where="",
    )  # fmt: skip
    await verbs.open_roll(roll_id="HO 12")
    await verbs.load_strip(places=4)


async def take(daemon: Daemon, verbs: RemoteVerbs, target: str = "s-0001#1") -> None:
    """Trigger and wait for the end of it."""
    await verbs.trigger(nonce=nonce(), target=target)
    await daemon.desk.engine().until_idle()


def nonce() -> str:
    return secrets.token_hex(8)


def the_roll(daemon: Daemon) -> RollState:
    roll = daemon.desk.state.roll
    assert roll is not None
    return roll


def the_frame(daemon: Daemon) -> FrameState:
    """The only frame so far."""
    (frame,) = the_roll(daemon).frames.values()
    return frame
