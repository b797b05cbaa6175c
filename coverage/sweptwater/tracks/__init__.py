"""From the bytes of recordings to drifts."""
