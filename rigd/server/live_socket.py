"""One WebSocket connection: uvicorn's, with limits on what a client may make us do between two looks at the rig."""

from __future__ import annotations

from typing import Any

from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol
from websockets.frames import Frame

from rigd.server.connections import HEAD_SECONDS
from rigd.server.limits import Pace
from rigd.server.waits import Waits

# A page acknowledges 25 pictures a second, asks now and then, and answers pings: under 50. The frames of one message
# count one by one, pings too: each of them is work, and a quarter of a megabyte holds forty thousand.
FRAMES_PER_SECOND = 200
# Of what came in one piece so much is read before the pace is looked at: some 300 of the smallest frames, 2 ms.
SLICE_BYTES = 2048
# A page answers the end of its line at once; who does not answer is not waited for.
CLOSE_SECONDS = 2.0
# RFC 6455 section 7.4.1: a message that breaks a rule; one that is not what its kind says.
BROKE_A_RULE, NO_TEXT = 1008, 1007


class LiveSocket(WebSocketsSansIOProtocol):
    """Cuts off whoever does not shake hands in time, or sends frames faster than any page does."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.waits = Waits(self.loop.time)
        self.close_timeout = CLOSE_SECONDS
        self._pace = Pace(FRAMES_PER_SECOND, self.loop.time)

    def connection_made(self, transport: Any) -> None:
        super().connection_made(transport)
        self.waits.begin("handshake", HEAD_SECONDS)

    def data_received(self, data: bytes) -> None:
        for start in range(0, len(data), SLICE_BYTES):
            if self.transport.is_closing():
                return
            super().data_received(data[start : start + SLICE_BYTES])

    def start_keepalive(self) -> None:
        super().start_keepalive()
        self.waits.end("handshake")

    def handle_events(self) -> None:
        """As its parent does it, while the pace lasts."""
        if all(self._pace.allow(None) for event in self.conn.events if isinstance(event, Frame)):
            super().handle_events()
        elif self.close_sent:
            self.transport.abort()
        else:
            self._end(BROKE_A_RULE, "too fast")

    async def send(self, message: Any) -> None:
        await super().send(message)
        if message["type"] == "websocket.http.response.body":
            self.handshake_complete = True  # a refusal is an end too: its parent would log a fault of ours each time

    def send_receive_event_to_app(self) -> None:
        if self.curr_msg_data_type == "text" and not _is_text(b"".join(self.frames)):
            self._end(NO_TEXT, "no text")
            return
        super().send_receive_event_to_app()

    def handle_parser_exception(self) -> None:
        if self.conn.close_sent is None:  # it never came to a handshake that could be ended in form
            self.transport.abort()
        else:
            super().handle_parser_exception()

    def _end(self, code: int, reason: str) -> None:
        self.conn.fail(code, reason)
        self.handle_parser_exception()


def _is_text(data: bytes) -> bool:
    try:
        data.decode()
    except UnicodeDecodeError:
        return False
    return True
