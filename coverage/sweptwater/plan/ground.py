"""Where a boat may drift in a wind: water with room ahead, and room to what is shut."""

from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.practice.outing import PlanRules
from sweptwater.water.shapes import polygonal

QUAD_SEGS = 8
LEAST_M2 = 100.0
"""A bit of ground smaller than this is no place to drift over."""


def bearing_vector(bearing_deg: float) -> Floats:
    """Return the unit vector east and north of a bearing, shape (2,).

    Examples
    --------
    >>> bearing_vector(90).round(6).tolist()
    [1.0, 0.0]
    """
    angle = np.radians(bearing_deg)
    return np.array([np.sin(angle), np.cos(angle)])


def drift_ground(
    fishable: Area,
    keep_off: BaseGeometry,
    rules: PlanRules,
    *,
    cast_m: float,
    course_deg: float,
) -> Area:
    """Return the places at which a boat may be while it drifts on a course.

    It stays inside the water by a margin, off what is to be kept off by its distance,
    and where it is, a cast ahead of it falls on water that may be fished: so that a
    drift ends a cast short of land and of what is out of bounds.

    Parameters
    ----------
    fishable, keep_off
        The fishable water, and what to keep off: zones out of bounds and the strips of
        bank-anglers; in metres.
    rules
        The margin, and the distance to keep off.
    cast_m, course_deg
        How far the rods reach, and the course of the drift, clockwise from north.

    Examples
    --------
    Northward over a pool of 100 m, with a margin of 5 m and a cast of 20 m:

    >>> rules = PlanRules(margin_m=5, keep_off_m=5)
    >>> pool = shapely.box(0, 0, 100, 100)
    >>> ground = drift_ground(
    ...     pool, shapely.Point(), rules, cast_m=20, course_deg=0
    ... )
    >>> [round(edge, 6) for edge in ground.bounds]
    [5.0, 5.0, 95.0, 80.0]
    """
    inside = fishable.buffer(-rules.margin_m, quad_segs=QUAD_SEGS)
    if inside.is_empty:
        return MultiPolygon()
    ground = inside.difference(_short_of_edge(fishable, cast_m, course_deg))
    if not keep_off.is_empty:
        away_m = max(rules.keep_off_m, rules.margin_m)
        ground = ground.difference(keep_off.buffer(away_m, quad_segs=QUAD_SEGS))
    parts = shapely.get_parts(polygonal(ground))
    return polygonal(MultiPolygon(list(parts[shapely.area(parts) >= LEAST_M2])))


def _short_of_edge(water: Area, cast_m: float, course_deg: float) -> BaseGeometry:
    """Return the places from which a cast ahead crosses the water's edge."""
    back = -cast_m * bearing_vector(course_deg)
    edges = np.concatenate(
        [
            np.hstack([places[:-1], places[1:]])
            for polygon in shapely.get_parts(water)
            for ring in (polygon.exterior, *polygon.interiors)
            for places in (shapely.get_coordinates(ring),)
        ]
    )
    start, end = edges[:, :2], edges[:, 2:]
    step = end - start
    across = np.abs(step[:, 0] * back[1] - step[:, 1] * back[0])
    flat = across > 1e-9 * cast_m
    start, end = start[flat], end[flat]
    quads = np.stack([start, end, end + back, start + back, start], axis=1)
    return shapely.union_all(shapely.polygons(quads))


def turned(shape: BaseGeometry, course_deg: float) -> BaseGeometry:
    """Return a shape in metres along a course and to the right of it.

    Examples
    --------
    >>> [round(c, 9) + 0.0 for c in turned(shapely.Point(0, 10), 0).coords[0]]
    [10.0, 0.0]
    """
    along, right = bearing_vector(course_deg), bearing_vector(course_deg + 90)
    axes = np.column_stack([along, right])
    return shapely.transform(shape, lambda places: places @ axes)


def turned_back(places: Floats, course_deg: float) -> Floats:
    """Return places (n, 2), along and to the right of a course, east and north."""
    along, right = bearing_vector(course_deg), bearing_vector(course_deg + 90)
    return np.asarray(places, dtype=np.float64) @ np.vstack([along, right])


def off_course_deg(bearing_deg: Floats | float, course_deg: float) -> Floats:
    """Return by how much bearings are off a course, from -180 up to 180.

    Examples
    --------
    >>> off_course_deg([350, 10, 180], 0).tolist()
    [-10.0, 10.0, -180.0]
    """
    off = np.asarray(bearing_deg, dtype=np.float64) - course_deg
    return (off + 180) % 360 - 180


def leg_bearings(places: Floats) -> Floats:
    """Return the bearing of each leg of a way (n, 2), shape (n - 1,)."""
    steps = np.array([np.subtract(b, a) for a, b in pairwise(places)])
    return np.degrees(np.arctan2(steps[:, 0], steps[:, 1])) % 360
