"""Ways by water: the shortest line between two places that keeps off the shore."""

from dataclasses import dataclass
from functools import lru_cache
from heapq import heappop, heappush

import numpy as np
import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Bools, Floats, Ints

CLEARANCE_M = 14.0
_MOST_CORNERS = 220
_TOLERANCES_M = (2.0, 4.0, 7.0, 12.0, 20.0, 35.0)


@dataclass(frozen=True, slots=True, eq=False)
class Routes:
    """The corners round which ways bend, and which of them see one another.

    Parameters
    ----------
    water
        The water a boat keeps to on its ways, in one piece.
    corners
        Where a taut line may bend, shape (n, 2); the shore before and after each is in
        `before` and `after`, same shape.
    legs
        For each corner the corners it sees and how far they are, in metres.
    """

    water: Polygon
    corners: Floats
    before: Floats
    after: Floats
    legs: tuple[tuple[tuple[int, float], ...], ...]

    def way(self, start: Floats, goal: Floats) -> Floats:
        """Return the corners of the shortest way from start to goal, shape (n, 2).

        Ends nearer to the shore than ways go are joined by the shortest line.
        """
        inner_start, inner_goal = self._onto(start), self._onto(goal)
        middle = self._inner_way(inner_start, inner_goal)
        return _distinct(np.vstack([start, middle, goal]))

    def _onto(self, place: Floats) -> Floats:
        nearest = shapely.shortest_line(self.water, Point(place)).coords[0]
        return np.array(nearest, dtype=np.float64)

    def _inner_way(self, start: Floats, goal: Floats) -> Floats:
        if _clear(self.water, start[None], goal[None])[0]:
            return np.vstack([start, goal])
        firsts, lasts = self._seen_from(start), self._seen_from(goal)
        inner = _dijkstra(self.legs, firsts, lasts)
        return np.vstack([start, self.corners[inner], goal])

    def _seen_from(self, place: Floats) -> dict[int, float]:
        taut = _taut(place[None], self.corners, self.before, self.after)
        which = np.flatnonzero(taut)
        seen = _clear(
            self.water, np.broadcast_to(place, (len(which), 2)), self.corners[which]
        )
        far_m = np.hypot(*(self.corners[which[seen]] - place).T)
        return dict(zip(which[seen].tolist(), far_m.tolist(), strict=True))


@lru_cache(maxsize=16)
def routes(fishable: Area, home: Point) -> Routes:
    """Return the ways on the part of the water that a jetty lies on.

    Parameters
    ----------
    fishable
        Where boats may go, in metres.
    home
        The jetty.

    Raises
    ------
    ValueError
        If no water as wide as a boat's way is near the jetty.
    """
    for tolerance_m in _TOLERANCES_M:
        water = _kept_off(fishable, home, tolerance_m)
        corners, before, after = _corners(water)
        if len(corners) <= _MOST_CORNERS:
            break
    shapely.prepare(water)
    return Routes(water, corners, before, after, _legs(water, corners, before, after))


def _kept_off(fishable: Area, home: Point, tolerance_m: float) -> Polygon:
    """Return the water well off the shore that is nearest to home, with few corners."""
    eroded = fishable.buffer(-CLEARANCE_M - tolerance_m, quad_segs=3)
    parts = [p for p in shapely.get_parts(eroded) if p.area > 0.05 * eroded.area]
    if not parts:
        raise ValueError("the water is too narrow for a boat to keep off its shores")
    nearest = min(parts, key=home.distance)
    return max(shapely.get_parts(nearest.simplify(tolerance_m)), key=lambda p: p.area)


def _corners(water: Polygon) -> tuple[Floats, Floats, Floats]:
    """Return the corners that bend into the water, and the ones before and after."""
    found = []
    oriented = shapely.orient_polygons(water)
    for ring in (oriented.exterior, *oriented.interiors):
        here = np.array(ring.coords[:-1])
        before, after = np.roll(here, 1, axis=0), np.roll(here, -1, axis=0)
        inward = _cross(here - before, after - here) < 0
        found.append(np.stack([here, before, after])[:, inward])
    corners, before, after = np.concatenate(found, axis=1)
    return corners, before, after


def _legs(
    water: Polygon, corners: Floats, before: Floats, after: Floats
) -> tuple[tuple[tuple[int, float], ...], ...]:
    if not len(corners):
        return ()
    taut = np.array([_taut(c[None], corners, before, after) for c in corners])
    i, j = np.nonzero(np.triu(taut & taut.T, 1))
    seen = _clear(water, corners[i], corners[j])
    legs: list[list[tuple[int, float]]] = [[] for _ in corners]
    for a, b in zip(i[seen].tolist(), j[seen].tolist(), strict=True):
        far_m = float(np.hypot(*(corners[a] - corners[b])))
        legs[a].append((b, far_m))
        legs[b].append((a, far_m))
    return tuple(tuple(leg) for leg in legs)


def _taut(place: Floats, corners: Floats, before: Floats, after: Floats) -> Bools:
    """Return which corners a taut line from a place could bend round or end at."""
    line = corners - place
    sides = _cross(line, before - corners) * _cross(line, after - corners)
    return sides >= -1e-6


def _clear(water: BaseGeometry, starts: Floats, goals: Floats) -> Bools:
    """Return which straight lines stay on the water, its edge included."""
    lines = shapely.linestrings(np.stack([starts, goals], axis=1))
    wider = _widened(water)
    return np.asarray(shapely.covers(wider, lines), dtype=np.bool_)


@lru_cache(maxsize=16)
def _widened(water: BaseGeometry) -> BaseGeometry:
    wider = water.buffer(0.5, quad_segs=1, join_style="mitre")
    shapely.prepare(wider)
    return wider


def _dijkstra(
    legs: tuple[tuple[tuple[int, float], ...], ...],
    firsts: dict[int, float],
    lasts: dict[int, float],
) -> Ints:
    """Return the corners of the shortest way that enters at a first, leaves at a last.

    References
    ----------
    E. W. Dijkstra, A note on two problems in connexion with graphs, 1959.
    """
    goal = -1
    heap = [(far_m, corner, -2) for corner, far_m in firsts.items()]
    heap.sort()
    came: dict[int, int] = {}
    while heap:
        far_m, corner, previous = heappop(heap)
        if corner in came:
            continue
        came[corner] = previous
        if corner == goal:
            break
        if corner in lasts:
            heappush(heap, (far_m + lasts[corner], goal, corner))
        for other, leg_m in legs[corner]:
            if other not in came:
                heappush(heap, (far_m + leg_m, other, corner))
    return _backwards(came, goal)


def _backwards(came: dict[int, int], goal: int) -> Ints:
    way = []
    corner = came.get(goal, -2)
    while corner != -2:
        way.append(corner)
        corner = came[corner]
    return np.array(way[::-1], dtype=np.int64)


def _distinct(way: Floats) -> Floats:
    step = np.hypot(*np.diff(way, axis=0).T)
    return way[np.r_[True, step > 0.01]]


def length_m(way: Floats) -> float:
    """Return the length of a way in metres."""
    return float(np.hypot(*np.diff(way, axis=0).T).sum())


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
