"""Paper: one list of layers, and pages that need no network to show it."""
