"""From a raw to a readable picture by physics: density over the base, the film's contrast, a print's tones."""

from rigd.imaging.positive.balance import Balance, balance_roll, tones
from rigd.imaging.positive.curve import Paper, density, log_exposure, print_share
from rigd.imaging.positive.flat import Flat, flat_field
from rigd.imaging.positive.geometry import Placing, place, straighten
from rigd.imaging.positive.mosaic import combine_channels, merge_exposures, scaled
from rigd.imaging.positive.render import Look, render

__all__ = [
    "Balance",
    "Flat",
    "Look",
    "Paper",
    "Placing",
    "balance_roll",
    "combine_channels",
    "density",
    "flat_field",
    "log_exposure",
    "merge_exposures",
    "place",
    "print_share",
    "render",
    "scaled",
    "straighten",
    "tones",
]
