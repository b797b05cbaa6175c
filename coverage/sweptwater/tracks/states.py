"""What the boat was doing at each fix: fishing, motoring or ashore."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter1d, maximum_filter1d, minimum_filter1d
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Bools, Floats, Ints
from sweptwater.practice.settings import Rules
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.spells import lasted_s, long_enough, runs, weights_s
from sweptwater.tracks.turns import COARSE_S, sharpen
from sweptwater.tracks.wander import Wander, seen_wander


class State(IntEnum):
    """What a boat is doing."""

    FISHING = 0
    MOTORING = 1
    ASHORE = 2


LOG_STEP, LOG_BLUR = 0.02, 0.08
"""Width of a bin, and of the smoothing, of log speeds."""


FASTEST_DRIFT_M_S = 1.8
"""No boat is taken to drift faster, whatever the wind."""

MOSTLY_STEADY = 0.7
"""Slow time goes one way if so much of it has one course around it."""

CREEP_M_S = 0.03
"""Slower than this over a whole stay is the receiver's wander."""

CREPT, SWING_M = 4.0, 8.0
"""Gone further than so many standard deviations of the wander, and this, is drifting."""

ENDS_S = 120.0
"""Where a stay began and ended is told from its first and last two minutes."""

FAR_M = 100.0
"""So far outside the outline nobody is on this water; nearer, the outline may err."""

BACK_M_S, BACK_DEG = 0.3, 120.0
"""Slower than course decides, but the way back: doubtful."""

ACROSS = 1.3
"""So many times the day's drifts goes no boat that is steered across the wind."""

GUST = 0.4
"""A gust changes a drift's velocity by no larger a part of it."""

WITH_DEG, AROUND_S = 25.0, 900.0
"""How near to the drifts' course, and how far around, a fast drift is looked for."""

LONG_S = 300.0
"""A slow run off the drifts' course that lasts longer may be a drift in a new wind."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The state at each fix, and where it rests on little.

    `doubtful` marks fishing that may have been slow motoring, `anchored` fishing
    from a boat that lay still away from the shore.
    """

    state: Ints
    since_s: Floats
    """When the state of a fix began, if that of the fix before differs."""
    doubtful: Bools
    anchored: Bools
    cut_m_s: float
    wander: Wander


def read_states(path: Path, water: Area, jetties: Area, rules: Rules) -> Reading:
    """Tell fishing from motoring and from being ashore.

    Parameters
    ----------
    path
        A smoothed boat-day, in metres.
    water
        The venue's water, in metres.
    jetties
        The places where boats tie up, grown by the jetty distance; may be empty.
    """
    near_spot = _still(path, rules)
    still = near_spot & ~_creeping(near_spot, path, rules.ashore_within_m)
    outside_m = _outside_m(path, water, rules)
    landing = _landing(water, jetties, rules)
    ashore = _ashore(path, still, outside_m, landing, rules)
    wander = seen_wander(path, ashore & still & (outside_m <= FAR_M), rules)
    afloat = near_spot & ~ashore
    anchored = afloat & ~_creeping(afloat, path, _crept_m(wander, rules))
    speed = path.speed_m_s
    weight = np.where(ashore, 0.0, weights_s(path))
    cut = _steadiest_cut(path, ashore, weight, rules)
    state = _by_speed(path, ashore, cut, rules)
    off, steady = _off_course(path, state, weight, rules)
    gusty = _gusts(state, path, cut) | _downwind(state, speed, off, steady, path, rules)
    state = np.where(gusty, State.FISHING, state)
    upwind = _upwind((state == State.FISHING) & steady, speed, off, path, rules)
    state = np.where(upwind, State.MOTORING, state)
    state = _least_durations(state, path, cut, rules)
    state = _tied_up(state, path, outside_m, landing, rules)
    state, since_s = sharpen(state, path, State.FISHING, State.MOTORING)
    fishing = state == State.FISHING
    doubtful = _doubtful(fishing, speed, off, steady, path, rules)
    doubtful |= fishing & ((outside_m > rules.outside_m) | gusty)
    return Reading(state, since_s, doubtful, anchored & fishing, cut, wander)


def _by_speed(path: Path, ashore: Bools, cut: float, rules: Rules) -> Ints:
    """Return the states that speed alone tells."""
    speed = np.maximum(path.speed_m_s, _coarse_speed(path))
    motoring = _hysteresis(speed, cut, path.stretch, rules)
    state = np.where(ashore, State.ASHORE, np.where(motoring, State.MOTORING, 0))
    return _least_durations(state, path, cut, rules)


