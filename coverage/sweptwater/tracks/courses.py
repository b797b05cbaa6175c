"""Where speed cannot tell motoring from drifting, the course decides."""

import numpy as np

from sweptwater.arrays import Bools, Floats
from sweptwater.practice.settings import Rules
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.spells import lasted_s, long_enough, runs, weights_s

BACK_M_S, BACK_DEG = 0.3, 120.0
"""Slower than course decides, but the way back: doubtful."""

ACROSS = 1.3
"""So many times the day's drifts goes no boat that is steered across the wind."""

GUST, DIP, DIP_S = 0.4, 0.7, 30.0
"""A gust changes a drift's velocity by no larger a part of it, and a boat that stops to
drift is slower than such a part of it for a while."""

LEAVES, GATHERS_S = 1.25, 45.0
"""So much faster than drifts are, and so soon, a boat leaves the shore under engine."""

WITH_DEG, HARDLY, FASTER, AROUND_S = 25.0, 1.3, 1.7, 900.0
"""A fast drift has about the course, and hardly more than the speed, of those around.

Up to the third, if it follows straight on a way back; the last is how far around."""

LONG_S = 300.0
"""A slow run off the drifts' course that lasts longer may be a drift in a new wind."""


def off_course(
    path: Path, fishing: Bools, weight: Floats, rules: Rules
) -> tuple[Floats, Bools]:
    """Return how far each fix heads off the slow time around it, and if that has one.

    The slowest time counts alone where it is half or more of that, since slow returns
    may be among the rest. Directional statistics: the mean direction and the mean
    resultant length of unit course vectors, weighted by time (Mardia and Jupp,
    Directional Statistics).
    """
    speed = np.maximum(path.speed_m_s, 1e-6)
    east, north = path.east_m_s / speed, path.north_m_s / speed
    slow = np.where(fishing, weight, 0.0)
    slowest = np.where(speed <= rules.course_speed_m_s, slow, 0.0)
    first = np.searchsorted(path.time_s, path.time_s - rules.course_around_s)
    last = np.searchsorted(path.time_s, path.time_s + rules.course_around_s, "right")

    def around(values: Floats) -> Floats:
        total = np.concatenate([[0.0], np.cumsum(values)])
        return total[last] - total[first]

    alone = 2 * around(slowest) >= around(slow)
    mean_east, mean_north, time = (
        np.where(alone, around(slowest * along), around(slow * along))
        for along in (east, north, np.ones_like(east))
    )
    resultant = np.hypot(mean_east, mean_north)
    cosine = (east * mean_east + north * mean_north) / np.maximum(resultant, 1e-9)
    off = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    return off, resultant > rules.course_steady * np.maximum(time, 1e-9)


def upwind(slow: Bools, off: Floats, path: Path, rules: Rules) -> Bools:
    """Mark slow time that heads off the drift's course too fast to be drifting.

    With it goes the time just before and after on that heading, at any speed. A long
    run with no drift after it may be a drift in a new wind, and stays.
    """
    speed = path.speed_m_s
    astray = slow & (off > rules.course_off_deg)
    quick = speed > rules.course_speed_m_s
    # Steered across the wind a boat hardly drifts faster; against it, it cannot.
    usual_m_s = _usual_speed(slow & ~astray, path, LONG_S)
    quick &= (off > BACK_DEG) | (speed > ACROSS * usual_m_s)
    sure = long_enough(astray & quick, path, rules.course_least_s)
    if not sure.any():
        return sure
    starts, ends = runs(astray, path.stretch)
    drifted_s = np.append(np.cumsum((slow & ~astray)[::-1])[::-1], 0)
    last = (lasted_s(path, starts, ends) > LONG_S) & (drifted_s[ends] == 0)
    chosen = np.logical_or.reduceat(sure, starts) & ~last
    return astray & np.repeat(chosen, ends - starts)


