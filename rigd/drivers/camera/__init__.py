"""One camera, driven by libgphoto2 in a process of its own.

`CameraClient` is what the daemon uses; `worker` is that process, and the only place that imports gphoto2.
"""

from rigd.drivers.camera.client import CameraClient
from rigd.drivers.camera.config import Allowances, CameraConfig

__all__ = ["Allowances", "CameraClient", "CameraConfig"]
