"""The speed that parts a day's drifting from its motoring."""

import numpy as np
from scipy.ndimage import gaussian_filter1d

from sweptwater.arrays import Bools, Floats
from sweptwater.practice.settings import Rules
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.spells import lasted_s, runs
from sweptwater.tracks.turns import COARSE_S

LOG_STEP, LOG_BLUR = 0.02, 0.08
"""Width of a bin, and of the smoothing, of log speeds."""

KEPT_S = 120.0
"""Neither a gust nor a lull keeps a boat on the other side of the cut for longer."""

FASTEST_DRIFT_M_S = 1.8
"""No boat is taken to drift faster, whatever the wind."""


def emptiest_cut(speed_m_s: Floats, weight_s: Floats, rules: Rules) -> float:
    """Return the speed between drifting and motoring that the boat spent least time at.

    A boat that hardly went faster than boats drift was not motoring: the usual cut
    then stands. Else a cut must leave some time above it, for one that is faster than
    the boat ever went would call everything fishing.

    Examples
    --------
    >>> speeds = np.array([0.3] * 300 + [1.8] * 90)
    >>> 0.7 <= emptiest_cut(speeds, np.ones(390), Rules()) < 1.4
    True
    >>> emptiest_cut(np.array([0.3] * 300), np.ones(300), Rules())
    1.0
    """
    at, time_at = _time_at_speeds(speed_m_s, weight_s)
    enough = _enough_s(time_at)
    if time_at[at > rules.usual_cut_m_s].sum() < enough:
        return rules.usual_cut_m_s
    above, below = time_at[::-1].cumsum()[::-1], time_at.cumsum()
    density = gaussian_filter1d(time_at.astype(float), LOG_BLUR / LOG_STEP)
    possible = (at >= rules.slowest_cut_m_s) & (at <= rules.fastest_cut_m_s)
    possible &= above >= enough
    if below[at < rules.slowest_cut_m_s].max() < enough:
        # All was fast: fast drifts lie below a valley, if the day has one.
        valley = possible & (below >= enough) & (at < FASTEST_DRIFT_M_S)
        valley &= density <= 0.05 * density.max()
        possible = valley if valley.any() else possible
    density[~possible] = np.inf
    return float(at[density.argmin()])


def valleys(speed_m_s: Floats, weight_s: Floats, rules: Rules) -> list[float]:
    """Return the speeds at which the boat spent less time than just below and above.

    Only those count that leave some time on either side.
    """
    at, time_at = _time_at_speeds(speed_m_s, weight_s)
    density = gaussian_filter1d(time_at.astype(float), 0.75 * LOG_BLUR / LOG_STEP)
    above, below = time_at[::-1].cumsum()[::-1], time_at.cumsum()
    enough = _enough_s(time_at)
    inner = slice(1, -1)
    low = (density[inner] <= density[:-2]) & (density[inner] < density[2:])
    low &= (above[inner] >= enough) & (below[inner] >= enough)
    found = at[inner][low]
    return found[
        (found >= rules.slowest_cut_m_s) & (found <= rules.fastest_cut_m_s)
    ].tolist()


def _time_at_speeds(speed_m_s: Floats, weight_s: Floats) -> tuple[Floats, Floats]:
    """Return speeds in even steps of their logarithm, and the time spent at each."""
    seen = np.log(np.clip(speed_m_s, 0.051, 11.9))
    edges = np.arange(np.log(0.05), np.log(12.0), LOG_STEP)
    time_at, _ = np.histogram(seen, edges, weights=weight_s)
    return np.exp((edges[:-1] + edges[1:]) / 2), time_at


def _enough_s(time_at: Floats) -> float:
    return max(60.0, 0.02 * float(time_at.sum()))


def hysteresis(path: Path, speed: Floats, cut: float, rules: Rules) -> Bools:
    """Mark motoring; a run that barely crosses the cut is none of its own.

    One that keeps beyond it for long is: gusts and lulls pass sooner.
    """
    fast = speed > cut
    if not len(fast):
        return fast
    starts, ends = runs(fast, path.stretch)
    peak = np.maximum.reduceat(speed, starts)
    low = np.minimum.reduceat(speed, starts)
    weak = np.where(
        fast[starts], peak < cut * rules.hysteresis, low > cut / rules.hysteresis
    )
    weak &= lasted_s(path, starts, ends) < KEPT_S
    return fast ^ np.repeat(weak, ends - starts)


def coarse_speed(path: Path) -> Floats:
    """Return the speed of the faster step beside each fix, of those that are long."""
    step_s = np.diff(path.time_s)
    gone_m = np.hypot(np.diff(path.easting), np.diff(path.northing))
    coarse = (step_s > COARSE_S) & (np.diff(path.stretch) == 0)
    speed = np.where(coarse, gone_m / np.maximum(step_s, COARSE_S), 0.0)
    return np.maximum(np.append(speed, 0.0), np.insert(speed, 0, 0.0))
