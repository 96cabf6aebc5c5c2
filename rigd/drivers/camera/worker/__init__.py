"""The process that owns the camera: `python -m rigd.drivers.camera.worker DESCRIPTOR PARENT`.

Nothing else imports gphoto2. Every call into it is made on this process's main thread; a second thread only reads the
socket to the daemon.
"""
