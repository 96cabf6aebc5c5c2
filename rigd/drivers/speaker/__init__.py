"""The loudspeaker of the machine itself: sounds made from their notes, played and spoken by what the system has."""

from rigd.drivers.speaker.notes import Tune, load_tunes
from rigd.drivers.speaker.programs import PLAYERS, VOICES, Program, find
from rigd.drivers.speaker.speaker import Speaker

__all__ = ["PLAYERS", "VOICES", "Program", "Speaker", "Tune", "find", "load_tunes"]
