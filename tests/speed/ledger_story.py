"""The record of one roll as the engine writes it: what a ledger of any size is made of.

A 36 exposure film in six strips; four of its frames are corrected and taken twice, so that a roll has 40 takes.
"""

from __future__ import annotations

from collections.abc import Mapping

from rigd.model import events as ev
from rigd.model import values as v
from rigd.model.words import BaseType, Colour, Decision, Film, Purpose, Quality, Tone

STRIPS, FRAMES, TAKES = 6, 36, 40
RETAKEN = (5, 17, 23, 30)
UNEXPOSED, SOFT = 12, 36
WANT = v.Exposure(1 / 30, "1/30", 8.0, 100)
LEVEL = v.Level((-4.534145, -3.738572, -4.179318), (-1.602338, -0.820160, -1.253666), -2.279366, 0.002, -0.079366)
NUMBERS = {
    "relief": 1.935162, "framing": 3.757455, "seconds": 0.033333, "correction": 0.079366, "base_1s_r": 3.635121,
    "base_1s_g": 4.421218, "base_1s_b": 3.986552,
}  # fmt: skip
CORNERS = ((0.181, 0.052), (0.819, 0.053), (0.818, 0.948), (0.180, 0.947))
JOB = v.Job("j-speed", "Port of Vessling, harbour office: survey negatives", BaseType.SAFETY)


def beginning() -> list[ev.AnyEvent]:
    """What is written before the first roll."""
    return [
        ev.CameraJoined("Simulated Body", "RS0000001", 0.17),
        ev.JobOpened(JOB),
        ev.SetupDescribed(v.Setup("u-0001", "holder", "macro 60", 8.0, 100)),
        ev.LampMeasured("u-0001", (4.656, 5.442, 5.008), 8.0, 100),
    ]


def roll_story(names: Mapping[str, str]) -> list[ev.AnyEvent]:
    """The events of one roll.

    Args:
        names: the ids of the roll `r`, its strips `s1` ..., frames `f1` ..., takes `t1` ..., and `h1` ... the
            checksum of each take.
    """
    roll_id = names["r"]
    label, folder = f"HO 1957-{roll_id}", f"HO_1957-{roll_id}"
    about = v.About(place="Vessling, north mole", dates="1957-05", photographer="E. Harnack")
    roll = v.Roll(
        roll_id, label, folder, "135", Tone.NEGATIVE, Colour.MONO, (36, 37), 6, BaseType.SAFETY, "pan 100", "D-76",
        "cabinet 4, drawer 2", about,
    )  # fmt: skip
    found: list[ev.AnyEvent] = [ev.RollPlanned(roll), ev.RollOpened(roll_id)]
    take = 0
    for place in range(1, FRAMES + 1):
        strip, on_strip = (place - 1) // 6 + 1, (place - 1) % 6 + 1
        if on_strip == 1:
            found.append(ev.StripLoaded(v.Strip(names[f"s{strip}"], roll_id, strip, 6)))
        number = 2 if place in RETAKEN else 1
        found += _frame(names, folder, place, strip, on_strip, tuple(range(take + 1, take + number + 1)))
        take += number
    return [*found, ev.RollClosed(roll_id)]


def _frame(
    names: Mapping[str, str], folder: str, place: int, strip: int, on_strip: int, takes: tuple[int, ...]
) -> list[ev.AnyEvent]:
    frame_id, film = names[f"f{place}"], Film.UNEXPOSED if place == UNEXPOSED else Film.PICTURE
    found: list[ev.AnyEvent] = [
        ev.FramePlaced(v.Frame(frame_id, names["r"], names[f"s{strip}"], on_strip)),
        ev.Triggered(frame_id, "pedal", nonce="536c2ce60ebaab61"),
        ev.Settled(frame_id, 0.5, "measured", 0.8, 0.4),
    ]
    for number, take in enumerate(takes, 1):
        quality = Quality.LOW if number < len(takes) else Quality.SOFT if place == SOFT else Quality.GOOD
        verdict = v.Verdict(film, quality, "Well exposed.", LEVEL, NUMBERS, 75.4, CORNERS)
        found += _take(names, folder, take, (frame_id, place, number), verdict)
    next_place = on_strip + 1 if on_strip < 6 else None
    return [*found, ev.KeeperChosen(frame_id, (names[f"t{takes[-1]}"],), film), ev.Advanced(frame_id, next_place)]


def _take(
    names: Mapping[str, str], folder: str, take: int, of: tuple[str, int, int], verdict: v.Verdict
) -> list[ev.AnyEvent]:
    take_id, (frame_id, place, number) = names[f"t{take}"], of
    size, path = 48_161_536, f"{folder}/{folder}-{place:03d}-{number:02d}-{take_id}.dng"
    card = v.CardFile("/store_00010001/DCIM/100RIGSM", f"RIG_{take:04d}.DNG", size, "2031-03-09T20:00:00")
    decision = Decision.RETAKE if verdict.take is Quality.LOW else Decision.KEEP
    return [
        ev.ExposureIntended(take_id, frame_id, Purpose.WHOLE, number, WANT),
        ev.Exposed(take_id, 0.079145, (card,)),
        ev.Fetched(take_id, f"{folder}/.{take_id}.part", size),
        ev.Stored(take_id, path, names[f"h{take}"], size),
        ev.Judged(take_id, verdict, decision, "Well exposed.", 1 / 30),
        ev.Verified(take_id),
    ]
