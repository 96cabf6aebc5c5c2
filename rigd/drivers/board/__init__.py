"""The film advancer board behind the ports Advancer, Lamp and Trigger (protocol: hardware/PROTOCOL.md)."""

from rigd.drivers.board.client import BoardClient
from rigd.drivers.board.pedals import BoardPedals

__all__ = ["BoardClient", "BoardPedals"]
