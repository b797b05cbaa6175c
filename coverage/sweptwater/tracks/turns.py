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

PART = 0.15
"""A drift ends as the boat begins to gather way, and begins as it has lost it."""

REACH_S = 30.0
"""How far a moment may be moved."""

COARSE_S = 3.0
"""Fixes further apart than this show no more of a turn than its kink."""

GATHERS_M_S2 = 0.25
"""How quickly a small boat gathers and loses way; common practice, no source."""

DRIFT_S, RUN_S = (15.0, 75.0), (8.0, 30.0)
"""How far from the moment the drift's and the run's velocity are taken."""


def sharpen(
    state: Ints, path: Path, drifting: int, running: int
) -> tuple[Ints, Floats]:
    """Return the states with the moments between two of them moved to their place.

    Parameters
    ----------
    state
        The state at each fix.
    path
        The smoothed path.
    drifting, running
        The two states; moments between others stay.

    Returns
    -------
    state
        The state at each fix.
    since_s
        When it began, where it differs from that of the fix before: half-way between
        the two fixes, or sooner or later where those are far apart.
    """
    state, since_s = state.copy(), middles_s(path)
    starts, _ = runs(state, path.stretch)
    for at in starts[1:].tolist():
        sides = (state[at - 1], state[at])
        if path.stretch[at - 1] != path.stretch[at] or set(sides) != {
            drifting,
            running,
        }:
            continue
        moved, moment_s = _moment(state, path, at, ends_drift=sides[0] == drifting)
        state[min(at, moved) : max(at, moved)] = sides[1] if moved < at else sides[0]
        since_s[moved] = moment_s
    return state, since_s


def middles_s(path: Path) -> Floats:
    """Return the times half-way between each fix and the one before it."""
    return (path.time_s + np.append(path.time_s[:1], path.time_s[:-1])) / 2


def _moment(state: Ints, path: Path, at: int, *, ends_drift: bool) -> tuple[int, float]:
    """Return the index at which the state after a moment should begin, and when."""
    back, ahead = (DRIFT_S, RUN_S) if ends_drift else (RUN_S, DRIFT_S)
    before = _velocity(state, path, at - 1, (-back[1], -back[0]))
    after = _velocity(state, path, at, ahead)
    change = after - before
    size = float(change @ change)
    middle_s = float(path.time_s[at - 1] + path.time_s[at]) / 2
    if size < 0.01:
        return at, middle_s
    low, high = np.searchsorted(
        path.time_s, path.time_s[at] + np.array([-REACH_S, REACH_S])
    )
    near = np.arange(min(low, at - 2), max(high, at + 2))
    near = near[(near >= 0) & (near < len(path.time_s))]
    near = near[path.stretch[near] == path.stretch[at]]
    if np.diff(path.time_s[near]).mean() > COARSE_S:
        return _kink(path, near, (before, change), at, ends_drift=ends_drift)
    velocity = np.column_stack([path.east_m_s[near], path.north_m_s[near]])
    gone = (velocity - before) @ change / size
    level = PART if ends_drift else 1 - PART
    crossings = near[1:][(gone[:-1] < level) & (gone[1:] >= level)]
    if not len(crossings):
        return at, middle_s
    moved = int(crossings[np.abs(crossings - at).argmin()])
    return moved, float(path.time_s[moved - 1] + path.time_s[moved]) / 2


def _kink(
    path: Path,
    near: Ints,
    turn: tuple[Floats, Floats],
    at: int,
    *,
    ends_drift: bool,
) -> tuple[int, float]:
    """Return where the way has its kink, between fixes that are far apart.

    `turn` is the velocity before and by how much it changes. Of a step during which
    the boat turned from one velocity to the other at one moment, the displacement
    tells the share of its time that it went with the second. The boat gathers way
    before the kink that this makes of its start, and loses it after that of its stop.
    """
    before, change = turn
    step_s = np.diff(path.time_s[near])
    moved = np.column_stack([np.diff(path.easting[near]), np.diff(path.northing[near])])
    gone = (moved / step_s[:, None] - before) @ change / float(change @ change)
    gone = np.clip(gone, 0.0, 1.0)
    wrong_s = np.cumsum(np.append(0.0, step_s * gone))
    wrong_s += np.cumsum(np.append(0.0, (step_s * (1 - gone))[::-1]))[::-1]
    best = int(near[0] + wrong_s.argmin())
    first, last = max(best - 1, int(near[0])), min(best + 1, int(near[-1]))
    inside = slice(first - int(near[0]), last - int(near[0]))
    moment_s = float(path.time_s[last] - (step_s * gone)[inside].sum())
    gathers_s = float(np.hypot(*change)) / GATHERS_M_S2 / 2
    moment_s += -gathers_s if ends_drift else gathers_s
    moment_s = float(np.clip(moment_s, path.time_s[near[0]], path.time_s[near[-1]]))
    moved_to = int(np.searchsorted(path.time_s, moment_s))
    if not near[0] < moved_to <= near[-1]:
        return at, float(path.time_s[at - 1] + path.time_s[at]) / 2
    return moved_to, moment_s


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
