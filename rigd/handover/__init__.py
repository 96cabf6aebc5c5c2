"""From ledger and store to what is handed over. Nothing here touches a device or opens the ledger."""
