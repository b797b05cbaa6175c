"""The time between drifts: lines in, motoring back, setting up again."""

import numpy as np
import numpy.typing as npt

from sweptwater.arrays import Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import off_course_deg
from sweptwater.practice.outing import BoatRules

SHORTER = 0.02
"""So much more each second under way costs: of two orders the shorter is taken."""


def motoring_s(
    way_m: npt.ArrayLike, bearing_deg: npt.ArrayLike, wind: Wind, boat: BoatRules
) -> Floats:
    """Return how long ways under motor take, in seconds.

    The speed goes with the cosine of the angle to the wind, from the one against it to
    the one before it.

    Examples
    --------
    >>> boat = BoatRules(motoring_up_m_s=1.5, motoring_down_m_s=2.5)
    >>> northerly = Wind(from_deg=0, speed_m_s=6)
    >>> motoring_s([300, 300, 300], [0, 90, 180], northerly, boat).tolist()
    [200.0, 150.0, 120.0]
    """
    off = np.radians(off_course_deg(np.asarray(bearing_deg), wind.downwind_deg))
    up, down = boat.motoring_up_m_s, boat.motoring_down_m_s
    speed = up + (down - up) * (1 + np.cos(off)) / 2
    return np.asarray(np.asarray(way_m, dtype=np.float64) / speed)


def way_s(places: Floats, wind: Wind, boat: BoatRules) -> float:
    """Return how long a way under motor takes, leg by leg, in seconds.

    Parameters
    ----------
    places
        Along the way, (n, 2) in metres.
    """
    step = np.diff(places, axis=0)
    bearing = np.degrees(np.arctan2(step[:, 0], step[:, 1]))
    return float(
        motoring_s(np.hypot(step[:, 0], step[:, 1]), bearing, wind, boat).sum()
    )


def between_s(under_way_s: npt.ArrayLike, boat: BoatRules) -> Floats:
    """Return what passes from the end of a drift to the start of the next, in seconds.

    Half of a re-set is handling: lines in, setting up. The rest of it is enough for a
    short way; a longer one takes its own time.

    Examples
    --------
    >>> between_s([30, 120, 900], BoatRules(reset_s=240)).tolist()
    [240.0, 240.0, 1020.0]
    """
    handled_s = boat.reset_s / 2 + np.asarray(under_way_s, dtype=np.float64)
    return np.maximum(boat.reset_s, handled_s)


def times_between_s(
    ways_m: Floats, ends: Floats, starts: Floats, wind: Wind, boat: BoatRules
) -> Floats:
    """Return what passes from each place to each other, in seconds, (n, n).

    Parameters
    ----------
    ways_m
        From each end to each start by water, (n, n).
    ends, starts
        Where the boat comes from, and where it goes to, (n, 2) in metres. The first of
        both is the jetty: nothing is hauled in there.
    """
    step = starts[None, :, :] - ends[:, None, :]
    bearing = np.degrees(np.arctan2(step[..., 0], step[..., 1]))
    under_way = motoring_s(ways_m, bearing, wind, boat)
    time_s = between_s(under_way, boat) + SHORTER * under_way
    time_s[0] = under_way[0] + boat.reset_s / 2
    time_s[:, 0] = under_way[:, 0] + boat.reset_s / 2
    time_s[0, 0] = 0.0
    return time_s