def _steadiest_cut(path: Path, ashore: Bools, weight: Floats, rules: Rules) -> float:
    """Return the emptiest cut, unless the time below it goes to and fro.

    Fast drifts with returns not much faster, and hardly any running at full speed,
    leave the emptiest speed above the returns. Another valley below, under which the
    boat goes one way, is then the cut.
    """
    speed = path.speed_m_s
    cut = emptiest_cut(speed, weight, rules)

    def steady_share(at_m_s: float) -> float:
        state = _by_speed(path, ashore, at_m_s, rules)
        slow = np.where(state == State.FISHING, weight, 0.0)
        _, steady = _off_course(path, state, weight, rules)
        return float(slow[steady].sum() / max(slow.sum(), 1.0))

    if steady_share(cut) >= MOSTLY_STEADY:
        return cut
    lower = [at for at in valleys(speed, weight, rules) if at < cut]
    shares = [steady_share(at) for at in lower]
    if not lower or max(shares) < MOSTLY_STEADY:
        return cut
    return lower[int(np.argmax(shares))]


def _doubtful(
    fishing: Bools, speed: Floats, off: Floats, steady: Bools, path: Path, rules: Rules
) -> Bools:
    """Mark fishing that may have been slow motoring: fast and astray, or going back."""
    astray = (speed > rules.course_speed_m_s) & ((off > rules.doubt_off_deg) | ~steady)
    back = (speed > BACK_M_S) & (off > BACK_DEG) & steady
    return long_enough(fishing & (astray | back), path, rules.course_least_s)


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


def _hysteresis(speed: Floats, cut: float, stretch: Ints, rules: Rules) -> Bools:
    """Mark motoring; a run that barely crosses the cut is none of its own."""
    fast = speed > cut
    if not len(fast):
        return fast
    starts, ends = runs(fast, stretch)
    peak = np.maximum.reduceat(speed, starts)
    low = np.minimum.reduceat(speed, starts)
    weak = np.where(
        fast[starts], peak < cut * rules.hysteresis, low > cut / rules.hysteresis
    )
    return fast ^ np.repeat(weak, ends - starts)


def _least_durations(state: Ints, path: Path, cut: float, rules: Rules) -> Ints:
    """Give motoring, then fishing, that lasts too short to be any to its neighbours.

    A hop of a few boat's lengths hardly gets over the cut: what it takes to gather and
    lose way is motoring too, and so are the whole of long steps from fix to fix.
    """
    under_way = np.maximum(path.speed_m_s, _coarse_speed(path))
    under_way = under_way > cut / rules.hysteresis**2
    for kind, other, least_s in (
        (State.MOTORING, State.FISHING, rules.least_motoring_s),
        (State.FISHING, State.MOTORING, rules.least_fishing_s),
    ):
        if not len(state):
            break
        starts, ends = runs(state, path.stretch)
        wider = state == kind
        if kind == State.MOTORING:
            wider |= (state != State.ASHORE) & under_way
        short = (state[starts] == kind) & ~long_enough(wider, path, least_s)[starts]
        state = np.where(np.repeat(short, ends - starts), other, state)
    return state


def _coarse_speed(path: Path) -> Floats:
    """Return the speed of the faster step beside each fix, of those that are long."""
    step_s = np.diff(path.time_s)
    gone_m = np.hypot(np.diff(path.easting), np.diff(path.northing))
    coarse = (step_s > COARSE_S) & (np.diff(path.stretch) == 0)
    speed = np.where(coarse, gone_m / np.maximum(step_s, COARSE_S), 0.0)
    return np.maximum(np.append(speed, 0.0), np.insert(speed, 0, 0.0))


def _off_course(
    path: Path, state: Ints, weight: Floats, rules: Rules
) -> tuple[Floats, Bools]:
    """Return how far each fix heads off the slow time around it, and if that has one.

    The slowest time counts alone where it is half or more of that, since slow returns
    may be among the rest. Directional statistics: the mean direction and the mean
    resultant length of unit course vectors, weighted by time (Mardia and Jupp,
    Directional Statistics).
    """
    speed = np.maximum(path.speed_m_s, 1e-6)
    east, north = path.east_m_s / speed, path.north_m_s / speed
    slow = np.where(state == State.FISHING, weight, 0.0)
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