def gusts(fishing: Bools, motoring: Bools, path: Path, cut: float) -> Bools:
    """Mark motoring that a drift goes over into without a change of its velocity.

    In strong wind some gusts are faster than the cut. A boat that stops its engine
    to drift is slow in between, and so is never taken for one.
    """
    gusty = np.zeros(len(fishing), dtype=bool)
    if not len(fishing):
        return gusty
    velocity = path.east_m_s + 1j * path.north_m_s
    starts, ends = runs(fishing + 2 * motoring, path.stretch)
    for i in np.flatnonzero(motoring[starts]).tolist():
        inside = np.arange(starts[i], ends[i])
        for beside, order in ((i - 1, inside), (i + 1, inside[::-1])):
            if not 0 <= beside < len(starts) or not fishing[starts[beside]]:
                continue
            if path.stretch[starts[beside]] != path.stretch[starts[i]]:
                continue
            drift = np.arange(starts[beside], ends[beside])
            near = np.abs(path.time_s[drift] - path.time_s[order[0]]) < LONG_S
            usual = complex(velocity[drift[near]].mean())
            close = np.abs(path.time_s[drift] - path.time_s[order[0]]) < DIP_S
            dip = np.abs(velocity[drift[close]]).min() if close.any() else 0.0
            if abs(usual) < cut / 2 or dip < DIP * abs(usual):
                continue
            alike = np.abs(velocity[order] - usual) <= GUST * abs(usual)
            gusty[order[: int(np.argmin(np.append(alike, False)))]] = True
    return gusty


def downwind(
    fishing: Bools, motoring: Bools, off: Floats, path: Path, rules: Rules
) -> Bools:
    """Mark motoring that may be a fast drift: with the drifts, and hardly faster.

    It may be a good deal faster straight after a way back against the drifts: nobody
    goes upwind to motor down again.
    """
    usual_m_s = _usual_speed(fishing, path, AROUND_S)
    along = motoring & (off < WITH_DEG)
    hardly = along & (path.speed_m_s < HARDLY * usual_m_s)
    faster = along & (path.speed_m_s < FASTER * usual_m_s)
    faster = long_enough(faster, path, rules.least_fishing_s)
    back_s = path.time_s[motoring & (off > BACK_DEG)]
    starts, ends = runs(faster, path.stretch)
    since = np.searchsorted(back_s, path.time_s[starts])
    last_s = np.append(-np.inf, back_s)[since]
    straight = path.time_s[starts] - last_s < GATHERS_S
    faster &= np.repeat(straight, ends - starts)
    return faster | long_enough(hardly, path, rules.least_fishing_s)


def leaving(fishing: Bools, ashore: Bools, path: Path, rules: Rules) -> Bools:
    """Mark slow time that leads from a stay ashore, or to one, faster than a drift."""
    under_way = np.zeros(len(fishing), dtype=bool)
    if not ashore.any():
        return under_way
    usual_m_s = _usual_speed(fishing, path, AROUND_S)
    least_m_s = np.maximum(rules.slowest_cut_m_s, LEAVES * usual_m_s)
    fast = path.speed_m_s > least_m_s
    starts, ends = runs(fishing, path.stretch)
    beside = np.concatenate([[False], ashore, [False]])
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        inside = np.arange(start, end)
        for stays, order in ((start, inside), (end + 1, inside[::-1])):
            if not fishing[start] or not beside[stays]:
                continue
            first = int(fast[order].argmax())
            gathered_s = abs(path.time_s[order[first]] - path.time_s[order[0]])
            if fast[order[first]] and gathered_s <= GATHERS_S:
                on = first + int(np.argmin(np.append(fast[order[first:]], False)))
                under_way[order[:on]] = True
    return under_way


def doubtful(
    fishing: Bools, off: Floats, steady: Bools, path: Path, rules: Rules
) -> Bools:
    """Mark fishing that may have been slow motoring: fast and astray, or going back."""
    speed = path.speed_m_s
    astray = (speed > rules.course_speed_m_s) & ((off > rules.doubt_off_deg) | ~steady)
    back = (speed > BACK_M_S) & (off > BACK_DEG) & steady
    return long_enough(fishing & (astray | back), path, rules.course_least_s)


def _usual_speed(drifting: Bools, path: Path, around_s: float) -> Floats:
    """Return the mean speed of the drifting around each fix; 0 where there is none."""
    first = np.searchsorted(path.time_s, path.time_s - around_s)
    last = np.searchsorted(path.time_s, path.time_s + around_s, "right")
    weight = np.where(drifting, weights_s(path), 0.0)
    total_s = np.concatenate([[0.0], np.cumsum(weight)])
    total_m = np.concatenate([[0.0], np.cumsum(weight * path.speed_m_s)])
    spent_s = total_s[last] - total_s[first]
    return (total_m[last] - total_m[first]) / np.maximum(spent_s, 1e-9)
