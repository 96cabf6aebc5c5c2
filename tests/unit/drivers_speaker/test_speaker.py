"""The machine's own loudspeaker, by real processes that keep what they got. Pitch and length are measured with numpy's
FFT and the standard library's wave reader; the notes are the page's own (no outside source)."""

from __future__ import annotations

import asyncio
import io
import wave
from pathlib import Path

import numpy as np
import pytest
from tests.unit.drivers_speaker.programs import BROKEN, PLAYER, STUCK, VOICE, install

from rigd import paths
from rigd.drivers.speaker import PLAYERS, VOICES, Speaker, find, load_tunes
from rigd.drivers.speaker.notes import Shape, wav

TUNES = load_tunes(paths.web_root() / "sound" / "notes.json")


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A PATH of one empty folder."""
    (tmp_path / "bin").mkdir()
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    return tmp_path


async def kept(bench: Path, count: int, ending: str) -> list[Path]:
    """What the programs kept, when there are so many."""
    async with asyncio.timeout(30):
        while len(found := [p for p in (bench / "kept").glob(f"*.{ending}") if p.stat().st_size]) < count:  # noqa: ASYNC110 - another process
            await asyncio.sleep(0.01)
    return found


def read(data: bytes) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], int]:
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767, file.getframerate()


def pitch(samples: np.ndarray[tuple[int], np.dtype[np.float64]], rate: int) -> float:
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 1 << 18))
    return float(np.argmax(power) * rate / (1 << 18))


@pytest.mark.parametrize("shape", ["sine", "square", "triangle", "sawtooth"])
def test_a_note_has_its_pitch_length_and_loudness_and_does_not_click(shape: Shape) -> None:
    samples, rate = read(wav(((440.0, 0.5, 0.4, shape),)))
    assert len(samples) / rate == pytest.approx(0.5, abs=0.001)
    assert pitch(samples, rate) == pytest.approx(440, abs=1)
    assert np.abs(samples).max() == pytest.approx(0.4, abs=0.01)
    assert abs(samples[0]) < 0.01
    assert abs(samples[-1]) < 0.01


def test_the_file_is_safe_in_two_notes_of_the_page() -> None:
    samples, rate = read(wav(TUNES["safe"].notes))
    cut = round(TUNES["safe"].notes[0][1] * rate)
    assert pitch(samples[:cut], rate) == pytest.approx(523, abs=2)
    assert pitch(samples[cut:], rate) == pytest.approx(784, abs=2)
    quiet, _ = read(wav(TUNES["safe"].notes, 0.25))
    assert np.abs(quiet).max() == pytest.approx(np.abs(samples).max() / 4, abs=0.001)


def test_the_three_sounds_of_the_cycle_are_there_and_needed() -> None:
    assert {name for name, tune in TUNES.items() if tune.needed} == {"closed", "safe", "call"}


def test_the_first_program_that_is_installed_is_taken(bench: Path) -> None:
    assert find(PLAYERS) is None
    install(bench / "bin", "aplay", PLAYER, bench / "kept")
    found = find(PLAYERS)
    assert found is not None
    assert found.name == "aplay"
    install(bench / "bin", "pw-play", PLAYER, bench / "kept")
    assert find(PLAYERS) == PLAYERS[0]


async def test_a_player_gets_the_sound_as_a_file(bench: Path) -> None:
    install(bench / "bin", "pw-play", PLAYER, bench / "kept")
    async with Speaker(TUNES, find(PLAYERS)) as speaker:
        speaker.play("call")
        (file,) = await kept(bench, 1, "wav")
    assert file.read_bytes() == wav(TUNES["call"].notes)


async def test_words_go_by_the_input_and_are_never_options(bench: Path) -> None:
    install(bench / "bin", "espeak-ng", VOICE, bench / "kept")
    async with Speaker(TUNES, None, find(VOICES)) as speaker:
        speaker.say("--version; $(rm -rf x)")
        (file,) = await kept(bench, 1, "txt")
    assert file.read_text() == "--version; $(rm -rf x)\n"


async def test_a_program_that_fails_is_told_once_and_stops_nothing(
    bench: Path, caplog: pytest.LogCaptureFixture
) -> None:
    install(bench / "bin", "paplay", BROKEN, bench / "kept")
    async with Speaker(TUNES, find(PLAYERS)) as speaker:
        for _ in range(3):
            speaker.play("safe")
        await asyncio.gather(*speaker._running)
    assert [record.getMessage() for record in caplog.records] == [
        "Nothing can be heard from this machine's loudspeaker: paplay: no sound card."
    ]


async def test_a_player_that_hangs_holds_up_nobody_and_goes_with_us(bench: Path) -> None:
    """The leak check sees to it that no process is left."""
    install(bench / "bin", "pw-play", STUCK, bench / "kept")
    async with Speaker(TUNES, find(PLAYERS)) as speaker:
        for _ in range(20):
            speaker.play("closed")
        await kept(bench, 4, "txt")
        assert len(speaker._running) == 4, "more of them would only wait"


async def test_new_words_come_in_place_of_the_old(bench: Path) -> None:
    install(bench / "bin", "spd-say", STUCK, bench / "kept")
    async with Speaker(TUNES, None, find(VOICES)) as speaker:
        speaker.say("Slide the film left.")
        await kept(bench, 1, "txt")
        speaker.say("")
        await asyncio.gather(*speaker._running, return_exceptions=True)
        assert not speaker._running
