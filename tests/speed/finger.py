"""A finger on the trigger as a process of its own: `python finger.py HOST PORT TOKEN`.

Each line of its input is the path and the body of one command. It is sent, and the moment at which it went out is
printed, in seconds of the machine's monotonic clock, which all processes share, with the status."""

from __future__ import annotations

import socket
import sys
import time


def main(host: str, port: int, token: str) -> None:
    for line in sys.stdin:
        path, _, body = line.strip().partition(" ")
        head = (
            f"POST {path} HTTP/1.1\r\nHost: {host}:{port}\r\nAuthorization: Bearer {token}\r\nConnection: close\r\n"
            f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
        )
        with socket.create_connection((host, port)) as wire:
            wire.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            request = (head + body).encode()
            sent = time.monotonic()
            wire.sendall(request)
            status = wire.recv(64).split()[1].decode()
        print(sent, status, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), sys.argv[3])
