"""Ports on real libraries and real time. Foreign errors are translated here, once."""
