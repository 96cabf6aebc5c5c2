"""The camera's survey and the disk's, as lines of one report."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

from rigd import paths
from rigd.config import Settings
from rigd.drivers.camera import CameraClient, CameraConfig
from rigd.drivers.camera.advice import Survey
from rigd.errors import RigdError
from rigd.ledger.fitness import require_fit
from rigd.operations.checking import CheckLine, CheckReport, CheckState, report_of
from rigd.store import Level, Store


def camera_config(settings: Settings) -> CameraConfig:
    """The camera's section of the settings, as the driver wants it."""
    section = settings.camera
    return CameraConfig(
        address=section.address, model=section.model, serial=section.serial, widgets=dict(section.widgets)
    )


def camera_home(settings: Settings) -> Path | None:
    """Where the camera library keeps what must outlast a run: a network camera lets in whom it was paired with.
    None (a passing folder) on loopback, where simulated cameras are."""
    if settings.camera.address.startswith("ptpip:127."):
        return None
    home = paths.state_dir() / "camera"
    home.mkdir(mode=0o700, exist_ok=True)
    return home


async def survey_report(
    client: CameraClient, root: Path, machine: Callable[[], Awaitable[list[CheckLine]]]
) -> CheckReport:
    """Camera, `machine` (advancer and pedal) and disk, as lines. Connects the camera if it is not; changes nothing."""
    survey = await client.survey()
    return report_of([*_camera_lines(survey), *await machine(), *await asyncio.to_thread(_disk_lines, root)])


def _camera_lines(survey: Survey) -> list[CheckLine]:
    nodes = [CheckLine("USB device", "missing" if n.trouble else "ok", f"{n.product} at {n.path}", n.trouble)
             for n in survey.nodes]  # fmt: skip
    if survey.problem is not None:
        what, why, remedy = survey.problem
        return [CheckLine("camera", "missing", f"{what} {why}".strip(), remedy), *nodes]
    serial = f", serial number {survey.serial}" if survey.serial else ""
    lines = [CheckLine("camera", "ok", f"{survey.model}{serial} at {survey.address}"), *nodes]
    lines += [_role_line(survey, role) for role in ("shutter", "aperture", "iso")]
    for advice in survey.advice:
        detail = advice.found or "cannot be read"
        told = f"{detail}. {advice.say}" if advice.status == "ok" else detail
        lines.append(CheckLine(advice.topic, advice.status, told, "" if advice.status == "ok" else advice.say))
    return lines


def _role_line(survey: Survey, role: str) -> CheckLine:
    """A setting that rigd sets itself; only the shutter cannot be done without."""
    found = next((r for r in survey.roles if r.role == role and r.widget), None)
    if found is None or not found.writable:
        state: CheckState = "missing" if role == "shutter" else "attend"
        remedy = "Set the mode dial to manual." if role == "shutter" else "Set it on the camera or the lens by hand."
        return CheckLine(role, state, "cannot be set from here", remedy)
    return CheckLine(role, "ok", f"{found.value}, {found.choices} choices")


def _disk_lines(root: Path) -> list[CheckLine]:
    there = next(folder for folder in (root.resolve(), *root.resolve().parents) if folder.exists())
    try:
        require_fit(there)
        room = Store(there).room()
    except RigdError as error:
        return [CheckLine("disk", "missing", f"{error.what} {error.why}".strip(), error.remedy)]
    found = f"{room.free_bytes / 1e9:.0f} GB free, about {room.frames_left} frames"
    if room.level is Level.OK:
        return [CheckLine("disk", "ok", found)]
    state: CheckState = "attend" if room.level is Level.LOW else "missing"
    return [CheckLine("disk", state, found, "Free some room, or put the job on another disk.")]
