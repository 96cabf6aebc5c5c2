"""The local web server: who may come in, the routes, the live line, the page's files. Knows nothing of devices."""

from rigd.server.announce import announce, local_name
from rigd.server.app import make_app
from rigd.server.codes import Offer, Role
from rigd.server.doors import Door, lan_door, listen, url_of
from rigd.server.guard import GuardConfig
from rigd.server.qr import for_terminal
from rigd.server.runner import WebServer
from rigd.server.sessions import SessionBook
from rigd.server.vault import Vault

__all__ = [
    "Door", "GuardConfig", "Offer", "Role", "SessionBook", "Vault", "WebServer", "announce", "for_terminal",
    "lan_door", "listen", "local_name", "make_app", "url_of",
]  # fmt: skip
