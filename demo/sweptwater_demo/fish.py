"""Where the invented fish were, and how often a rod met one: the truth of the tally.

The story that there is to find: under a bright sky the fish lie 8 to 15 ft down, and
under a dull one within 8 ft of the top; over all of the water, but most of all over the
deep off the dam, and along the bank below The Willows, on the west side of its bay.
"""

from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.ops import substring

from sweptwater.arrays import Floats
from sweptwater.practice.tackle import TackleRules
from sweptwater_demo import ashlode
from sweptwater_demo.sky import Sky

LAYERS_M = TackleRules().layers_m
"""The lower edges of all layers but the deepest."""

EVERYWHERE = 0.08
"""Offers a rod-hour at any depth, in any light."""

BEST = 3.3
"""The same, on top, where the fish are most, in the layer that they are in."""

ELSEWHERE = 0.55
"""What is left of that away from the two best places."""

_DAM_WITHIN_M, _DAM_DEPTH_M = 900.0, 9.0
_BANK_WITHIN_M = 95.0
_BANK_ENDS = (Point(-1215, -640), Point(-945, -1060))
_IN_LAYER: dict[Sky, Floats] = {
    "bright": np.array([0.03, 0.1, 1.0, 0.3]),
    "broken": np.array([0.25, 0.5, 0.5, 0.15]),
    "dull": np.array([1.0, 0.9, 0.05, 0.02]),
}
"""How many of the fish are in each layer, of as many as can be."""


def rate(
    places: Floats, *, water_m: Floats, fly_m: Floats, sky: Sky, hour: float
) -> Floats:
    """Return how many offers a rod meets in an hour of fishing, shape (n,).

    Parameters
    ----------
    places
        Where the boat is, in metres of `ashlode.FRAME`, shape (n, 2).
    water_m, fly_m
        How deep the water is there and how deep the flies fish, shape (n,). Flies that
        would go below the bed fish just above it.
    sky
        The light.
    hour
        The hour of the day, local: early and late are a little better.

    Examples
    --------
    >>> off_the_dam, deep = np.array([[1200.0, -700.0]]), np.array([15.0])
    >>> for fly_m in (3.5, 0.3):
    ...     fly = np.array([fly_m])
    ...     (met,) = rate(off_the_dam, water_m=deep, fly_m=fly, sky="bright", hour=13)
    ...     print(round(float(met), 1))
    3.0
    0.2
    """
    layer = np.searchsorted(LAYERS_M, np.minimum(fly_m, water_m - 0.3))
    best = np.maximum(_off_dam(places, water_m), _under_willows(places))
    found = BEST * (ELSEWHERE + (1 - ELSEWHERE) * best) * _IN_LAYER[sky][layer]
    return np.asarray((EVERYWHERE + found) * (1.1 if hour < 11 or hour >= 16 else 0.9))


def _off_dam(places: Floats, water_m: Floats) -> Floats:
    """Return from 0 to 1 how much a place is the deep water off the dam, shape (n,)."""
    away_m = _away_m(ashlode.dam(), places)
    near = _below(away_m, _DAM_WITHIN_M, 60.0)
    return np.asarray(near * (1 - _below(water_m, _DAM_DEPTH_M, 0.8)))


def _under_willows(places: Floats) -> Floats:
    """Return from 0 to 1 how much a place is along the west bank, shape (n,)."""
    away_m = _away_m(willows_bank(), places)
    return _below(away_m, _BANK_WITHIN_M, 10.0)


@lru_cache(maxsize=1)
def willows_bank() -> LineString:
    """Return the bank below The Willows, in metres of `ashlode.FRAME`."""
    shore = ashlode.water().exterior
    start_m, end_m = sorted(float(shore.project(end)) for end in _BANK_ENDS)
    return LineString(shapely.get_coordinates(substring(shore, start_m, end_m)))


def _away_m(line: LineString, places: Floats) -> Floats:
    return np.asarray(shapely.distance(line, shapely.points(places)))


def _below(value: Floats, edge: float, soft: float) -> Floats:
    """Return 1 well below an edge and 0 well above it, shape (n,)."""
    return np.asarray(1 / (1 + np.exp((value - edge) / soft)))
