"""The only composition root: settings -> devices -> one task group. Nothing else starts a simulator."""
