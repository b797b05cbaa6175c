"""The search for straight cuts, bank to bank, that part off an exact area of water.

A chord joins two places on the outer shore, each told by its distance along that
shore; by the shoelace formula the water behind it then follows from running sums, so
that whole tables of chords are weighed at once. Islands count through a few weighted
points, which is exact unless the chord passes over one; such chords are weighed on the
real pieces in the end.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon

from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.water.faces import (
    Shapes,
    cut_faces,
    cuts_between,
    dissolve,
    join_faces,
    shared_edges,
)
from sweptwater.water.shore import (
    Shore,
    Spots,
    dyke_lengths,
    dykes_behind,
    excess_behind,
    is_shut,
    spots,
    spots_round,
    windows,
)

TRIM_M = 1e-3
"""So much of a chord's ends is left out when asking whether it stays on the water."""

EXACT = 1e-7
"""An area this near to the asked, as a share of it, is as asked."""


SHIFTS = 5
"""So often are the ends of a chord shifted, within less reach each time."""

NEAR = 1e-8
"""A chord found is this near to the area, as a share of it."""


@dataclass(frozen=True)
class Parting:
    """Water parted in two by a cut."""

    side: Polygon
    rest: Polygon
    cuts: tuple[LineString, ...]


def find_chords(shore: Shore, area_m2: float) -> tuple[Floats, Floats]:
    """Return starts and ends of chords with that much water behind them.

    One start a shore sample, any number of ends for each; not all of the chords stay
    on the water.
    """
    count = round(shore.length_m / shore.step_m)
    places = spots_round(shore, count)
    ends = windows(places, count + 1)[:count]
    over = excess_behind(shore, places[:count][:, None], ends, area_m2, sure=1)
    above = over > 0
    row, column = np.nonzero(above[:, 1:] != above[:, :-1])
    start = places[row]
    end_m = _solve(
        shore,
        start,
        places.along_m[row + column],
        places.along_m[row + column + 1],
        area_m2,
    )
    return start.along_m, end_m


def wet_lengths(shore: Shore, start_m: Floats, end_m: Floats) -> Floats:
    """Return how much of each chord is water; infinite where it leaves the shore.

    Dykes that become a cut by the chord count as well.
    """
    start, end = spots(shore, start_m).xy, spots(shore, end_m).xy
    length_m = np.hypot(*(end - start).T)
    trim = np.minimum(TRIM_M / np.maximum(length_m, TRIM_M), 0.25)[:, None]
    inner = [start + trim * (end - start), end - trim * (end - start)]
    chords = np.asarray(shapely.linestrings(np.stack(inner, axis=1)))
    middle = (start + end) / 2
    shapely.prepare([shore.outer, shore.filled])
    good = ~shapely.intersects(shore.outer, chords)
    good &= shapely.contains_xy(shore.filled, middle[:, 0], middle[:, 1])
    good &= ~(is_shut(shore, start_m) | is_shut(shore, end_m))
    length_m += dyke_lengths(shore, start_m, end_m)
    length_m[good] -= _over_isles_m(shore, chords[good])
    return np.where(good, length_m, np.inf)


def _over_isles_m(shore: Shore, chords: Shapes) -> Floats:
    """Return how much of each chord lies on islands."""
    isles = shapely.get_parts(shore.isles)
    if not len(isles):
        return np.zeros(len(chords))
    chord, isle = shapely.STRtree(isles).query(chords, predicate="intersects")
    on_land_m = shapely.length(shapely.intersection(isles[isle], chords[chord]))
    return np.bincount(chord, on_land_m, len(chords)).astype(np.float64)


def likely_chords(shore: Shore, area_m2: float, count: int) -> Floats:
    """Return a few short chords, well apart, not yet shifted.

    Rows of start, end and wet length, in metres, shape (at most `count`, 3).
    """
    start_m, end_m = find_chords(shore, area_m2)
    wet_m = wet_lengths(shore, start_m, end_m)
    keep = _well_apart(shore, start_m, end_m, wet_m, count)
    return np.column_stack([start_m, end_m, wet_m])[keep]


def shifted(shore: Shore, area_m2: float, chords: Floats) -> Floats:
    """Return the chords, as `likely_chords` gives them, shifted for the shortest."""
    start_m, end_m, wet_m = chords.T
    reach_m = shore.step_m
    for _ in range(SHIFTS):
        moved = _shift(shore, (start_m, end_m, wet_m), area_m2, reach_m)
        at_edge = np.abs(moved[0] - start_m).max(initial=0) > 0.9 * reach_m
        start_m, end_m, wet_m = moved
        reach_m /= 1 if at_edge else 6
    return np.column_stack([start_m, end_m, wet_m])


