"""Where a boat lay still: ashore, tied up, or at anchor."""

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import maximum_filter1d, minimum_filter1d

from sweptwater.arrays import Area, Bools, Floats, Ints
from sweptwater.practice.settings import Rules
from sweptwater.tracks.smooth import Path
from sweptwater.tracks.speeds import coarse_speed
from sweptwater.tracks.spells import long_enough, runs
from sweptwater.tracks.wander import Wander, seen_wander

CREEP_M_S = 0.03
"""Slower than this over a whole stay is the receiver's wander."""

CREPT, SWING_M = 4.0, 8.0
"""Gone further than this, and so many standard deviations of wander, is drifting."""

ENDS_S = 120.0
"""Where a stay began and ended is told from its first and last two minutes."""

FAR_M = 100.0
"""So far outside the outline nobody is on this water; nearer, the outline may err."""


@dataclass(frozen=True, slots=True)
class Stays:
    """Where a boat lay still, and what that tells of its receiver.

    Parameters
    ----------
    ashore, anchored
        Fixes on the shore or at a jetty, and those near one spot of open water.
    landed
        Fixes near the shore or a jetty, or on land, whatever the boat did there.
    outside_m
        How far outside the outline each fix lies.
    wander
        The receiver's.
    """

    ashore: Bools
    anchored: Bools
    landed: Bools
    outside_m: Floats
    wander: Wander


def find_stays(path: Path, water: Area, jetties: Area, rules: Rules) -> Stays:
    """Return where a boat lay still; `states.read_states` tells the parameters."""
    near_spot = _still(path, rules)
    still = near_spot & ~_creeping(near_spot, path, rules.ashore_within_m)
    outside_m = _outside_m(path, water, rules)
    landed = _landed(path, outside_m, water, jetties, rules)
    ashore = _whole_stays(landed & still, still, path, rules) | (outside_m > FAR_M)
    wander = seen_wander(path, ashore & still & (outside_m <= FAR_M), rules)
    afloat = near_spot & ~ashore
    anchored = afloat & ~_creeping(afloat, path, _crept_m(wander, rules))
    return Stays(ashore, anchored, landed, outside_m, wander)


def tied_up(
    fishing: Bools, ashore: Bools, stays: Stays, path: Path, rules: Rules
) -> Bools:
    """Mark short stays at the shore that are a part of one.

    Either the record begins or ends in it, so that nobody heard the rest; or a longer
    stay goes on from it, and the receiver's wander has parted them.
    """
    tied = np.zeros(len(fishing), dtype=bool)
    if not len(fishing):
        return tied
    starts, ends = runs(fishing, path.stretch)
    heard = np.diff(path.stretch, prepend=-1, append=-1) == 0
    beside = np.concatenate([[False], ashore, [False]])
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        part = not (heard[start] and heard[end]) or beside[start] or beside[end + 1]
        short = path.time_s[end - 1] - path.time_s[start] <= rules.ashore_least_s
        run = slice(start, end)
        if not (part and short and fishing[start] and stays.landed[run].all()):
            continue
        east, north = path.easting[run], path.northing[run]
        off_m = np.hypot(east - np.median(east), north - np.median(north))
        tied[run] = np.quantile(off_m, 0.9) < rules.ashore_within_m / 2
    return tied


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
    under_way = np.maximum(path.speed_m_s, coarse_speed(path)) >= rules.slowest_cut_m_s
    return still & ~under_way


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
        creeping[start:end] = gone_m > least_m and gone_m > CREEP_M_S * (
            time_s[-1] - near_s[-1]
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


def _landed(
    path: Path, outside_m: Floats, water: Area, jetties: Area, rules: Rules
) -> Bools:
    """Mark fixes where a boat that lies still is ashore or tied up."""
    landing = shapely.union(water.boundary.buffer(rules.shore_m, quad_segs=4), jetties)
    shapely.prepare(landing)
    near = shapely.contains_xy(landing, path.easting, path.northing)
    return (outside_m > 0) | np.asarray(near, dtype=bool)


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
