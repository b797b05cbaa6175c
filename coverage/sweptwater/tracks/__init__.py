"""From bytes of GPX to drifts."""
