"""What the board's refusals, and motions that ended otherwise, mean to the operator."""

from __future__ import annotations

from rigd.drivers.board.words import Refusal, Rest
from rigd.errors import BoardError, BoardLost, BoardRefused, Busy, FilmStuck, MotionStopped

CLEAR_IT = "Look after the film, release the stop switch, and clear the stop on purpose."


def error_of(refusal: Refusal, words: str) -> BoardError | Busy:
    """The error for a refused command."""
    if refusal.code in ("STOPPED", "HELD"):
        return stopped(held=refusal.code == "HELD")
    if refusal.code == "MOVING":
        return Busy("The film is moving.", "One motion at a time; nothing queues.", "Wait until it rests.")
    if refusal.code == "FAULT":
        return driver_fault()
    if refusal.code == "LIMIT" and not refusal.pairs:
        return BoardRefused(
            f"The board does not take {words!r}.", "The value is outside of the setting's range.",
            "The ranges stand in hardware/PROTOCOL.md, \"Settings\".",
        )  # fmt: skip
    if refusal.code == "LIMIT":
        limits = ", ".join(f"{name} {value}" for name, value in refusal.pairs.items())
        return BoardRefused(
            "The advancer will not move so far, so fast or so long.",
            f"Its limit: {limits}.",
            "Ask for less, or correct the board's settings.",
        )
    return BoardRefused(
        f"The board does not take {words!r}.",
        f"It says {refusal.code}.",
        "Load the firmware that belongs to this version (hardware/firmware).",
    )


def stopped(held: bool = False) -> MotionStopped:
    why = "The stop switch is still pressed, or its wire is broken." if held else "A stop was pressed."
    return MotionStopped("The advancer is stopped.", why, CLEAR_IT)


def driver_fault() -> FilmStuck:
    return FilmStuck(
        "The motor's driver reports a fault.",
        "It is too hot, overloaded, or a motor wire has come off.",
        "Switch the advancer off, free the film by hand, and check motor and driver.",
    )


def stuck() -> FilmStuck:
    return FilmStuck(
        "The film does not follow the motor.",
        "No perforation passed the sensor although the motor turned.",
        "Open the gate, free the film by hand, and look at its perforations and its end.",
    )


def restarted(why: str) -> BoardLost:
    return BoardLost(
        "The film advancer has restarted.",
        f"Its boot message says: {why}. It does not know any more where the film is.",
        "Look at the film in the gate and find its place again.",
    )


def check_rest(rest: Rest) -> None:
    """Raises where a motion ended because something was wrong."""
    if rest.why == "stop":
        raise stopped()
    if rest.why == "stall":
        raise stuck()
    if rest.why == "fault":
        raise driver_fault()
