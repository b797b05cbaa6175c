"""The practice folder on disk: the only room that touches it."""
