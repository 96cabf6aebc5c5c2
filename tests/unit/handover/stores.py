"""Stores on loopback that speak the real protocols: S3 by moto's server, SFTP by paramiko's."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from collections.abc import Iterator
from pathlib import Path

import paramiko


@contextlib.contextmanager
def sftp_server(root: Path) -> Iterator[int]:
    """An SFTP server whose files lie in `root`, for user and password `rigd`; its port."""
    listening = socket.create_server(("127.0.0.1", 0))
    key = paramiko.ECDSAKey.generate()
    transports: list[paramiko.Transport] = []

    def serve() -> None:
        while True:
            try:
                connection, _ = listening.accept()
            except OSError:
                return
            transport = paramiko.Transport(connection)
            transport.add_server_key(key)
            transport.set_subsystem_handler("sftp", paramiko.SFTPServer, _files_in(root))
            transport.start_server(server=_Host())
            transports.append(transport)

    thread = threading.Thread(target=serve, name="sftp server")
    thread.start()
    try:
        yield listening.getsockname()[1]
    finally:
        listening.shutdown(socket.SHUT_RDWR)
        listening.close()
        thread.join()
        for transport in transports:
            transport.close()
            transport.join()


class _Host(paramiko.ServerInterface):
    def check_auth_password(self, username: str, password: str) -> int:
        right = (username, password) == ("rigd", "rigd")
        return paramiko.AUTH_SUCCESSFUL if right else paramiko.AUTH_FAILED

    def get_allowed_auths(self, username: str) -> str:
        return "password"

    def check_channel_request(self, kind: str, chanid: int) -> int:
        return paramiko.OPEN_SUCCEEDED


def _files_in(root: Path) -> type[paramiko.SFTPServerInterface]:
    """An SFTP interface on one folder."""

    class Files(paramiko.SFTPServerInterface):
        def _real(self, path: str) -> str:
            return str(root / self.canonicalize(path).lstrip("/"))

        def list_folder(self, path):
            names = os.listdir(self._real(path))  # noqa: PTH208
            return [_attributes(Path(self._real(path)) / name) for name in names]

        def stat(self, path):
            return _attributes(Path(self._real(path)))

        lstat = stat

        def open(self, path, flags, attr):
            try:
                descriptor = os.open(self._real(path), flags, 0o644)
            except OSError as error:
                return paramiko.SFTPServer.convert_errno(error.errno)
            kind = "rb" if not flags & (os.O_WRONLY | os.O_RDWR) else "wb" if flags & os.O_WRONLY else "r+b"
            file = os.fdopen(descriptor, kind)
            handle = paramiko.SFTPHandle(flags)
            handle.readfile = handle.writefile = file
            return handle

        def remove(self, path):
            return _done(lambda: os.remove(self._real(path)))  # noqa: PTH107

        def rename(self, oldpath, newpath):
            return _done(lambda: os.rename(self._real(oldpath), self._real(newpath)))  # noqa: PTH104

        posix_rename = rename

        def mkdir(self, path, attr):
            return _done(lambda: os.mkdir(self._real(path)))  # noqa: PTH102

    return Files


def _attributes(path: Path):
    try:
        return paramiko.SFTPAttributes.from_stat(path.stat(), path.name)
    except OSError as error:
        return paramiko.SFTPServer.convert_errno(error.errno)


def _done(call) -> int:
    try:
        call()
    except OSError as error:
        return paramiko.SFTPServer.convert_errno(error.errno)
    return paramiko.SFTP_OK
