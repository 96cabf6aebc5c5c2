"""One function a verb: routes and commands call the same ones. Results are frozen values, errors RigdErrors."""
