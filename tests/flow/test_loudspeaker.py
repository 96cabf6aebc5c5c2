"""A frame taken by the daemon, heard from the machine's own loudspeaker; a real process keeps what it was to play."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from rigs import nonce, paper_work, settings_for
from tests.unit.drivers_speaker.programs import PLAYER, VOICE, install

from rigd import paths
from rigd.app.daemon import running_daemon
from rigd.app.sounds import speaker_lines
from rigd.client import remote_verbs
from rigd.config import SpeakerSection
from rigd.drivers.speaker import load_tunes
from rigd.drivers.speaker.notes import wav

if TYPE_CHECKING:
    from conftest import Simulated


async def heard(folder: Path, wanted: dict[str, bytes]) -> None:
    """Wait until each of these was played."""
    async with asyncio.timeout(60):
        while not set(wanted.values()) <= {file.read_bytes() for file in folder.glob("*.wav")}:  # noqa: ASYNC110 - another process
            await asyncio.sleep(0.05)


async def test_shutter_and_file_are_heard_and_what_is_needed_is_said(
    simulated: Simulated, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "kept"
    for name, text in (("pw-play", PLAYER), ("spd-say", VOICE)):
        install(tmp_path / "bin", name, text, kept)
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    tunes = load_tunes(paths.web_root() / "sound" / "notes.json")
    sounds = {name: wav(tunes[name].notes) for name in ("closed", "safe", "call", "refused")}
    section = SpeakerSection(sounds="needed", speech=True)
    settings = settings_for(simulated.camera).model_copy(update={"speaker": section})
    async with running_daemon(tmp_path / "job", settings) as daemon, remote_verbs(daemon.url, daemon.token) as verbs:
        await daemon.desk.engine().until_idle()
        await paper_work(verbs)
        await verbs.trigger(nonce=nonce(), target="s-0001#1")
        await daemon.desk.engine().until_idle()
        await heard(kept, {name: sounds[name] for name in ("closed", "safe")})
        simulated.hand.lay(strip=None)
        await verbs.trigger(nonce=nonce(), target="s-0001#2")
        await daemon.desk.engine().until_idle()
        await heard(kept, {"call": sounds["call"]})
        trouble = daemon.desk.state.trouble
        assert trouble is not None
        async with asyncio.timeout(60):
            while not [said for said in kept.glob("*.txt") if trouble.remedy in said.read_text()]:  # noqa: ASYNC110 - another process
                await asyncio.sleep(0.05)
    assert sounds["refused"] not in [file.read_bytes() for file in kept.glob("*.wav")], "not needed, not asked for"


def test_what_is_not_there_is_said_with_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert speaker_lines(SpeakerSection()) == []
    for line in speaker_lines(SpeakerSection(sounds="all", speech=True)):
        assert line.state == "missing"
        assert "Install one of" in line.remedy
