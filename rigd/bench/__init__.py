"""The set-up's checks: is the rig square, sharp, evenly lit, dark and still? Numbers, limits with their source, and
what to turn."""
