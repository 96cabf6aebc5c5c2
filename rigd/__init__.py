"""rigd: digitise film with a camera on a copy stand, without touching the rig."""

__version__ = "0.1.0"
