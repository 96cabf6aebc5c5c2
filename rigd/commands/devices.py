"""`rigd devices`: who may come in, who has, and who works the rig. All of it asks the running daemon."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from rigd.app.reach import reach_daemon
from rigd.client import Device
from rigd.commands.common import job_option, json_option, runs, show
from rigd.server import for_terminal

_ROLE = click.option(
    "--role", type=click.Choice(["viewer", "operator"]), default="operator", show_default=True,
    help="A viewer looks, an operator works the rig.",
)  # fmt: skip


@click.group()
def devices() -> None:
    """Phones and other devices: let in, list, send away."""


@devices.command()
@_ROLE
@job_option
@json_option
@runs
async def pair(role: str, root: Path, as_json: bool) -> None:
    """Let one device in, by a code to scan or to type, within ten minutes."""
    async with reach_daemon(root) as verbs:
        offer = await verbs.pair(role=role)
    if as_json:
        show(offer, True, list)
    else:
        show_offer(offer.link, offer.typed, offer.addresses)


@devices.command("list")
@job_option
@json_option
@runs
async def list_devices(root: Path, as_json: bool) -> None:
    """Every device that was let in, and when it was seen last."""
    async with reach_daemon(root) as verbs:
        found = await verbs.devices()
    show(found, as_json, lambda: [_line(device) for device in found])


@devices.command()
@click.argument("device", type=click.IntRange(min=1))
@job_option
@json_option
@runs
async def revoke(device: int, root: Path, as_json: bool) -> None:
    """Send DEVICE away, by its number in the list; its page is locked at once."""
    async with reach_daemon(root) as verbs:
        await verbs.revoke(device_id=device)
    show({"revoked": device}, as_json, lambda: [f"Device {device} has no session any more."])


@devices.command()
@click.argument("name")
@click.option("--role", type=click.Choice(["viewer", "operator"]), default="viewer", show_default=True)
@job_option
@json_option
@runs
async def token(name: str, role: str, root: Path, as_json: bool) -> None:
    """Let a program in, such as a monitor: prints the token for its Authorization header, once."""
    async with reach_daemon(root) as verbs:
        found = await verbs.let_in(name=name, role=role)
    show(found, as_json, lambda: [found.token])


@devices.command()
@job_option
@json_option
@runs
async def free(root: Path, as_json: bool) -> None:
    """Take control of the rig away from whoever has it: the next command has it."""
    async with reach_daemon(root) as verbs:
        await verbs.free()
    show({"control": None}, as_json, lambda: ["Nobody has control; the next command takes it."])


def show_offer(link: str, typed: str, addresses: Sequence[str]) -> None:
    """Print what lets one device in: a code to scan, and letters to type."""
    click.echo("\nTo let one phone in within ten minutes, scan this with its camera:\n")
    click.echo(for_terminal(link))
    click.echo(f"Or open {' or '.join(addresses)} there and type: {typed}")


def _line(device: Device) -> str:
    here = "looking now" if device.here else f"seen {device.seen_at.astimezone():%Y-%m-%d %H:%M}"
    more = [here, device.address, "has control" if device.control else ""]
    return f"{device.id:>3}  {device.name}: {device.role}, {', '.join(part for part in more if part)}"
