"""What goes over HTTP, with examples. Wire models, not domain models: they may stay when the model changes."""
