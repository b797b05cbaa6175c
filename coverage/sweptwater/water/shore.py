"""The outer shore of a water, with running sums that weigh whole tables of chords.

A place on the shore is told by its distance along it. By the shoelace formula the area
behind a chord follows from running sums at its two ends. Islands count through a few
weighted points, which is exact unless the chord passes over one.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LinearRing, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from sweptwater.arrays import Bools, Floats, Ints

SAMPLES = (300, 900)
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
        Which of the n edges are earlier cuts, where no new one may end.
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


def trace_shore(water: Polygon, cuts: MultiLineString) -> Shore:
    """Return the shore of one connected water, some of it earlier cuts."""
    water = orient(water)
    xy = shapely.get_coordinates(water.exterior)
    edge = np.diff(xy, axis=0)
    middles = shapely.points((xy[1:] + xy[:-1]) / 2)
    shut = np.zeros(len(edge), dtype=bool)
    if not cuts.is_empty:
        shut[:] = shapely.distance(middles, cuts) < 1e-6
    isle_xy, isle_m2 = _isle_points(water)
    ray = xy[None] - isle_xy[:, None]
    return Shore(
        water=water,
        outer=water.exterior,
        filled=Polygon(water.exterior),
        isles=MultiPolygon([Polygon(ring) for ring in water.interiors]),
        xy=xy,
        along_m=_running(np.hypot(*edge.T)),
        turned_m2=_running(_cross(xy[:-1], xy[1:]) / 2),
        shut=shut,
        isle_xy=isle_xy,
        isle_m2=isle_m2,
        isle_rad=np.unwrap(np.arctan2(ray[..., 1], ray[..., 0]), axis=1),
    )


def place(shore: Shore, along_m: Floats) -> Floats:
    """Return the position of places on the shore, one more axis of 2 at the end."""
    turn = np.mod(along_m, shore.length_m)
    return np.stack(
        [np.interp(turn, shore.along_m, axis) for axis in shore.xy.T], axis=-1
    )


def excess_behind(
    shore: Shore, start_m: Floats, end_m: Floats, area_m2: float
) -> Floats:
    """Return by how much the water behind chords is more than an area.

    Behind is between the shore from start to end and the chord back. `end_m` is above
    `start_m`, by at most once round. Of use only for chords that stay within the
    outer shore. Only the sign is right where the excess is more than the area of
    all islands.
    """
    start, end = place(shore, start_m), place(shore, end_m)
    over = np.asarray(
        _turned(shore, end_m)
        - _turned(shore, start_m)
        + _cross(end, start) / 2
        - area_m2
    )
    # The angles are dear, so islands are placed only where they can decide.
    near = (over > 0) & (over < 2 * shore.isle_m2.sum())
    if near.any():
        start_m, end_m = (
            np.broadcast_to(m, over.shape)[near] for m in (start_m, end_m)
        )
        turns = _full_turns(shore, start_m, end_m)
        over[near] -= shore.isle_m2 @ (turns > 0)
    return over


def is_shut(shore: Shore, along_m: Floats) -> Bools:
    """Return whether places lie on an earlier cut, its ends not included."""
    turn_m = np.mod(along_m, shore.length_m)
    before = np.searchsorted(shore.along_m, turn_m - 1e-6, side="right") - 1
    after = np.searchsorted(shore.along_m, turn_m + 1e-6, side="right") - 1
    count = len(shore.shut)
    return np.asarray(shore.shut[before % count] & shore.shut[after % count])


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


def _full_turns(shore: Shore, start_m: Floats, end_m: Floats) -> Ints:
    """Return how often the shore from start to end and the chord back go round isles.

    Shape (isle points, chords).
    """
    places_m, which = np.unique(np.concatenate([start_m, end_m]), return_inverse=True)
    bearing_rad = _bearings(shore, places_m)
    start_rad = bearing_rad[:, which[: len(start_m)]]
    end_rad = bearing_rad[:, which[len(start_m) :]]
    return np.asarray(np.rint((end_rad - start_rad) / (2 * np.pi)), dtype=np.int64)


def _bearings(shore: Shore, along_m: Floats) -> Floats:
    """Return the unwrapped angles under which island points see places on the shore.

    Shape (isle points, places).
    """
    turns, turn_m = np.divmod(along_m, shore.length_m)
    vertex = np.searchsorted(shore.along_m, turn_m, side="right") - 1
    seen_rad = shore.isle_rad[:, np.minimum(vertex, len(shore.along_m) - 2)]
    ray = place(shore, along_m) - shore.isle_xy[:, None]
    # Along one edge the angle turns by less than half a circle from its first vertex.
    more_rad = np.arctan2(ray[..., 1], ray[..., 0]) - seen_rad
    more_rad -= 2 * np.pi * np.rint(more_rad / (2 * np.pi))
    return np.asarray(seen_rad + more_rad + 2 * np.pi * turns)


def _turned(shore: Shore, along_m: Floats) -> Floats:
    turns, turn_m = np.divmod(along_m, shore.length_m)
    turned = np.interp(turn_m, shore.along_m, shore.turned_m2)
    return np.asarray(turned + turns * shore.turned_m2[-1])


def _running(steps: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(steps)])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
