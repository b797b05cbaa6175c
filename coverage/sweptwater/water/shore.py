"""The outer shore of a water, with running sums that weigh whole tables of chords.

A place on the shore is told by its distance along it. By the shoelace formula the area
behind a chord follows from running sums at its two ends. Islands count through a few
weighted points, which is exact unless the chord passes over one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.lib.stride_tricks import sliding_window_view
from shapely import LinearRing, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.water.faces import NODE_M, STRIP_M, Shapes, edge_middles

SAMPLES = (600, 2000)
"""Fewest and most shore samples."""

MOST_ISLES = 100
ISLE_POINTS = 40
"""So many of the largest islands are minded in the search, by so many points in all."""


@dataclass(frozen=True)
class Shore:
    """The outer shore of one connected water, anticlockwise, with running sums.

    Parameters
    ----------
    water, outer, filled, isles
        The water, its outer shore, all within that, and the islands.
    xy
        Vertices of the outer shore, the last equal to the first, shape (n + 1, 2).
    along_m, turned_m2
        Distance and shoelace area up to each vertex, shape (n + 1,).
    shut
        Which of the n edges are earlier cuts or dykes, where no new one may end.
    dykes
        Hair-wide strips left out of the water, that join islands to the shore.
    dyke
        The dyke beside each of the n edges, or -1.
    dyke_sides_m
        Distance along the shore of the two sides of each dyke, shape (dykes, 2).
    isle_xy, isle_m2
        Points on the islands, shape (m, 2), with the area each stands for.
    isle_rad
        Angle under which each island point sees the vertices, unwrapped,
        shape (m, n + 1).
    """

    water: Polygon
    outer: LinearRing
    filled: Polygon
    isles: MultiPolygon
    xy: Floats
    along_m: Floats
    turned_m2: Floats
    shut: Bools
    dykes: tuple[Polygon, ...]
    dyke: Ints
    dyke_sides_m: Floats
    isle_xy: Floats
    isle_m2: Floats
    isle_rad: Floats

    @property
    def length_m(self) -> float:
        """The length of the outer shore."""
        return float(self.along_m[-1])

    @property
    def step_m(self) -> float:
        """A fitting distance between shore samples."""
        wish = self.length_m / (np.sqrt(self.water.area) / 40)
        return self.length_m / int(np.clip(wish, *SAMPLES))


def trace_shore(
    water: Polygon, cuts: MultiLineString, dykes: Sequence[Polygon] = ()
) -> Shore:
    """Return the shore of one connected water, some of it earlier cuts or dykes."""
    water = orient(water)
    xy = shapely.get_coordinates(water.exterior)
    edge = np.diff(xy, axis=0)
    middles = edge_middles(xy)
    shut = np.zeros(len(edge), dtype=bool)
    if not cuts.is_empty:
        shut[:] = shapely.dwithin(middles, cuts, NODE_M)
    dyke = _dyke_beside(middles, dykes)
    along_m = _running(np.hypot(*edge.T))
    isle_xy, isle_m2 = _isle_points(water)
    ray = xy[None] - isle_xy[:, None]
    return Shore(
        water=water,
        outer=water.exterior,
        filled=Polygon(water.exterior),
        isles=MultiPolygon([Polygon(ring) for ring in water.interiors]),
        xy=xy,
        along_m=along_m,
        turned_m2=_running(_cross(xy[:-1], xy[1:]) / 2),
        shut=shut | (dyke >= 0),
        dykes=tuple(dykes),
        dyke=dyke,
        dyke_sides_m=_dyke_sides(dyke, (along_m[1:] + along_m[:-1]) / 2, len(dykes)),
        isle_xy=isle_xy,
        isle_m2=isle_m2,
        isle_rad=np.unwrap(np.arctan2(ray[..., 1], ray[..., 0]), axis=1),
    )


@dataclass(frozen=True)
class Spots:
    """Places on the shore, with what weighs the water behind chords between them.

    Parameters
    ----------
    along_m
        Distance along the shore, perhaps more than once round.
    xy
        Where they are, one more axis of 2 at the end.
    turned_m2
        Shoelace area from the first vertex to there.
    isle_rad
        Angle under which island points see them, unwrapped, one more axis in front;
        where it is not given it is found when it is needed.
    """

    along_m: Floats
    xy: Floats
    turned_m2: Floats
    isle_rad: Floats | None = None

    def __getitem__(self, chosen: Any) -> "Spots":
        index = chosen if isinstance(chosen, tuple) else (chosen,)
        rad = None if self.isle_rad is None else self.isle_rad[:, *index]
        return Spots(self.along_m[chosen], self.xy[chosen], self.turned_m2[chosen], rad)


def spots(shore: Shore, along_m: Floats) -> Spots:
    """Return places on the shore told by their distance along it."""
    turns, turn_m = np.divmod(along_m, shore.length_m)
    edge = np.searchsorted(shore.along_m, turn_m, side="right") - 1
    edge = np.clip(edge, 0, len(shore.along_m) - 2)
    before_m = shore.along_m[edge]
    part = (turn_m - before_m) / np.maximum(shore.along_m[edge + 1] - before_m, 1e-12)
    xy = shore.xy[edge] + part[..., None] * (shore.xy[edge + 1] - shore.xy[edge])
    before_m2 = shore.turned_m2[edge]
    turned_m2 = before_m2 + part * (shore.turned_m2[edge + 1] - before_m2)
    return Spots(along_m, xy, turned_m2 + turns * shore.turned_m2[-1])


def spots_round(shore: Shore, count: int) -> Spots:
    """Return evenly spaced places, twice round the shore."""
    once = spots(shore, np.linspace(0, shore.length_m, count, endpoint=False))
    along_m = np.concatenate([once.along_m, once.along_m + shore.length_m])
    return Spots(
        along_m,
        np.concatenate([once.xy, once.xy]),
        np.concatenate([once.turned_m2, once.turned_m2 + shore.turned_m2[-1]]),
        _bearings(shore, along_m),
    )


def windows(places: Spots, width: int) -> Spots:
    """Return all runs of so many places, one row each, uncopied."""
    rad = places.isle_rad
    return Spots(
        sliding_window_view(places.along_m, width),
        np.moveaxis(sliding_window_view(places.xy, width, axis=0), 1, -1),
        sliding_window_view(places.turned_m2, width),
        None if rad is None else sliding_window_view(rad, width, axis=1),
    )


def excess_behind(
    shore: Shore, start: Spots, end: Spots, area_m2: float, *, sure: float = 2
) -> Floats:
    """Return by how much the water behind chords is more than an area.

    Behind is between the shore from start to end and the chord back. The end lies
    beyond the start, by at most once round. Of use only for chords that stay within
    the outer shore.

    Parameters
    ----------
    sure
        Where the excess is more than this many times the area of all islands, only
        its sign is right; at least 1.
    """
    over = end.turned_m2 - start.turned_m2 + _cross(end.xy, start.xy) / 2 - area_m2
    # The angles are dear, so islands are placed only where they can decide.
    near = (over > 0) & (over < sure * shore.isle_m2.sum())
    if near.any():
        over[near] -= _isles_behind(shore, start, end, near)
    return over


def is_shut(shore: Shore, along_m: Floats) -> Bools:
    """Return whether places lie on an earlier cut, its ends not included."""
    turn_m = np.mod(along_m, shore.length_m)
    before = np.searchsorted(shore.along_m, turn_m - 1e-6, side="right") - 1
    after = np.searchsorted(shore.along_m, turn_m + 1e-6, side="right") - 1
    count = len(shore.shut)
    return np.asarray(shore.shut[before % count] & shore.shut[after % count])


def dykes_behind(shore: Shore, start_m: float, end_m: float) -> Bools:
    """Return which dykes have all of their edges behind a chord."""
    middle_m = (shore.along_m[1:] + shore.along_m[:-1]) / 2
    edges = shore.dyke >= 0
    behind = np.mod(middle_m - start_m, shore.length_m) < np.mod(
        end_m - start_m, shore.length_m
    )
    count = len(shore.dykes)
    within = np.bincount(shore.dyke[edges], behind[edges], count)
    return np.asarray(within == np.bincount(shore.dyke[edges], minlength=count))


def dyke_lengths(shore: Shore, start_m: Floats, end_m: Floats) -> Floats:
    """Return how much of dykes becomes a cut by each chord, having but one side behind.

    Parameters
    ----------
    end_m
        Above `start_m`, by at most once round.
    """
    if not shore.dykes:
        return np.zeros(len(start_m))
    after_m = np.mod(shore.dyke_sides_m - start_m[:, None, None], shore.length_m)
    behind = after_m < (end_m - start_m)[:, None, None]
    length_m = shapely.area(shore.dykes) / STRIP_M
    return np.asarray((behind[..., 0] != behind[..., 1]) @ length_m)


def _dyke_beside(middles: Shapes, dykes: Sequence[Polygon]) -> Ints:
    """Return the dyke at the middle of each edge of the shore, or -1."""
    beside = np.full(len(middles), -1)
    if dykes:
        edge, dyke = shapely.STRtree(list(dykes)).query(
            middles, predicate="dwithin", distance=NODE_M
        )
        beside[edge] = dyke
    return beside


def _dyke_sides(dyke: Ints, middle_m: Floats, count: int) -> Floats:
    """Return a place on either side of each dyke, shape (count, 2)."""
    sides_m = np.zeros((count, 2))
    for number in range(count):
        at_m = middle_m[dyke == number]
        if len(at_m) > 1:
            # Its land end lies between the two sides, and so the widest gaps do.
            gap = np.diff(at_m).argmax()
            sides_m[number] = at_m[gap : gap + 2]
    return sides_m


def _isle_points(water: Polygon) -> tuple[Floats, Floats]:
    """Return points that stand for the islands, more on the bigger ones."""
    isles = sorted(
        (Polygon(ring) for ring in water.interiors), key=lambda isle: -isle.area
    )[:MOST_ISLES]
    total_m2 = sum(isle.area for isle in isles)
    xy, area_m2 = [np.zeros((0, 2))], [np.zeros(0)]
    for isle in isles:
        points = _grid_points(isle, ISLE_POINTS * isle.area / total_m2)
        xy.append(points)
        area_m2.append(np.full(len(points), isle.area / len(points)))
    return np.vstack(xy), np.concatenate(area_m2)


def _grid_points(isle: Polygon, count: float) -> Floats:
    west, south, east, north = isle.bounds
    step_m = np.sqrt(isle.area / max(count, 1))
    x, y = (
        axis.ravel()
        for axis in np.meshgrid(
            np.arange(west + step_m / 2, east, step_m),
            np.arange(south + step_m / 2, north, step_m),
        )
    )
    inside = shapely.contains_xy(isle, x, y)
    if not inside.any():
        return shapely.get_coordinates(isle.representative_point())
    return np.column_stack([x[inside], y[inside]])


def _isles_behind(shore: Shore, start: Spots, end: Spots, near: Bools) -> Floats:
    """Return the area of isles round which shore and chord go, for some chords."""
    if start.isle_rad is not None and end.isle_rad is not None:
        start_rad, end_rad = (
            np.broadcast_to(rad, (len(rad), *near.shape))[:, near]
            for rad in (start.isle_rad, end.isle_rad)
        )
    else:
        start_m, end_m = (
            np.broadcast_to(spot.along_m, near.shape)[near] for spot in (start, end)
        )
        places_m, which = np.unique(
            np.concatenate([start_m, end_m]), return_inverse=True
        )
        bearing_rad = _bearings(shore, places_m)
        start_rad = bearing_rad[:, which[: len(start_m)]]
        end_rad = bearing_rad[:, which[len(start_m) :]]
    # A whole turn, to the nearest; as good as more than half of one.
    return np.asarray(shore.isle_m2 @ (end_rad - start_rad > np.pi))


def _bearings(shore: Shore, along_m: Floats) -> Floats:
    """Return the unwrapped angles under which island points see places on the shore.

    Shape (isle points, places).
    """
    turns, turn_m = np.divmod(along_m, shore.length_m)
    vertex = np.searchsorted(shore.along_m, turn_m, side="right") - 1
    seen_rad = shore.isle_rad[:, np.minimum(vertex, len(shore.along_m) - 2)]
    ray = spots(shore, along_m).xy - shore.isle_xy[:, None]
    # Along one edge the angle turns by less than half a circle from its first vertex.
    more_rad = np.arctan2(ray[..., 1], ray[..., 0]) - seen_rad
    more_rad -= 2 * np.pi * np.rint(more_rad / (2 * np.pi))
    return np.asarray(seen_rad + more_rad + 2 * np.pi * turns)


def _running(steps: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(steps)])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
