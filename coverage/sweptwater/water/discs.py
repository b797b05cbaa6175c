"""The shore about one of its places, and the share of a disc there that is land.

A disc is laid about a place on the shore. The shore through its middle parts it into
water and land; the share that is land is a half on a straight shore, less on a point,
more in a bay. It is the integral invariant of planar curves, steady under noise. Other
shores within the disc are not minded: the side of a narrow creek is no bay.

References
----------
S. Manay and others, Integral invariants for shape matching, IEEE Transactions on
Pattern Analysis and Machine Intelligence 28, 2006; H. Pottmann and others, Integral
invariants for robust geometry processing, Computer Aided Geometric Design 26, 2009
(both from memory).
"""

from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from shapely import Point, Polygon
from shapely.geometry.polygon import orient

from sweptwater.arrays import Area, Floats
from sweptwater.water.shapes import polygonal

NARROW = 12
"""Ditches narrower than the disc's diameter by this are filled in."""


@dataclass(frozen=True, slots=True)
class Share:
    """What the shore parts a disc about one of its places into.

    Parameters
    ----------
    radius_m
        The disc's radius.
    land
        The share of land, from 0 to 1.
    even
        How even the ways along the shore out of the disc are, from 0 to 1; 1 where
        the whole shore lies within.
    height_m
        How far the place stands out into the water from the line between the places
        where the shore leaves the disc; below 0 in a bay.
    """

    radius_m: float
    land: float
    even: float
    height_m: float


def share_about(around: Floats, radius_m: float) -> Share:
    """Return what a shore parts the disc about its first place into.

    Parameters
    ----------
    around
        The whole shore from a place round to it again, with the water on its left,
        in metres, shape (n, 2).
    radius_m
        The disc's radius.

    Examples
    --------
    >>> corner = np.array([(0, 0), (900, 0), (900, 900), (0, 900), (0, 0)], float)
    >>> share_about(corner, 100.0).land
    0.75
    """
    middle = around[0]
    ahead = _within(around - middle, radius_m)
    if ahead is None:
        own = shapely.area(shapely.polygons(around)) / (np.pi * radius_m**2)
        inside = shapely.is_ccw(shapely.linearrings(around))
        return Share(radius_m, float(1 - own if inside else own), 1.0, 0.0)
    behind = cast(Floats, _within(around[::-1] - middle, radius_m))
    path = np.vstack([behind[::-1], ahead[1:]])
    start, end = path[0], path[-1]
    twice = float(cross(path[:-1], path[1:]).sum())
    turn = (np.arctan2(*start[::-1]) - np.arctan2(*end[::-1])) % (2 * np.pi)
    water = (twice + radius_m**2 * turn) / 2
    ways = length_of(ahead), length_of(behind)
    return Share(
        radius_m,
        float(1 - water / (np.pi * radius_m**2)),
        min(ways) / max(ways),
        _stands_out(start, end),
    )


def nearest_ring(water: Area, place: Point) -> tuple[Polygon, Floats, Polygon | None]:
    """Return the part of the water, its shore nearest to a place, and its island.

    The shore has the water on its left.
    """
    parts = shapely.get_parts(water)
    part = orient(parts[int(np.argmin(shapely.distance(parts, place)))])
    rings = [part.exterior, *part.interiors]
    nearest = int(np.argmin(shapely.distance(rings, place)))
    ring = shapely.get_coordinates(rings[nearest])
    return part, ring, Polygon(ring) if nearest else None


def from_nearest(ring: Floats, place: tuple[float, float]) -> Floats:
    """Return a closed shore from its nearest place to another, round to it again."""
    start, edge = ring[:-1], np.diff(ring, axis=0)
    share = ((np.array(place) - start) * edge).sum(axis=1)
    share = np.clip(share / np.maximum((edge**2).sum(axis=1), 1e-12), 0, 1)
    foot = start + share[:, None] * edge
    first = int(np.argmin(np.hypot(*(foot - place).T)))
    around = np.roll(start, -first - 1, axis=0)
    return np.vstack([foot[first], around, foot[first]])


def share_at(part: Polygon, around: Floats, radius_m: float) -> Share:
    """Return the share of land, ditches much narrower than the disc filled in.

    Otherwise the shore would leave the disc by way of the ditch.
    """
    narrow_m = radius_m / NARROW
    east, north = around[0]
    far = 1.5 * radius_m
    near = shapely.clip_by_rect(part, east - far, north - far, east + far, north + far)
    core = shapely.buffer(near, -narrow_m, quad_segs=4)
    wide = polygonal(
        shapely.buffer(core, narrow_m, join_style="mitre", mitre_limit=2.0)
    )
    # A place in such a ditch keeps it.
    if wide.is_empty or wide.boundary.distance(Point(around[0])) > narrow_m:
        return share_about(around, radius_m)
    _, ring, _ = nearest_ring(wide, Point(around[0]))
    filled = from_nearest(ring, (east, north))
    # Cut off from the rest by filling, its own pool would say nothing of the shore.
    if _leaves(filled, radius_m) != _leaves(around, radius_m):
        return share_about(around, radius_m)
    return share_about(filled, radius_m)


def _leaves(around: Floats, radius_m: float) -> bool:
    return bool(np.any(np.hypot(*(around - around[0]).T) > radius_m))


def length_of(around: Floats) -> float:
    """Return the length of a shore in metres."""
    return float(np.hypot(*np.diff(around, axis=0).T).sum())


def shore_at(around: Floats, at_m: Floats) -> Floats:
    """Return the places of a closed shore at distances from its first one."""
    steps = np.hypot(*np.diff(around, axis=0).T)
    along_m = np.concatenate([[0.0], np.cumsum(steps)])
    turn_m = at_m % along_m[-1]
    return np.column_stack([np.interp(turn_m, along_m, axis) for axis in around.T])


def _within(path: Floats, radius_m: float) -> Floats | None:
    """Return a path from the origin until it leaves a disc; None if it never does."""
    outside = np.hypot(*path.T) > radius_m
    if not outside.any():
        return None
    first = int(np.argmax(outside))
    inner, outer = path[first - 1], path[first]
    edge = outer - inner
    # |inner + t edge| = radius, of which t in (0, 1] is the only root ahead.
    a, b, c = edge @ edge, inner @ edge, inner @ inner - radius_m**2
    leaves = inner + (-b + np.sqrt(max(b * b - a * c, 0.0))) / a * edge
    return np.vstack([path[:first], leaves])


def _stands_out(start: Floats, end: Floats) -> float:
    """Return how far the origin lies to the left of a line, in metres."""
    chord = end - start
    length = float(np.hypot(*chord))
    return float(cross(start, end) / length) if length > 0 else 0.0


def cross(a: Floats, b: Floats) -> Floats:
    """Return the cross products of vectors in the plane, shapes (..., 2)."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
