"""The command line's way to a running daemon."""

from rigd.client.verbs import RemoteVerbs, remote_verbs

__all__ = ["RemoteVerbs", "remote_verbs"]
