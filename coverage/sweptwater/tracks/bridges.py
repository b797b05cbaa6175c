"""Whether a drift went on across a silence."""

from collections.abc import Sequence

import numpy as np

from sweptwater.arrays import Bools, Ints
from sweptwater.practice.said import Correction
from sweptwater.practice.settings import Rules
from sweptwater.tracks.corrections import said_to_go_on
from sweptwater.tracks.smooth import Path


def bridges(
    path: Path,
    bounds: tuple[Ints, Ints],
    fishing: Bools,
    rules: Rules,
    corrections: Sequence[Correction],
) -> Bools:
    """Mark each run of fishing that goes on from the one before across a silence."""
    sides = [slice(start, end) for start, end in zip(*bounds, strict=True)]
    bridged = np.zeros(len(sides), dtype=bool)
    for i in 1 + np.flatnonzero(fishing[1:] & fishing[:-1]):
        before, after = sides[i - 1], sides[i]
        ends_s = path.time_s[[before.stop - 1, after.start]]
        said = said_to_go_on(corrections, *ends_s.tolist())
        bridged[i] = _goes_on(path, before, after, rules) if said is None else said
    return bridged


def _goes_on(path: Path, before: slice, after: slice, rules: Rules) -> bool:
    """Tell whether a boat that drifted on would be where the record resumes."""
    last, first = before.stop - 1, after.start
    silent_s = path.time_s[first] - path.time_s[last]
    if silent_s > rules.bridge_s:
        return False
    across = (
        complex(
            path.easting[first] - path.easting[last],
            path.northing[first] - path.northing[last],
        )
        / silent_s
    )
    return all(
        _agrees(across, _drifting(path, side, at))
        for side, at in ((before, last), (after, first))
    )


def _drifting(path: Path, run: slice, at: int, within_s: float = 120.0) -> complex:
    """Return the mean velocity, east + i north, of a run near one of its fixes."""
    index = np.arange(run.start, run.stop)
    near = index[np.abs(path.time_s[index] - path.time_s[at]) <= within_s]
    span = path.time_s[near[-1]] - path.time_s[near[0]]
    if span <= 0:
        return complex(path.east_m_s[at], path.north_m_s[at])
    return complex(
        (path.easting[near[-1]] - path.easting[near[0]]) / span,
        (path.northing[near[-1]] - path.northing[near[0]]) / span,
    )


def _agrees(one: complex, other: complex) -> bool:
    """Tell whether two velocities could be one drift's: by vector, half of it aside."""
    return abs(one - other) <= max(0.12, 0.5 * min(abs(one), abs(other)))
