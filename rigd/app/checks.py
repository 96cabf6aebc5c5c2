"""`rigd check`: the camera's survey and the disk, in one report."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from rigd.app.machine import machine_lines
from rigd.app.survey import camera_config, camera_home, survey_report
from rigd.client import remote_verbs
from rigd.config import Settings
from rigd.drivers.camera import CameraClient
from rigd.ledger import read_run_file
from rigd.operations.checking import CheckReport


async def run_checks(root: Path, settings: Settings, usb: bool) -> CheckReport:
    """Everything, through the daemon if one has the camera; else with a camera connection of this process."""
    run = read_run_file(root)
    if run is not None:
        async with remote_verbs(run.url, run.token) as verbs:
            return await verbs.check()
    config = camera_config(settings)
    client = CameraClient(replace(config, address="usb") if usb else config, camera_home(settings))
    try:
        return await survey_report(client, root, lambda: machine_lines(settings))
    finally:
        await client.close()
