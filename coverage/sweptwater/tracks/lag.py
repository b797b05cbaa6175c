"""How far apart the clocks of two receivers were that went one and the same way."""

from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.tracks.record import Record

MINUTE_S = 60.0
SILENT_S = 120.0
"""Between fixes further apart in time than this a record says nothing."""

MOVED_M = 25.0
MOVED_MINUTES = 5
"""A boat that goes this far in so many minutes is under way: wandering is less."""

LEAST_MINUTES = 60
LEAST_SHARE = 0.6
"""Two ways must agree for so long, and for this much of the shorter: one drift may
well be fished twice along one line."""

NEAR_M = 15.0
MOSTLY_M = 30.0
"""One boat's two records, half of the time and four fifths of it."""

_ROUGHLY_M = 60.0
_CLIP_M = 60.0
_MOST_FIXES = 1500
_FEW = 30


@dataclass(frozen=True, slots=True, eq=False)
class Minutes:
    """Where a boat was at each full minute: metres, NaN where the record is silent.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC, sixty apart; shape (n,) as all.
    under_way
        Whether the boat moved in the minutes around.
    """

    time_s: Floats
    easting: Floats
    northing: Floats
    under_way: Bools


@dataclass(frozen=True, slots=True)
class Lag:
    """What must be added to one record's times to lie on another, in seconds.

    Parameters
    ----------
    seconds
        Whole seconds.
    apart_m
        How far the two ways are apart then: the median.
    """

    seconds: float
    apart_m: float


def by_minutes(record: Record) -> Minutes:
    """Return where a record says that the boat was, minute by minute."""
    time_s = record.time_s
    if not len(time_s):
        none = np.zeros(0)
        return Minutes(none, none, none, none.astype(bool))
    first_s = np.ceil(time_s[0] / MINUTE_S) * MINUTE_S
    when = np.arange(first_s, time_s[-1] + 1e-6, MINUTE_S)
    known = _spoken(time_s, when, SILENT_S)
    east, north = (
        np.where(known, np.interp(when, time_s, along), np.nan)
        for along in (record.easting, record.northing)
    )
    return Minutes(when, east, north, _under_way(east, north))


def clock_lag(first: Record, second: Record, *, most_s: float) -> Lag | None:
    """Return what the second record's clock lags behind the first's on one way.

    All whole minutes up to `most_s` are tried, then the seconds about the best one.

    Returns
    -------
    Lag or None
        None if the two did not go the same way at any lag.
    """
    minute = _best_minute(by_minutes(first), by_minutes(second), most_s)
    if minute is None:
        return None
    return _to_the_second(first, second, 60 * minute, reach_s=90)


def close_lag(first: Record, second: Record, *, reach_s: float) -> Lag | None:
    """Return the lag of two clocks that are nearly right; None if none can be told."""
    return _to_the_second(first, second, 0.0, reach_s=reach_s)


def put_forward(record: Record, seconds: float) -> Record:
    """Return a record with its clock put forward."""
    return Record(
        record.time_s + seconds, record.easting, record.northing, record.dropped
    )


def _spoken(time_s: Floats, when: Floats, silent_s: float) -> Bools:
    """Mark the moments between two fixes of a record that are near in time."""
    after = np.searchsorted(time_s, when)
    edges = np.concatenate([[-np.inf], time_s, [np.inf]])
    inside = edges[after + 1] - edges[after] <= silent_s
    exact = edges[after + 1] == when
    return inside | exact


def _under_way(east: Floats, north: Floats) -> Bools:
    moved = np.zeros(len(east), dtype=bool)
    ahead = MOVED_MINUTES
    far = np.hypot(east[ahead:] - east[:-ahead], north[ahead:] - north[:-ahead])
    went = far > MOVED_M  # false where a record is silent
    for step in range(ahead + 1):
        moved[step : step + len(went)] |= went
    return moved & np.isfinite(east)


def _best_minute(first: Minutes, second: Minutes, most_s: float) -> int | None:
    """Return the whole minutes by which the second's way lies best on the first's."""
    shorter = min(first.under_way.sum(), second.under_way.sum())
    enough = max(LEAST_MINUTES, LEAST_SHARE * shorter)
    if shorter < LEAST_MINUTES:
        return None
    begins = round((second.time_s[0] - first.time_s[0]) / MINUTE_S)
    most = int(most_s // MINUTE_S)
    best, best_m = None, _ROUGHLY_M
    for lag in range(-most, most + 1):
        at = begins + lag  # of the second's first minute in the first's
        mine = slice(
            max(0, at), max(0, min(len(first.time_s), at + len(second.time_s)))
        )
        theirs = slice(mine.start - at, mine.stop - at)
        if mine.stop - mine.start < enough:
            continue
        apart = np.hypot(
            first.easting[mine] - second.easting[theirs],
            first.northing[mine] - second.northing[theirs],
        )[second.under_way[theirs]]
        apart = apart[np.isfinite(apart)]
        if len(apart) >= enough and (median := float(np.median(apart))) < best_m:
            best, best_m = lag, median
    return best


def _to_the_second(
    first: Record, second: Record, about_s: float, *, reach_s: float
) -> Lag | None:
    """Return the best lag within reach of a rough one, if the ways agree there."""
    chosen = _moving_fixes(second)
    for step_s in (6.0, 1.0):
        lags = about_s + np.arange(-reach_s, reach_s + step_s / 2, step_s)
        costs = [_cost(_off(first, second, chosen, float(lag))) for lag in lags]
        about_s = float(lags[int(np.argmin(costs))])
        reach_s = step_s
    best = _off(first, second, chosen, about_s)
    if len(best) < _FEW:
        return None
    apart_m, mostly_m = np.quantile(best, [0.5, 0.8])
    if apart_m > NEAR_M or mostly_m > MOSTLY_M:
        return None
    return Lag(about_s, float(apart_m))


def _cost(off_m: Floats) -> float:
    """Return the mean of distances, of which none counts for more than `_CLIP_M`."""
    return float(np.minimum(off_m, _CLIP_M).mean()) if len(off_m) >= _FEW else np.inf


def _moving_fixes(record: Record) -> Ints:
    """Return some of the fixes during which the boat was under way."""
    minutes = by_minutes(record)
    if not len(minutes.time_s):
        return np.zeros(0, dtype=np.int64)
    minute = (record.time_s - minutes.time_s[0]) // MINUTE_S
    minute = np.clip(minute, 0, len(minutes.time_s) - 1).astype(np.int64)
    moving = np.flatnonzero(minutes.under_way[minute])
    return moving[:: max(1, len(moving) // _MOST_FIXES)]


def _off(first: Record, second: Record, chosen: Ints, lag_s: float) -> Floats:
    """Return how far chosen fixes of the second are off the first's way, in metres."""
    when = second.time_s[chosen] + lag_s
    here = _spoken(first.time_s, when, SILENT_S)
    when, chosen = when[here], chosen[here]
    return np.hypot(
        np.interp(when, first.time_s, first.easting) - second.easting[chosen],
        np.interp(when, first.time_s, first.northing) - second.northing[chosen],
    )
