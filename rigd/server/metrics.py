"""Figures for a monitor, in the text format of Prometheus (exposition format 0.0.4)."""

from __future__ import annotations

from collections.abc import Iterator

from rigd.hub import Vitals
from rigd.model.state import State
from rigd.model.tally import tally

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
Value = float | int | bool | None


def text(state: State, vitals: Vitals, watching: int) -> str:
    """All figures at one moment. What is not known is left out.

    Args:
        watching: how many live lines are open.
    """
    lines: list[str] = []
    for name, kind, told, values in (*_rig(state, vitals, watching), *_roll(state)):
        known = {labels: value for labels, value in values.items() if value is not None}
        if known:
            lines += [f"# HELP {name} {told}", f"# TYPE {name} {kind}"]
            lines += [f"{name}{labels} {_number(value)}" for labels, value in known.items()]
    return "\n".join(lines) + "\n"


Figure = tuple[str, str, str, dict[str, Value]]


def _one(name: str, kind: str, told: str, value: Value) -> Figure:
    return name, kind, told, {"": value}


def _rig(state: State, vitals: Vitals, watching: int) -> Iterator[Figure]:
    yield _one("rigd_events_total", "counter", "Events in the ledger.", state.seq)
    yield _one("rigd_takes_total", "counter", "Exposures begun in this job.", state.take_count)
    yield _one("rigd_camera_up", "gauge", "1 if the camera answers.", vitals.camera_ok)
    yield _one("rigd_ledger_up", "gauge", "1 if the ledger can be written.", vitals.ledger_ok)
    yield _one("rigd_trouble", "gauge", "1 if somebody is needed.", state.trouble is not None)
    yield _one("rigd_paused", "gauge", "1 while paused.", state.paused)
    yield _one("rigd_idle", "gauge", "1 while nothing is in hand.", vitals.phase == "idle")
    yield _one("rigd_battery_ratio", "gauge", "Charge of the camera's battery, 0 to 1.", _share(vitals.battery_pct))
    yield _one("rigd_disk_free_bytes", "gauge", "Free bytes on the job's disk.", vitals.free_bytes)
    yield _one("rigd_disk_free_frames", "gauge", "Frames that still fit on it.", vitals.frames_left)
    yield _one("rigd_copied_files", "gauge", "Files with a verified second copy.", vitals.copied)
    yield _one("rigd_copy_files", "gauge", "Files that are to have one.", vitals.to_copy)
    going = None if vitals.to_copy is None else not vitals.copy_trouble
    yield _one("rigd_copy_up", "gauge", "1 if the second copy can go on.", going)
    yield _one("rigd_card_free_bytes", "gauge", "Free bytes on the camera's card, when seen.", vitals.card_free_bytes)
    yield _one("rigd_card_free_frames", "gauge", "Frames that still fit on it.", vitals.card_frames_left)
    yield _one("rigd_board_wanted", "gauge", "1 if a film advancer board is named in the settings.", bool(vitals.board))
    yield from _board(vitals) if vitals.board else ()
    yield _one("rigd_unclaimed_files", "gauge", "Files that belong to no take yet.", state.unclaimed)
    yield _one("rigd_lines", "gauge", "Open live lines.", watching)


def _board(vitals: Vitals) -> Iterator[Figure]:
    heard = vitals.board_heard.timestamp() if vitals.board_heard else None
    warm = None if vitals.lamp_warm_in_s is None else vitals.lamp_warm_in_s == 0
    yield _one("rigd_board_up", "gauge", "1 if the board answers.", vitals.board_ok)
    yield _one("rigd_board_heard_seconds", "gauge", "When it answered last, seconds since 1970.", heard)
    yield _one("rigd_board_film", "gauge", "1 if its sensor sees film.", vitals.board_film)
    yield _one("rigd_board_stopped", "gauge", "1 while a stop is latched there.", vitals.board_stopped)
    yield _one("rigd_lamp_level_ratio", "gauge", "Level of the lamp that it drives, 0 to 1.", vitals.lamp_level)
    yield _one("rigd_lamp_warm", "gauge", "1 if that lamp has warmed up.", warm)


def _roll(state: State) -> Iterator[Figure]:
    """The current roll, under its label."""
    if state.roll is None:
        return
    counts, label = tally(state.roll), _escaped(state.roll.roll.label)
    kinds = ("pictures", "unexposed", "fogged", "skipped", "open", "missing", "retaken", "suspect")
    frames: dict[str, Value] = {f'{{roll="{label}",kind="{kind}"}}': getattr(counts, kind) for kind in kinds}
    yield "rigd_roll_frames", "gauge", "Frames of the current roll, by what they are.", frames
    whole = {f'{{roll="{label}"}}': counts.expected}
    yield "rigd_roll_frames_expected", "gauge", "Frames that the current roll should have.", {**whole}


def _share(percent: int | None) -> float | None:
    return None if percent is None else percent / 100


def _number(value: Value) -> str:
    return repr(float(value)) if isinstance(value, float) else str(int(value or 0))


def _escaped(text: str) -> str:
    """A label's value: backslash, quote and line feed are escaped."""
    return text.replace("\\", r"\\").replace('"', r"\"").replace("\n", r"\n")
