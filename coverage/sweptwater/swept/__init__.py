"""From drifts to swept water, and what is left."""
