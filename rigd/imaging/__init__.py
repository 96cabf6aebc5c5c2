"""Judgement: pure functions on arrays with frozen results. Nothing here touches a device, the ledger or the network."""

from rigd.imaging.judge import Judgement, judge, open_gate
from rigd.imaging.limits import Asked, Limits
from rigd.imaging.preview import decode_jpeg, encode_jpeg, no_larger, preview
from rigd.imaging.raw import Raw, open_raw
from rigd.imaging.signature import Signature

__all__ = [
    "Asked",
    "Judgement",
    "Limits",
    "Raw",
    "Signature",
    "decode_jpeg",
    "encode_jpeg",
    "judge",
    "no_larger",
    "open_gate",
    "open_raw",
    "preview",
]
