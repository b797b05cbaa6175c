"""One cast from a drifting boat: where its fly is while line sinks and boat closes in.

A line lands straight ahead of the drift. The fly sinks at its rate while the line is
slack; once that is taut, the fly swings about the rod, pulled in as the line is. The
speed at which the boat closes in is its speed through the water. In truth fly and
leader lag the line, which sinks in an arc: this is the plain reckoning of the trade.
"""

from dataclasses import dataclass, field
from itertools import pairwise
from math import atan2, hypot, inf, log, pi, sqrt, tan

import numpy as np

from sweptwater.arrays import Floats

STEPS = 128
"""Into so many steps of time a curved part of a path is told."""


@dataclass(frozen=True, slots=True)
class Cast:
    """One cast: metres, metres a second, seconds.

    Parameters
    ----------
    length_m
        How far ahead of the boat the fly lands.
    sink_m_s
        How fast the line sinks; 0 floats.
    drift_m_s
        How fast the boat closes in; above 0.
    count_s
        For how long it is let sink before the retrieve.
    retrieve_m_s
        How fast line is then taken in; 0 is a fly that is left alone.
    """

    length_m: float
    sink_m_s: float
    drift_m_s: float
    count_s: float = 0.0
    retrieve_m_s: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no cast can be."""
        if not (0 < self.length_m < inf and 0 < self.drift_m_s < inf):
            raise ValueError(f"a cast needs a length and a boat that drifts: {self}")
        rest = (self.sink_m_s, self.count_s, self.retrieve_m_s)
        if not all(0 <= value < inf for value in rest):
            raise ValueError(f"no rate and no time of a cast is below 0: {self}")


@dataclass(frozen=True, slots=True)
class Overrun:
    """When the boat is over the fly, and how deep that is by then: s, m."""

    time_s: float
    depth_m: float


@dataclass(frozen=True, slots=True, eq=False)
class FlyPath:
    """How deep a fly is through a cast, until the boat is over it or the line is in.

    Parameters
    ----------
    time_s, depth_m
        Seconds since it landed, and depths, (n,) each; between them it goes straight,
        or is told as if.
    cast
        The cast itself.
    """

    time_s: Floats
    depth_m: Floats
    cast: Cast = field(repr=False)

    @property
    def duration_s(self) -> float:
        """How long the cast lasts."""
        return float(self.time_s[-1])


def countdown_s(depth_m: float, sink_m_s: float) -> float:
    """Return for how long a line must be let sink to a depth; infinite if it floats.

    Examples
    --------
    >>> round(countdown_s(3, 0.0762), 2), countdown_s(1, 0), countdown_s(0, 0)
    (39.37, inf, 0.0)
    """
    if depth_m <= 0:
        return 0.0
    return depth_m / sink_m_s if sink_m_s > 0 else inf


def overrun(cast: Cast) -> Overrun:
    """Return when the boat is over the fly and how deep it can be, worked from landing.

    The boat closes in at v over a cast of L while the line sinks at s: t = L / v and
    d = s L / v. A retrieve at q of v or more shortens it: t = L / max(v, q). A line
    that sinks faster than the boat closes in is taut before, and d is L at most. The
    count is left aside. See `fly_path` for the lift that a retrieve gives.

    Examples
    --------
    >>> overrun(Cast(20, 0.0762, 0.4))
    Overrun(time_s=50.0, depth_m=3.81)
    >>> round(overrun(Cast(20, 0.0762, 0.4, retrieve_m_s=0.8)).depth_m, 3)
    1.905
    >>> overrun(Cast(20.0, 0.2, 0.1)).depth_m  # hangs below the boat
    20.0
    """
    closing_m_s = max(cast.drift_m_s, cast.retrieve_m_s)
    time_s = cast.length_m / closing_m_s
    if cast.sink_m_s > closing_m_s:
        alone = Cast(cast.length_m, cast.sink_m_s, closing_m_s)
        return Overrun(fly_path(alone).duration_s, cast.length_m)
    return Overrun(time_s, cast.sink_m_s * time_s)


def taut_s(cast: Cast) -> float:
    """Return when the line would come taut if none of it were taken in: 2vL/(v2+s2).

    That is before the boat is over the fly only if the line sinks faster than the boat
    closes in.

    Examples
    --------
    >>> round(taut_s(Cast(20, 0.0762, 0.05)), 3)
    240.777
    """
    v, s = cast.drift_m_s, cast.sink_m_s
    return 2 * v * cast.length_m / (v**2 + s**2)


def fly_path(cast: Cast) -> FlyPath:
    """Return how deep a fly is through a cast that is counted down and retrieved.

    With r and a the fly's distance and angle below level, seen from the rod (taken at
    the water's level), v the boat's speed, s the line's rate, w2 = v2 + s2 and
    tan b = s / v: on a slack line the fly sinks straight down at s; on a taut one it
    keeps of that what goes across the line,

        r' = -q,  a' = (v sin a + s cos a) / r = (w / r) sin(a + b)

    whose solution is tan((a + b) / 2) ~ r^(-w / q), or ~ exp(w t / r) if no line is
    taken in. The cast ends with the fly straight below, or with the line in.

    Examples
    --------
    >>> path = fly_path(Cast(20, 0.0762, 0.4))
    >>> path.duration_s, round(float(path.depth_m[-1]), 3)
    (50.0, 3.81)
    >>> path = fly_path(Cast(20, 0.0762, 0.4, count_s=15, retrieve_m_s=1))
    >>> round(path.duration_s), round(float(path.depth_m.max()), 2)
    (35, 1.88)
    """
    v, s, length_m = cast.drift_m_s, cast.sink_m_s, cast.length_m
    over_s = length_m / v
    if s == 0:
        q = cast.retrieve_m_s
        end_s = min(over_s, cast.count_s + length_m / q) if q else over_s
        return FlyPath(np.array([0.0, end_s]), np.zeros(2), cast)
    slack_s = min(_slack_until_s(cast), over_s)
    time_s, depth_m = [np.array([0.0, slack_s])], [np.array([0.0, s * slack_s])]
    if slack_s < over_s:
        r = hypot(length_m - v * slack_s, s * slack_s)
        a = atan2(s * slack_s, length_m - v * slack_s)
        for from_s, to_s, q in _pulls(cast, slack_s):
            times, rs, angles = _swing(cast, r, a, from_s, to_s, q)
            time_s.append(times)
            depth_m.append(rs * np.sin(angles))
            r, a = float(rs[-1]), float(angles[-1])
            if a >= pi / 2 - 1e-9:
                break
    return FlyPath(np.concatenate(time_s), np.concatenate(depth_m), cast)


def layer_times_s(path: FlyPath, edges_m: tuple[float, ...]) -> tuple[float, ...]:
    """Return for how long a fly is in each layer, from the top one down.

    Parameters
    ----------
    edges_m
        The lower edges of all layers but the deepest, increasing.

    Examples
    --------
    >>> path = fly_path(Cast(20, 0.0762, 0.4))
    >>> [round(t, 1) for t in layer_times_s(path, (0.9144, 2.4384))]
    [12.0, 20.0, 18.0]
    >>> layer_times_s(fly_path(Cast(20, 0, 0.4)), (1.0,))
    (50.0, 0.0)
    """
    lasts_s = np.diff(path.time_s)
    upper, lower = (
        pick(path.depth_m[:-1], path.depth_m[1:]) for pick in (np.minimum, np.maximum)
    )
    span_m = lower - upper
    above_s = []
    for edge_m in edges_m:
        level = np.where(upper <= edge_m, 1.0, 0.0)
        part = np.divide(edge_m - upper, span_m, out=level, where=span_m > 1e-12)
        above_s.append(float(lasts_s @ np.clip(part, 0, 1)))
    bounds = [0.0, *above_s, float(lasts_s.sum())]
    return tuple(two - one for one, two in pairwise(bounds))


def _slack_until_s(cast: Cast) -> float:
    """Return until when the line is slack; infinite if it always is.

    The fly is at (L - v t, s t) from the rod; the line that is out is L up to the
    count, then L - q (t - c).
    """
    v, s, q, c = cast.drift_m_s, cast.sink_m_s, cast.retrieve_m_s, cast.count_s
    length_m = cast.length_m
    free_s = taut_s(cast)
    if q == 0 or free_s <= c:
        return free_s
    whole_m = length_m + q * c
    # How much further off than the line allows: two t2 + 2 half t + rest, in m2.
    two, half = v**2 + s**2 - q**2, whole_m * q - length_m * v
    rest = length_m**2 - whole_m**2
    if (two * c + 2 * half) * c + rest >= -1e-12 * length_m**2 and two * c + half >= 0:
        return c
    if abs(two) < 1e-12:
        return -rest / (2 * half) if half > 0 else inf
    inside = half**2 - two * rest
    if inside < 0:
        return inf
    roots = ((-half + sign * sqrt(inside)) / two for sign in (1, -1))
    return min((root for root in roots if root > c), default=inf)


def _pulls(cast: Cast, taut_from_s: float) -> list[tuple[float, float, float]]:
    """Return the spells of a taut line: from, to, and how fast line is taken in."""
    q, c = cast.retrieve_m_s, cast.count_s
    if taut_from_s >= c:
        return [(taut_from_s, inf, q)]
    return [(taut_from_s, c, 0.0), (c, inf, q)]


def _swing(
    cast: Cast, r_m: float, angle: float, from_s: float, to_s: float, q: float
) -> tuple[Floats, Floats, Floats]:
    """Return times, distances and angles of a fly on a taut line, to straight below."""
    w = hypot(cast.drift_m_s, cast.sink_m_s)
    b = atan2(cast.sink_m_s, cast.drift_m_s)
    first, last = tan((angle + b) / 2), tan((pi / 2 + b) / 2)
    below_m = r_m * (first / last) ** (q / w)
    below_s = from_s + ((r_m - below_m) / q if q else r_m / w * log(last / first))
    end_s = min(to_s, below_s)
    since_s = np.linspace(0.0, end_s - from_s, STEPS + 1)
    rs = np.maximum(r_m - q * since_s, 1e-9 * r_m)  # the line may be all but in
    growth = (r_m / rs) ** (w / q) if q else np.exp(w / r_m * since_s)
    angles = 2 * np.arctan(first * growth) - b
    return from_s + since_s, rs, np.minimum(angles, pi / 2)
