"""Simulated devices for rigd: one scene that all of them look at, and a wire dialect for each."""
