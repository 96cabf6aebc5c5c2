"""One command at a time to the board, repeated until it is answered; what it tells unasked goes to a listener."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from rigd.drivers.board.codec import ESCAPE, Decoder, Line, Noise, encode
from rigd.drivers.board.port import Port, gone
from rigd.drivers.board.words import Answer, Event, Refusal, event_of, reply_of
from rigd.errors import BoardError, BoardMissing
from rigd.ports import Clock

REPLY_S = 0.25  # the longest line there and back takes 35 ms
KEEP_S = 0.8  # the EEPROM takes up to 0.2 s for a setting, and all settings are written
TRIES = 4
GREETINGS = 10  # opening resets many boards, and their bootloader swallows what comes for about 1.5 s
GREETING_S = 0.3


class Link:
    """The conversation. `told` gets each event, `lost` the reason once when the board goes away; both in the loop."""

    def __init__(
        self, url: str, clock: Clock, told: Callable[[Event], None], lost: Callable[[BoardError], None]
    ) -> None:
        self.url = url
        self._clock, self._told, self._lost = clock, told, lost
        self._port: Port | None = None
        self._decoder = Decoder()
        self._turn = asyncio.Lock()
        self._number = 0
        self._awaited: asyncio.Future[Answer | Refusal] | None = None
        self._awaited_number = 0
        self._garbled = asyncio.Event()
        self.received = 0
        """Bytes heard since the port was opened."""
        self.written = 0
        """Bytes sent in all."""
        self.noise = 0
        """Bytes in no whole line, and lines that the board could not read."""
        self.missed = 0
        """Events whose numbers were left out."""
        self._event = 0
        self._abandoned: asyncio.Future[None] | None = None

    @property
    def up(self) -> bool:
        return self._port is not None

    async def open(self) -> Answer:
        """Open the port and greet until the board answers; its greeting.

        Raises:
            BoardMissing: no port, or somebody there who does not speak this protocol.
            BoardLost: nobody answers.
        """
        await self.close()
        self._decoder, self.received, self._event = Decoder(), 0, 0
        self._port = await Port.open(self.url, self._hear, self._lose)
        return await self.greet()

    async def greet(self) -> Answer:
        """The greeting again, on the open port. Raises BoardMissing, BoardLost."""
        try:
            async with self._turn:
                reply = await self._exchange("HELLO", GREETINGS, GREETING_S)
        except BaseException:
            await self.close()
            raise
        if not isinstance(reply, Answer) or reply.pairs.get("proto") != "1" or reply.words[:1] != ("film-advancer",):
            await self.close()
            raise BoardMissing(
                f"What is at {self.url} is not a film advancer of this protocol.",
                f"It answers {reply!r}.",
                "Check the address, or load the firmware in hardware/firmware.",
            )
        return reply

    async def close(self) -> None:
        """Give the port back. An exchange that is under way ends with BoardLost."""
        port, self._port = self._port, None
        self._fail(gone(self.url))
        if port is not None:
            await port.close()
        if self._abandoned is not None:
            await self._abandoned

    async def ask(self, words: str) -> Answer | Refusal:
        """Send a command and return what the board says to it, repeating it where the line spoils it.

        The board carries out a repeated command once. Raises BoardLost.
        """
        async with self._turn:
            return await self._exchange(words, TRIES, KEEP_S if words.startswith("KEEP ") else REPLY_S)

    def escape(self) -> None:
        """The emergency stop: at once, whatever else is under way. Raises BoardLost."""
        self._write(ESCAPE * 3)  # one is enough; three outlive a spoilt byte

    def send_unheard(self, words: str) -> None:
        """A command whose answer nobody waits for. Raises BoardLost."""
        self._write(encode(self._next(), words))

    def _next(self) -> int:
        self._number = self._number % 255 + 1
        return self._number

    def _write(self, data: bytes) -> None:
        if self._port is None:
            raise gone(self.url)
        try:
            self._port.write(data)
            self.written += len(data)
        except BoardError as error:
            self._lose(error)
            raise

    async def _exchange(self, words: str, tries: int, patience: float) -> Answer | Refusal:
        number = self._awaited_number = self._next()
        self._awaited = asyncio.get_running_loop().create_future()
        try:
            for _ in range(tries):
                self._garbled.clear()
                self._write(encode(number, words))
                await self._first_of(self._awaited, patience)
                if self._awaited.done():
                    return self._awaited.result()
        finally:
            self._awaited.cancel()
            self._awaited = None
        error = gone(self.url)
        self._lose(error)
        raise error

    async def _first_of(self, reply: asyncio.Future[Answer | Refusal], patience: float) -> None:
        """Until the reply is there, the board says it could not read the line, or time is up."""
        sleeper, garbled = self._clock.sleep(patience), self._garbled.wait()
        others: list[asyncio.Future[Any]] = [asyncio.ensure_future(sleeper), asyncio.ensure_future(garbled)]
        try:
            await asyncio.wait([reply, *others], return_when=asyncio.FIRST_COMPLETED)
        finally:
            for other in others:
                other.cancel()

    def _hear(self, data: bytes) -> None:
        self.received += len(data)
        for found in self._decoder.feed(data):
            if isinstance(found, Noise):
                self.noise += len(found.data)
            elif found.kind == "#":
                self._tell(found)
            else:
                self._settle(reply_of(found))

    def _settle(self, reply: Answer | Refusal) -> None:
        if isinstance(reply, Refusal) and reply.code == "GARBLED":
            self.noise += 1
            self._garbled.set()
        elif self._awaited is not None and not self._awaited.done() and reply.number == self._awaited_number:
            self._awaited.set_result(reply)

    def _tell(self, line: Line) -> None:
        expected = self._event % 255 + 1
        if line.number and self._event and line.number != expected:
            self.missed += (line.number - expected) % 255
        self._event = line.number
        self._told(event_of(line))

    def _lose(self, error: BoardError) -> None:
        port, self._port = self._port, None
        if port is not None:
            self._abandoned = asyncio.ensure_future(port.close())
            self._lost(error)
        self._fail(error)

    def _fail(self, error: BoardError) -> None:
        if self._awaited is not None and not self._awaited.done():
            self._awaited.set_exception(error)
            self._awaited.exception()  # seen, if nobody waits any more
