"""Drifts to come: laid for a wind, chosen for the hours, held against what was done."""
