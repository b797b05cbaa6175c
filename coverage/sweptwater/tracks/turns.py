"""The moments at which drifting turns into motoring and back.

Smoothing smears the start and the end of a drift over some twenty seconds, and a cut
of the day's speeds falls where the day is emptiest, not where this boat turned. So
each moment is moved to where the velocity has gone a part of the way from the
drift's to the run's: the projection on the difference of the two, which also holds
where the boat goes back the way it came.
"""

import numpy as np

from sweptwater.arrays import Floats, Ints
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.spells import runs

PART = 0.2
"""A drift ends as the boat begins to gather way, and begins as it has lost it."""

REACH_S = 30.0
"""How far a moment may be moved."""

DRIFT_S, RUN_S = (15.0, 75.0), (8.0, 30.0)
"""How far from the moment the drift's and the run's velocity are taken."""


def sharpen(state: Ints, path: Path, drifting: int, running: int) -> Ints:
    """Return the states with the moments between two of them moved to their place.

    Parameters
    ----------
    state
        The state at each fix.
    path
        The smoothed path.
    drifting, running
        The two states; moments between others stay.
    """
    state = state.copy()
    starts, _ = runs(state, path.stretch)
    for at in starts[1:].tolist():
        sides = (state[at - 1], state[at])
        if path.stretch[at - 1] != path.stretch[at] or set(sides) != {
            drifting,
            running,
        }:
            continue
        moved = _moment(state, path, at, ends_drift=sides[0] == drifting)
        state[min(at, moved) : max(at, moved)] = sides[1] if moved < at else sides[0]
    return state


def _moment(state: Ints, path: Path, at: int, *, ends_drift: bool) -> int:
    """Return the index at which the state after a moment should begin."""
    back, ahead = (DRIFT_S, RUN_S) if ends_drift else (RUN_S, DRIFT_S)
    before = _velocity(state, path, at - 1, (-back[1], -back[0]))
    after = _velocity(state, path, at, ahead)
    change = after - before
    size = float(change @ change)
    if size < 0.01:
        return at
    low, high = np.searchsorted(
        path.time_s, path.time_s[at] + np.array([-REACH_S, REACH_S])
    )
    near = np.arange(low, high)
    near = near[path.stretch[near] == path.stretch[at]]
    velocity = np.column_stack([path.east_m_s[near], path.north_m_s[near]])
    gone = (velocity - before) @ change / size
    level = PART if ends_drift else 1 - PART
    crossings = near[1:][(gone[:-1] < level) & (gone[1:] >= level)]
    if not len(crossings):
        return at
    return int(crossings[np.abs(crossings - at).argmin()])


def _velocity(
    state: Ints, path: Path, at: int, window_s: tuple[float, float]
) -> Floats:
    """Return the mean velocity near a fix, in its own state and a window of time."""
    low, high = np.searchsorted(path.time_s, path.time_s[at] + np.array(window_s))
    low, high = min(low, at), max(high, at + 1)
    near = np.arange(low, high)
    same = (state[near] == state[at]) & (path.stretch[near] == path.stretch[at])
    inside = same & (
        (path.time_s[near] - path.time_s[at] >= window_s[0])
        & (path.time_s[near] - path.time_s[at] <= window_s[1])
    )
    chosen = near[inside] if inside.any() else near[same]
    return np.array([path.east_m_s[chosen].mean(), path.north_m_s[chosen].mean()])
