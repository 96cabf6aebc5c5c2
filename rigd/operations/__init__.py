"""One function a verb: routes and commands call the same ones. Every result is a frozen value, every error a RigdError."""
