"""The cast spread: from a drift to the water that two rods reached from it.

Two rods sit in a boat that lies across the wind and cast forward, downwind. At one
moment they reach a fan: from every place along the boat, as far as the cast, so many
degrees either side of downwind. The fan is convex (the Minkowski sum of the boat and
a sector of less than half a circle), so that what it sweeps on a straight step, its
heading turning little, is the convex hull of the two fans at the step's ends.
"""

from typing import cast

import numpy as np
import shapely
from shapely import LineString

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.practice.settings import Spread
from sweptwater.tracks.drifts import Drift

ARC_STEPS = 12
SIMPLIFY_M = 0.2
FACING_S = 600.0
STILL_M = 10.0
TURN_DEG = 5.0
QUAD_SEGS = 32
"""Segments a quarter circle: a round buffer's area is then right to 0.04 %."""


def sweep_drift(
    drift: Drift, spread: Spread, *, downwind_deg: float | None = None
) -> Area:
    """Return the water that a drift swept, in metres, not yet clipped to any water.

    Parameters
    ----------
    drift
        The drift, in metres.
    spread
        The cast spread.
    downwind_deg
        The bearing that the wind blew to, if known; else the boat is taken to face
        the way it drifted over the twenty minutes around, and one that lay still and
        whose wind is not known is given the cast all round.

    Examples
    --------
    A straight drift of 1,000 m: the strip, and the fan at its end.

    >>> time = np.array([0.0, 2000.0])
    >>> east = Drift(time, np.array([0.0, 1000.0]), np.zeros(2))
    >>> fan = Spread()
    >>> swept = sweep_drift(east, fan)
    >>> strip = 1000 * fan.width_m
    >>> end = np.radians(40) * fan.cast_m**2 + fan.boat_m * fan.cast_m
    >>> round(float(swept.area / (strip + end)), 3)
    1.0
    """
    if spread.shape == "round":
        return _round(drift, spread.reach_m)
    facing = _facing(drift) if downwind_deg is None else downwind_deg
    facing_rad = np.radians(np.broadcast_to(facing, drift.time_s.shape))
    if np.isnan(facing_rad).any():
        return _round(drift, spread.cast_m)
    kept = np.union1d(_kept(drift), _turned(facing_rad))
    places = np.column_stack([drift.easting, drift.northing])[kept]
    fans = places[:, None, :] + _fans(facing_rad[kept], spread)
    if len(fans) > 1:
        fans = np.concatenate([fans[:-1], fans[1:]], axis=1)
    hulls = shapely.convex_hull(shapely.multipoints(fans))
    return cast(Area, shapely.union_all(hulls))


def _round(drift: Drift, reach_m: float) -> Area:
    return path_line(drift).simplify(SIMPLIFY_M).buffer(reach_m, quad_segs=QUAD_SEGS)


def path_line(drift: Drift) -> LineString:
    """Return the way of a drift, in metres; of one place, a line of no length."""
    return _line(np.column_stack([drift.easting, drift.northing]))


def _line(places: Floats) -> LineString:
    """Return the line through places; one place makes a line of no length."""
    return LineString(places if len(places) > 1 else np.repeat(places, 2, axis=0))


def _kept(drift: Drift) -> np.ndarray:
    """Return the indices of the places that a simplified path keeps.

    The index rides along as the height, which GEOS keeps with each place.
    """
    index = np.arange(len(drift.time_s), dtype=float)
    if len(index) < 3:
        return index.astype(int)
    line = _line(np.column_stack([drift.easting, drift.northing, index]))
    kept = line.simplify(SIMPLIFY_M, preserve_topology=False)
    return shapely.get_coordinates(kept, include_z=True)[:, 2].astype(int)


def _turned(facing_rad: Floats) -> Ints:
    """Return the indices at which the heading has turned by another few degrees."""
    steps = np.floor(np.degrees(np.unwrap(facing_rad)) / TURN_DEG)
    return np.flatnonzero(np.diff(steps, prepend=steps[:1]))


def _facing(drift: Drift) -> Floats:
    """Return for each place the bearing made good around it.

    Where the boat lay still it is taken from the places beside; NaN if it never moved.
    """

    def made_good(along: Floats) -> Floats:
        later = np.interp(drift.time_s + FACING_S, drift.time_s, along)
        return later - np.interp(drift.time_s - FACING_S, drift.time_s, along)

    east, north = made_good(drift.easting), made_good(drift.northing)
    far = np.hypot(east, north)
    known = np.flatnonzero(far >= STILL_M)
    if not len(known):
        return np.full(len(far), np.nan)
    index = np.arange(len(far))
    east = np.interp(index, known, east[known] / far[known])
    north = np.interp(index, known, north[known] / far[known])
    return np.degrees(np.arctan2(east, north))


def _fans(facing_rad: Floats, spread: Spread) -> Floats:
    """Return the corners (n, k, 2) of the fans about the boat, one a heading."""
    half = np.radians(spread.half_angle_deg)
    turn = np.linspace(-half, half, ARC_STEPS + 1)
    bearing = facing_rad[:, None] + turn[None, :]
    arc = spread.cast_m * np.stack([np.sin(bearing), np.cos(bearing)], axis=-1)
    across = np.stack([np.cos(facing_rad), -np.sin(facing_rad)], axis=-1)
    ends = spread.boat_m / 2 * across[:, None, :]
    left, right = turn <= 0, turn >= 0
    return np.concatenate(
        [-ends, arc[:, left] - ends, arc[:, right] + ends, ends], axis=1
    )