def _gusts(state: Ints, path: Path, cut: float) -> Bools:
    """Mark motoring that a drift goes over into without a change of its velocity.

    In strong wind some gusts are faster than the cut. A boat that stops its engine
    to drift is slow in between, and so is never taken for one.
    """
    gusty = np.zeros(len(state), dtype=bool)
    if not len(state):
        return gusty
    velocity = path.east_m_s + 1j * path.north_m_s
    starts, ends = runs(state, path.stretch)
    for i in np.flatnonzero(state[starts] == State.MOTORING).tolist():
        inside = np.arange(starts[i], ends[i])
        for beside, order in ((i - 1, inside), (i + 1, inside[::-1])):
            if not 0 <= beside < len(starts) or state[starts[beside]] != State.FISHING:
                continue
            if path.stretch[starts[beside]] != path.stretch[starts[i]]:
                continue
            drift = np.arange(starts[beside], ends[beside])
            near = np.abs(path.time_s[drift] - path.time_s[order[0]]) < LONG_S
            usual = complex(velocity[drift[near]].mean())
            if abs(usual) < cut / 2:
                continue
            alike = np.abs(velocity[order] - usual) <= GUST * abs(usual)
            gusty[order[: int(np.argmin(np.append(alike, False)))]] = True
    return gusty


def _upwind(slow: Bools, speed: Floats, off: Floats, path: Path, rules: Rules) -> Bools:
    """Mark slow time that heads off the drift's course too fast to be drifting.

    With it goes the time just before and after on that heading, at any speed. A long
    run with no drift after it may be a drift in a new wind, and stays.
    """
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


def _downwind(
    state: Ints, speed: Floats, off: Floats, steady: Bools, path: Path, rules: Rules
) -> Bools:
    """Mark motoring that may be a fast drift: with the drifts, and hardly faster."""
    usual_m_s = _usual_speed(state == State.FISHING, path, AROUND_S)
    likely = (state == State.MOTORING) & steady & (off < WITH_DEG)
    likely &= speed < (1 + GUST) * usual_m_s
    return long_enough(likely, path, rules.least_fishing_s)


def _usual_speed(drifting: Bools, path: Path, around_s: float) -> Floats:
    """Return the mean speed of the drifting around each fix; 0 where there is none."""
    first = np.searchsorted(path.time_s, path.time_s - around_s)
    last = np.searchsorted(path.time_s, path.time_s + around_s, "right")
    weight = np.where(drifting, weights_s(path), 0.0)
    total_s = np.concatenate([[0.0], np.cumsum(weight)])
    total_m = np.concatenate([[0.0], np.cumsum(weight * path.speed_m_s)])
    spent_s = total_s[last] - total_s[first]
    return (total_m[last] - total_m[first]) / np.maximum(spent_s, 1e-9)