def part_exactly(
    shore: Shore, start_m: float, end_m: float, area_m2: float
) -> Parting | None:
    """Return the water parted by a chord whose end slides to the exact area.

    None where no such chord stays on the water, or where a pocket behind an island
    makes the area jump over what is asked.
    """
    ends: list[tuple[float, float]] = []
    for _ in range(20):
        parting = part(shore, start_m, end_m)
        if parting is None:
            return None
        whole = dykes_behind(shore, start_m, end_m)
        dyked_m2 = float(shapely.area(shore.dykes)[whole].sum()) if shore.dykes else 0
        over_m2 = parting.side.area + dyked_m2 - area_m2
        if abs(over_m2) <= EXACT * area_m2:
            return _without_dykes(shore, parting, whole)
        ends.append((end_m, over_m2))
        wet_m = max(sum(cut.length for cut in parting.cuts), TRIM_M)
        next_m = _next_end(ends, shore.step_m, wet_m)
        if abs(next_m - end_m) * wet_m < EXACT * area_m2 / 10:
            return None  # the area jumps here
        end_m = next_m
    return None


def _without_dykes(shore: Shore, parting: Parting, whole: Bools) -> Parting | None:
    """Return the parting with the dykes made water again, or cuts."""
    if not shore.dykes:
        return parting
    faces = np.array([parting.side, parting.rest, *shore.dykes], dtype=object)
    owners = np.array([0, 1, *np.where(whole, 0, 1)])
    side, rest = dissolve(faces, owners)
    if not (isinstance(side, Polygon) and isinstance(rest, Polygon)):
        return None
    return Parting(side, rest, cuts_between(faces, owners))


def part(shore: Shore, start_m: float, end_m: float) -> Parting | None:
    """Return the water parted by the chord between two places on the shore.

    Pockets behind islands that the chord leaves on the wrong side go to the other.
    None if the chord leaves the water.
    """
    if not np.isfinite(wet_lengths(shore, np.array([start_m]), np.array([end_m])))[0]:
        return None
    behind, beyond = _split_ring(shore, start_m, end_m)
    chord = LineString(behind[[0, -1]])
    half = Polygon(behind)
    if shore.isles.intersects(chord):
        return _part_over_isles(shore, half, beyond, chord)
    first = np.array([ring.coords[0] for ring in shore.water.interiors]).reshape(-1, 2)
    within = shapely.contains_xy(half, first[:, 0], first[:, 1])
    rings = np.array(shore.water.interiors, dtype=object)
    side = Polygon(behind, list(rings[within]))
    rest = Polygon(beyond, list(rings[~within]))
    if not (side.is_valid and rest.is_valid):
        return None
    return Parting(side, rest, (chord,))


def _part_over_isles(
    shore: Shore, half: Polygon, beyond: Floats, chord: LineString
) -> Parting | None:
    outer = np.vstack([shapely.get_coordinates(half)[:-1], beyond[1:-1]])
    water = Polygon(outer, list(shore.water.interiors))
    faces = cut_faces(water, [chord])
    inner = shapely.point_on_surface(faces)
    within = shapely.intersects(half, inner)
    if within.all() or not within.any():
        return None
    area_m2 = shapely.area(faces)
    owners = np.full(len(faces), -1)
    owners[np.where(within, area_m2, -1).argmax()] = 0
    owners[np.where(within, -1, area_m2).argmax()] = 1
    owners = join_faces(faces, owners)
    side, rest = dissolve(faces, owners)
    if not (isinstance(side, Polygon) and isinstance(rest, Polygon)):
        return None
    if not (side.is_valid and rest.is_valid):
        return None
    _, segments = shared_edges([side, rest])
    cuts = shapely.line_merge(MultiLineString(list(segments)))
    return Parting(side, rest, tuple(shapely.get_parts(cuts)))


def _split_ring(shore: Shore, start_m: float, end_m: float) -> tuple[Floats, Floats]:
    """Return the shore from start to end, and from end round to start."""
    length_m = shore.length_m
    start_m, end_m = (_snapped(shore, along_m) for along_m in (start_m, end_m))
    start, end = spots(shore, np.array([start_m, end_m])).xy
    return (
        _stretch(shore, start_m, end_m % length_m, start, end),
        _stretch(shore, end_m, start_m % length_m, end, start),
    )


def _stretch(
    shore: Shore, start_m: float, end_m: float, start: Floats, end: Floats
) -> Floats:
    start_m = start_m % shore.length_m
    if end_m <= start_m:
        end_m += shore.length_m
    along_m = np.concatenate([shore.along_m[:-1], shore.along_m[:-1] + shore.length_m])
    first = np.searchsorted(along_m, start_m, side="right")
    last = np.searchsorted(along_m, end_m, side="left")
    between = np.vstack([shore.xy[:-1], shore.xy[:-1]])[first:last]
    return np.vstack([start, between, end])


