"""The local web server: who may come in, the routes, the live line, the page's files. Knows nothing of devices."""

from rigd.server.app import make_app
from rigd.server.guard import GuardConfig
from rigd.server.runner import WebServer, listen
from rigd.server.sessions import Role, SessionBook

__all__ = ["GuardConfig", "Role", "SessionBook", "WebServer", "listen", "make_app"]