def _still(path: Path, rules: Rules) -> Bools:
    """Mark fixes in a time of at least `ashore_least_s` spent on one spot.

    A silence after which the boat is where it was does not part such a time.
    """
    still = np.zeros(len(path.time_s), dtype=bool)
    every_s = 10.0
    wide = int(rules.ashore_least_s / every_s) + 1
    linked = _linked(path, rules)
    starts, ends = runs(linked, linked)
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        time_s = path.time_s[start:end]
        grid = np.arange(time_s[0], time_s[-1] + 1e-6, every_s)
        if len(grid) < wide:
            continue
        spread = np.zeros(len(grid))
        for axis in (path.easting[start:end], path.northing[start:end]):
            at = np.interp(grid, time_s, axis)
            extent = maximum_filter1d(at, wide) - minimum_filter1d(at, wide)
            spread = np.maximum(spread, extent)
        centred = spread <= rules.ashore_within_m
        centred[: wide // 2] = centred[len(grid) - wide // 2 :] = False
        on_spot = maximum_filter1d(centred.astype(np.int8), wide)
        nearest = np.clip(np.rint((time_s - grid[0]) / every_s), 0, len(grid) - 1)
        still[start:end] = on_spot[nearest.astype(int)] > 0
    return still


def _linked(path: Path, rules: Rules) -> Ints:
    """Return stretches that go on over a silence in which the boat went nowhere."""
    parted = np.diff(path.stretch, prepend=path.stretch[:1]) != 0
    last = np.flatnonzero(parted) - 1
    gone_m = np.hypot(
        path.easting[last + 1] - path.easting[last],
        path.northing[last + 1] - path.northing[last],
    )
    silent_s = path.time_s[last + 1] - path.time_s[last]
    parted[last + 1] = (gone_m > rules.ashore_within_m) | (silent_s > rules.bridge_s)
    return np.cumsum(parted)


def _crept_m(wander: Wander, rules: Rules) -> float:
    """Return how far a boat at anchor may seem to have gone, by error and swinging."""
    return float(np.clip(CREPT * wander.sigma_m, SWING_M, rules.ashore_within_m))


def _creeping(still: Bools, path: Path, least_m: float) -> Bools:
    """Mark still time in which the boat went on, however slowly: a drogue's drift."""
    creeping = np.zeros(len(still), dtype=bool)
    if not still.any():
        return creeping
    starts, ends = runs(still, path.stretch)
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        if not still[start]:
            continue
        time_s = path.time_s[start:end] - path.time_s[start]
        # Even steps: coming and leaving, a boat that moves is heard more often.
        near_s = np.linspace(0.0, min(ENDS_S, time_s[-1] / 3), 13)
        gone_m = np.hypot(
            *(
                np.median(np.interp(time_s[-1] - near_s, time_s, along))
                - np.median(np.interp(near_s, time_s, along))
                for along in (path.easting[start:end], path.northing[start:end])
            )
        )
        creeping[start:end] = (
            gone_m > least_m and gone_m > CREEP_M_S * (time_s[-1] - near_s[-1])
        )
    return creeping


def _outside_m(path: Path, water: Area, rules: Rules) -> Floats:
    """Return how far outside the outline each fix lies; 0 where it is but a moment."""
    away_m = np.zeros(len(path.time_s))
    shapely.prepare(water)
    dry = ~shapely.contains_xy(water, path.easting, path.northing)
    points = shapely.points(path.easting[dry], path.northing[dry])
    away_m[dry] = shapely.distance(points, water)
    lasting = long_enough(away_m > rules.outside_m, path, 60.0)
    return np.where(lasting, away_m, 0.0)


def _landing(water: Area, jetties: Area, rules: Rules) -> BaseGeometry:
    """Return where a boat that lies still is ashore or tied up."""
    landing = shapely.union(water.boundary.buffer(rules.shore_m, quad_segs=4), jetties)
    shapely.prepare(landing)
    return landing


def _landed(
    which: Bools, path: Path, outside_m: Floats, landing: BaseGeometry
) -> Bools:
    """Mark those of some fixes that are near the shore, on land or at a jetty."""
    landed = which & (outside_m > 0)
    landed[which] |= shapely.contains_xy(
        landing, path.easting[which], path.northing[which]
    )
    return landed


def _tied_up(
    state: Ints, path: Path, outside_m: Floats, landing: BaseGeometry, rules: Rules
) -> Ints:
    """Call a short stay at the shore ashore where it is a part of one.

    Either the record begins or ends in it, so that nobody heard the rest; or a longer
    stay goes on from it, and the receiver's wander has parted them.
    """
    state = state.copy()
    starts, ends = runs(state, path.stretch)
    edges = np.flatnonzero(np.diff(path.stretch, prepend=-1, append=-1))
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        part = bool(np.isin([start, end], edges).any()) or State.ASHORE in (
            state[max(start - 1, 0)],
            state[min(end, len(state) - 1)],
        )
        run = slice(start, end)
        if not part or state[start] != State.FISHING:
            continue
        if path.time_s[end - 1] - path.time_s[start] > rules.ashore_least_s:
            continue
        east, north = path.easting[run], path.northing[run]
        off_m = np.hypot(east - np.median(east), north - np.median(north))
        inside = np.zeros(len(state), dtype=bool)
        inside[run] = True
        landed = _landed(inside, path, outside_m, landing)[run]
        if landed.all() and np.quantile(off_m, 0.9) < rules.ashore_within_m / 2:
            state[run] = State.ASHORE
    return state


def _ashore(
    path: Path, still: Bools, outside_m: Floats, landing: BaseGeometry, rules: Rules
) -> Bools:
    """Mark still time near the shore, on land or at a jetty, and time far from it."""
    landed = _landed(still, path, outside_m, landing)
    return _whole_stays(landed, still, path, rules) | (outside_m > FAR_M)


def _whole_stays(landed: Bools, still: Bools, path: Path, rules: Rules) -> Bools:
    """Give a stay to the shore if most of it was spent there.

    A slow drift that ends in a landing is still too; the stay is what lies about the
    middle of the landed places.
    """
    stays = np.zeros(len(still), dtype=bool)
    starts, ends = runs(still, path.stretch)
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        at = np.flatnonzero(landed[start:end]) + start
        if not still[start] or 2 * len(at) <= end - start:
            continue
        away_m = np.hypot(
            path.easting[start:end] - np.median(path.easting[at]),
            path.northing[start:end] - np.median(path.northing[at]),
        )
        stays[start:end] = away_m <= rules.ashore_within_m
    return stays
