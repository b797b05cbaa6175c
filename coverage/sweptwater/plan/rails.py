"""Drifts that follow a shore: rails side by side along it, or a zig-zag across."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.plan.ground import bearing_vector, leg_bearings, off_course_deg
from sweptwater.plan.planned import WIDEST_DEG

SMOOTH_M = 5.0
"""A boat follows a shore no closer than this."""

LEG_DEG = 28.0
"""A zig-zag's legs are steered so far off straight downwind, on either side."""

LEAST_LEG_M = 15.0

PASSED_M = 40.0
"""Water so near to a zig-zag is passed, and gets no other."""


def shore_rails(water: Area, distances_m: Floats) -> tuple[BaseGeometry, ...]:
    """Return the lines that run along all shores at some distances, in metres.

    They are the edges of eroded water, which never run on land as offset lines do.
    """
    return tuple(
        shapely.boundary(water.buffer(-distance, quad_segs=16))
        for distance in np.asarray(distances_m).tolist()
    )


def rail_distances_m(near_m: float, far_m: float, apart_m: float) -> Floats:
    """Return how far out parallel drifts go, evenly over the band.

    Examples
    --------
    >>> rail_distances_m(20, 80, 30).tolist()
    [35.0, 65.0]
    """
    count = max(1, round((far_m - near_m) / apart_m))
    return near_m + (np.arange(count) + 0.5) * (far_m - near_m) / count


def rail_drifts(
    rail: BaseGeometry,
    region: Area,
    downwind_deg: float,
    *,
    longest_m: float,
    shortest_m: float,
) -> list[Floats]:
    """Return the stretches of a rail that can be drifted, each from up wind to down.

    Parameters
    ----------
    rail
        Lines along the shore, in metres.
    region
        Where the boat may drift.
    downwind_deg
        Where the wind blows to: no leg is more than `WIDEST_DEG` off it.
    longest_m, shortest_m
        Longer ones are cut into equal parts, shorter ones are left out.

    Returns
    -------
    list
        Ways, each (n, 2).

    Examples
    --------
    >>> rail = LineString([(0, 0), (100, 0), (100, 100)])
    >>> room = shapely.box(-9, -9, 200, 200)
    >>> [way.tolist() for way in rail_drifts(
    ...     rail, room, 90, longest_m=500, shortest_m=30)]
    [[[0.0, 0.0], [100.0, 0.0]]]
    """
    inside = shapely.intersection(rail, region)
    lines = [p for p in shapely.get_parts(inside) if p.geom_type == "LineString"]
    if not lines:
        return []
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines)))
    shapely.prepare(region)
    return [
        part
        for line in merged
        for run in _driftable(_smoothed(line, region), downwind_deg)
        for part in _cut_even(run, longest_m)
        if LineString(run).length >= shortest_m
    ]


def _smoothed(line: LineString, region: Area) -> Floats:
    """Return a line with fewer corners that still lies where the boat may drift."""
    for tolerance in (SMOOTH_M, SMOOTH_M / 4):
        simple = line.simplify(tolerance)
        if shapely.covers(region.buffer(0.01), simple):
            return shapely.get_coordinates(simple)
    return shapely.get_coordinates(line)


def _driftable(places: Floats, downwind_deg: float) -> Iterator[Floats]:
    """Yield the runs of legs that go down the wind, turned that way."""
    if len(places) < 2:
        return
    for way in (places, places[::-1]):
        fits = np.abs(off_course_deg(leg_bearings(way), downwind_deg)) <= WIDEST_DEG
        edges = np.flatnonzero(np.diff(fits, prepend=False, append=False))
        for start, end in edges.reshape(-1, 2).tolist():
            yield way[start : end + 1]


def _cut_even(way: Floats, longest_m: float) -> list[Floats]:
    line = LineString(way)
    count = max(1, int(np.ceil(line.length / longest_m - 1e-9)))
    if count == 1:
        return [way]
    at = np.linspace(0, line.length, count + 1)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    parts = []
    for start, end in pairwise(at.tolist()):
        inner = way[(along > start + 1e-6) & (along < end - 1e-6)]
        ends = [line.interpolate(start).coords[0], line.interpolate(end).coords[0]]
        parts.append(np.vstack([ends[:1], inner, ends[1:]]))
    return parts


def zigzag_drifts(
    band: Area, downwind_deg: float, *, longest_m: float, shortest_m: float
) -> list[Floats]:
    """Return zig-zags through a band down the wind, as many as it takes to pass it all.

    From the most upwind place the boat is steered `LEG_DEG` to one side of downwind
    until it comes to the band's edge, then to the other.

    Returns
    -------
    list
        Ways, each (n, 2): the turns between start and end.

    Examples
    --------
    >>> ways = zigzag_drifts(
    ...     shapely.box(0, 20, 400, 80), 90, longest_m=1e4, shortest_m=30)
    >>> [len(way) for way in ways]
    [5]
    """
    ways: list[Floats] = []
    left = [(part, 2) for part in shapely.get_parts(band) if part.area > 0]
    while left:
        part, fewest = left.pop()
        best = max(
            (_zigzag(part, downwind_deg, side) for side in (-1.0, 1.0)),
            key=lambda way: LineString(way).length if len(way) > 1 else 0.0,
        )
        if len(best) < fewest or LineString(best).length < shortest_m:
            continue
        ways += _cut_even(best, longest_m)
        # Where the shore bends away a zig-zag ends, and another begins beyond: if it
        # has a turn, for else the wind blows across the band there.
        rest = shapely.get_parts(part.difference(LineString(best).buffer(PASSED_M)))
        left += [(piece, 3) for piece in rest if piece.area > PASSED_M**2]
    return ways


def _zigzag(part: Area, downwind_deg: float, side: float) -> Floats:
    ahead = bearing_vector(downwind_deg)
    room = part.buffer(-0.5)
    if room.is_empty:
        return np.empty((0, 2))
    corners = shapely.get_coordinates(room)
    place = corners[np.argmin(corners @ ahead)]
    far_m = float(np.hypot(*np.ptp(corners, axis=0))) + 1.0
    way = [place]
    shapely.prepare(part)
    missed = 0
    while missed < 2:
        leg = _leg(part, place, downwind_deg + side * LEG_DEG, far_m)
        side = -side
        if leg is None:
            missed += 1
            continue
        missed = 0
        place = leg
        way.append(place)
    return np.array(way)


def _leg(part: Area, place: Floats, bearing_deg: float, far_m: float) -> Floats | None:
    """Return where a leg from a place comes to the edge, if it is worth steering."""
    ahead = bearing_vector(bearing_deg)
    ray = LineString([place, place + far_m * ahead])
    inside = shapely.get_parts(shapely.intersection(ray, part))
    mine = [p for p in inside if p.distance(Point(place)) < 0.01]
    length_m = max((p.length for p in mine), default=0.0)
    if length_m < LEAST_LEG_M:
        return None
    return np.asarray(place + (length_m - 0.5) * ahead)
