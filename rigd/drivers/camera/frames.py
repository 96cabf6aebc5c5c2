"""Messages on a byte stream: four bytes of length (big-endian), then the message. No I/O here."""

from __future__ import annotations

from collections.abc import Iterator

LENGTH_BYTES = 4
LONGEST = 1 << 26  # bytes; a live picture takes some hundred kB, so 64 MiB means that the stream is out of step


class OutOfStep(ValueError):
    """The stream announces a message that cannot be: no further byte of it can be understood."""


def pack(message: bytes) -> bytes:
    """One message as it goes over the wire."""
    return len(message).to_bytes(LENGTH_BYTES, "big") + message


class Splitter:
    """Bytes in, whole messages out, however the bytes are cut."""

    def __init__(self) -> None:
        self._held = bytearray()

    def feed(self, data: bytes) -> Iterator[bytes]:
        """Messages that are complete now. Raises OutOfStep."""
        self._held += data
        while len(self._held) >= LENGTH_BYTES:
            end = LENGTH_BYTES + int.from_bytes(self._held[:LENGTH_BYTES], "big")
            if end > LONGEST:
                raise OutOfStep(f"a message of {end} bytes")
            if len(self._held) < end:
                return
            message = bytes(self._held[LENGTH_BYTES:end])
            del self._held[:end]
            yield message
