"""Tracks without times: all fishing, if the user says so, or of no use."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from shapely import LineString, get_coordinates

from sweptwater.arrays import Floats, Ints
from sweptwater.tracks.drifts import DayAfloat, Drift

NOMINAL_M_S = 0.3
"""Nobody knows how fast it was; something has to give the places an order."""

WAVER_M = 2.0
"""Less than this off the way is the receiver's, not the boat's."""


def untimed_ways(
    easting: Floats, northing: Floats, segment: Ints
) -> tuple[Floats, ...]:
    """Return the way of each segment that goes anywhere, (n, 2) in metres."""
    places = np.column_stack([easting, northing])
    usable = np.isfinite(places).all(axis=1)
    ways = (places[usable & (segment == number)] for number in np.unique(segment))
    return tuple(
        get_coordinates(LineString(way).simplify(WAVER_M))
        for way in ways
        if len(way) > 1 and np.ptp(way, axis=0).max() > WAVER_M
    )


def untimed_drifts(ways: Iterable[Floats], at_s: float) -> tuple[Drift, ...]:
    """Return drifts whose times are none: they only keep the places in order.

    Parameters
    ----------
    ways
        Each (n, 2), in metres.
    at_s
        Any time of the day that they are of, in seconds since 1970 UTC.
    """
    drifts = []
    for way in ways:
        step_m = np.hypot(*np.diff(way, axis=0).T)
        time_s = at_s + np.append(0.0, np.cumsum(step_m)) / NOMINAL_M_S
        drifts.append(Drift(time_s, way[:, 0], way[:, 1], timed=False))
        at_s = float(time_s[-1]) + 1
    return tuple(drifts)


def with_untimed(day: DayAfloat | None, drifts: Sequence[Drift]) -> DayAfloat:
    """Return a day with drifts that add to its water, but not to its hours."""
    if day is None:
        at_s = drifts[0].start_s
        day = DayAfloat((), (), at_s, at_s, 0, 0, 0, 0, 0, 0, 0, 0)
    return replace(day, drifts=(*day.drifts, *drifts))
