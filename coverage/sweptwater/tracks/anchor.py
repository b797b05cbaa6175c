"""When a boat that fished lay at anchor."""

import numpy as np

from sweptwater.arrays import Bools
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.spells import runs

ANCHORED_M, ANCHORED_SPREADS = 4.0, 2.5
"""At anchor is within this of the spell's place, or so many of its usual distances."""

USUAL_S = 60.0
"""A drift shorter than this does not tell how fast it goes otherwise."""

WENT_ON = 0.4
"""A boat that went on by so much of what it drifts otherwise lay at no anchor."""


def at_anchor(
    path: Path, still: Bools, first: int, last: int
) -> list[tuple[float, float]]:
    """Return when a boat lay at anchor, in a run of fishing.

    Of the time it spent near one spot, coming to it and leaving it are drifting; and
    all of it is, where the boat went on as slowly as it drifts otherwise.
    """
    spells = []
    at = path.easting + 1j * path.northing
    usual = _usual_velocity(path, at, still, first, last)
    starts, ends = runs(still[first:last], path.stretch[first:last])
    for start, end in zip(
        (starts + first).tolist(), (ends + first).tolist(), strict=True
    ):
        gone_s = path.time_s[end - 1] - path.time_s[start]
        gone_m = ((at[end - 1] - at[start]) * np.conj(usual)).real / max(
            abs(usual), 1e-9
        )
        if not still[start] or gone_m > WENT_ON * abs(usual) * gone_s > 0:
            continue
        east, north = path.easting[start:end], path.northing[start:end]
        away_m = np.hypot(east - np.median(east), north - np.median(north))
        reach_m = max(ANCHORED_M, ANCHORED_SPREADS * float(np.median(away_m)))
        lying = start + np.flatnonzero(away_m <= reach_m)
        spells.append((float(path.time_s[lying[0]]), float(path.time_s[lying[-1]])))
    return spells


def _usual_velocity(
    path: Path, at: np.ndarray, still: Bools, first: int, last: int
) -> complex:
    """Return the velocity made good in the rest of a run of fishing; 0 if unknown."""
    starts, ends = runs(still[first:last], path.stretch[first:last])
    gone, spent_s = 0j, 0.0
    for start, end in zip(
        (starts + first).tolist(), (ends + first).tolist(), strict=True
    ):
        if not still[start]:
            gone += at[end - 1] - at[start]
            spent_s += path.time_s[end - 1] - path.time_s[start]
    return complex(gone) / spent_s if spent_s >= USUAL_S else 0j