def _snapped(shore: Shore, along_m: float) -> float:
    """Return the place, or the vertex that is all but there."""
    along_m = along_m % shore.length_m
    nearest = shore.along_m[np.abs(shore.along_m - along_m).argmin()]
    return float(nearest if abs(nearest - along_m) < 1e-6 else along_m)


def _solve(
    shore: Shore, start: Spots, low_m: Floats, high_m: Floats, area_m2: float
) -> Floats:
    """Return where the chords end that cut off the area, between two ends for each."""
    old_m, new_m = low_m.copy(), high_m.copy()
    old = excess_behind(shore, start, spots(shore, old_m), area_m2)
    new = excess_behind(shore, start, spots(shore, new_m), area_m2)
    left = np.arange(len(new_m))
    for _ in range(8):  # false position by the Illinois rule
        was_m, was, now_m, now = old_m[left], old[left], new_m[left], new[left]
        slope = (now - was) / np.where(now_m == was_m, np.inf, now_m - was_m)
        next_m = now_m - np.where(slope == 0, 0, now / np.where(slope == 0, 1, slope))
        after = excess_behind(shore, start[left], spots(shore, next_m), area_m2)
        crossed = (after > 0) != (now > 0)
        old_m[left] = np.where(crossed, now_m, was_m)
        old[left] = np.where(crossed, now, was / 2)
        new_m[left], new[left] = next_m, after
        left = left[np.abs(after) > NEAR * area_m2]
        if not len(left):
            break
    return new_m


def _well_apart(
    shore: Shore, start_m: Floats, end_m: Floats, wet_m: Floats, count: int
) -> Ints:
    """Return the numbers of the shortest chords that are not each other's like."""
    keep: list[int] = []
    order = np.argsort(wet_m, kind="stable")
    left = order[np.isfinite(wet_m[order])]
    while len(left) and len(keep) < count:
        best = left[0]
        keep.append(int(best))
        near_m = max(3 * shore.step_m, 0.5 * wet_m[best])
        alike = (_round_trip(shore, start_m[left] - start_m[best]) < near_m) & (
            _round_trip(shore, end_m[left] - end_m[best]) < near_m
        )
        left = left[~alike]
    return np.array(keep, dtype=np.int64)


def _shift(
    shore: Shore,
    chords: tuple[Floats, Floats, Floats],
    area_m2: float,
    reach_m: float,
) -> tuple[Floats, Floats, Floats]:
    """Return the shortest chord within reach of each, with its wet length."""
    start_m, end_m, wet_m = chords
    fan, window = np.linspace(-1, 1, 21), np.linspace(-1, 1, 9)
    starts_m = (start_m[:, None] + fan * reach_m).ravel()
    start = spots(shore, starts_m)
    ends_m = np.repeat(end_m, len(fan))[:, None] + window * 4 * reach_m
    over = excess_behind(shore, start[:, None], spots(shore, ends_m), area_m2)
    row, column = np.nonzero((over[:, 1:] > 0) != (over[:, :-1] > 0))
    end_m = _solve(
        shore, start[row], ends_m[row, column], ends_m[row, column + 1], area_m2
    )
    chord = np.concatenate([np.arange(len(start_m)), row // len(fan)])
    all_m = (
        np.concatenate([start_m, starts_m[row]]),
        np.concatenate([chords[1], end_m]),
        np.concatenate([wet_m, wet_lengths(shore, starts_m[row], end_m)]),
    )
    order = np.lexsort([all_m[2], chord])
    best = order[np.unique(chord[order], return_index=True)[1]]
    return all_m[0][best], all_m[1][best], all_m[2][best]


def _next_end(ends: list[tuple[float, float]], step_m: float, wet_m: float) -> float:
    """Return where to try next: false position once two ends embrace the answer."""
    below = [(end, over) for end, over in ends if over < 0]
    above = [(end, over) for end, over in ends if over > 0]
    end_m, over_m2 = ends[-1]
    if not below or not above:
        move_m = np.clip(-over_m2 / wet_m * 1.5, -step_m, step_m)
        return end_m + float(move_m)
    low, high = below[-1], above[-1]
    if len(ends) % 3 == 0:
        return (low[0] + high[0]) / 2
    return low[0] - low[1] * (high[0] - low[0]) / (high[1] - low[1])


def _round_trip(shore: Shore, apart_m: Floats) -> Floats:
    apart_m = np.mod(apart_m, shore.length_m)
    return np.minimum(apart_m, shore.length_m - apart_m)
