"""Dividing water by what it weighs: by shore, by hours, by anything but its area.

The division by area is the engine. Its shares are adjusted until the weights are in
proportion; it jumps from one set of cuts to another on the way, so the best one met is
kept, and its cuts are slid along the shore for the rest.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment
from shapely import LineString, MultiLineString, Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.errors import SectorError
from sweptwater.water.chords import Parting, likely_chords, part_exactly, shifted
from sweptwater.water.dykes import dyke_nets
from sweptwater.water.faces import STRIP_M, keep_areas
from sweptwater.water.recutting import move_end, overlap_m2
from sweptwater.water.sectors import (
    SMALL,
    Division,
    check_shares,
    check_water,
    cuts_in_order,
    divide_by_area,
)
from sweptwater.water.shore import trace_shore

NEAR = 0.02
"""Weights within this of what was asked, as a share of it, are as asked."""

GOOD = 0.004
"""And within this nothing more is tried."""

MOST_DIVISIONS = 4
MOST_SLIDES = 5
MOST_PARTED = 7
MOST_CHORDS = 20

LIKE = 0.8
"""Water taken off must share so much with what was there before."""
SWEEPS = 2

Weigh = Callable[[Area], float]


@dataclass(frozen=True)
class Weighed:
    """A division, and the weight of each of its sectors."""

    division: Division
    weights: tuple[float, ...]

    def off(self, shares: Floats) -> Floats:
        """Return by how much each weight is off its share, as a part of that."""
        total = sum(self.weights)
        if not 0 < total < np.inf:
            return np.full(len(shares), np.inf)
        return np.array(self.weights) / total / (shares / shares.sum()) - 1


def divide_by_weight(
    fishable: Area,
    shares: Sequence[float],
    weigh: Weigh,
    *,
    junctions: bool = True,
) -> Weighed:
    """Divide the water so that the sectors' weights are in given proportions.

    By short straight cuts, as `divide_by_area` does. Where the water does not allow the
    proportions within `NEAR`, it comes as near as was found: compare the weights.

    Parameters
    ----------
    fishable
        The water, valid, in metres.
    shares
        Of the sectors, in any unit.
    weigh
        What some water weighs: never less than a part of it, at least 0.
    junctions
        Whether a cut may end on another to save length.

    Raises
    ------
    SectorError
        As `divide_by_area` does; or if the water weighs nothing.

    Examples
    --------
    A pool whose eastern half weighs three times as much:

    >>> pool, east = shapely.box(0, 0, 400, 100), shapely.box(200, 0, 400, 100)
    >>> found = divide_by_weight(
    ...     pool, [1, 1], lambda part: part.area + 2 * part.intersection(east).area
    ... )
    >>> [round(sector.area, -2) for sector in found.division.sectors]
    [26700.0, 13300.0]
    """
    check_water(fishable)
    wanted = check_shares(shares)
    if not weigh(fishable) > 0:
        raise SectorError(
            "there is nothing to share out that way on this water: divide it by area"
        )
    tried = _tried(fishable, wanted, weigh, junctions=junctions)
    first = next(tried)
    best = first
    for found in chain([first], tried):
        slid = found
        for _ in range(SWEEPS):
            best = min(best, slid, key=lambda one: _worst(one, wanted))
            if _worst(best, wanted) <= GOOD:
                break
            slid = _slide(fishable, slid, wanted, weigh)
        best = min(best, slid, key=lambda one: _worst(one, wanted))
        if _worst(best, wanted) <= NEAR / 2:
            break
    return _ordered(best, wanted)


def _worst(found: Weighed, wanted: Floats) -> float:
    return float(np.abs(found.off(wanted)).max())


def _tried(
    fishable: Area, wanted: Floats, weigh: Weigh, *, junctions: bool
) -> Iterator[Weighed]:
    """Yield divisions by areas that come nearer to the weights."""
    areas = wanted / wanted.sum()
    before: Weighed | None = None
    for _ in range(MOST_DIVISIONS if len(wanted) > 1 else 1):
        try:
            division = divide_by_area(fishable, areas.tolist(), junctions=junctions)
        except SectorError:
            if before is None:
                raise
            return
        if before is not None:
            division = _matched(before.division, division, wanted)
        found = Weighed(division, tuple(map(weigh, division.sectors)))
        yield found
        off = found.off(wanted)
        if np.abs(off).max() <= GOOD:
            return
        # What is too heavy gets less; by no more than half at once.
        areas = shapely.area(list(division.sectors)) / np.clip(1 + off, 0.5, 2.0)
        areas = np.maximum(areas / areas.sum(), SMALL)
        before = found


def _matched(old: Division, new: Division, wanted: Floats) -> Division:
    """Return a division whose sectors stand in the order of those they overlap."""
    shared_m2 = overlap_m2(old.sectors, new.sectors)
    shared_m2[wanted[:, None] != wanted[None]] = -shared_m2.sum() - 1
    order = linear_sum_assignment(shared_m2, maximize=True)[1]
    return Division(tuple(new.sectors[i] for i in order), new.cuts)


def _ordered(found: Weighed, wanted: Floats) -> Weighed:
    """Return the sectors with those of equal shares sorted from west to east."""
    order = list(range(len(wanted)))
    sectors = found.division.sectors
    for share in np.unique(wanted):
        places = np.flatnonzero(wanted == share).tolist()
        west = sorted(places, key=lambda n: sectors[n].centroid.x)
        for place, number in zip(places, west, strict=True):
            order[place] = number
    moved = tuple(sectors[n] for n in order)
    return Weighed(
        Division(moved, cuts_in_order(moved, found.division.cuts)),
        tuple(found.weights[n] for n in order),
    )


def _slide(fishable: Area, found: Weighed, wanted: Floats, weigh: Weigh) -> Weighed:
    """Return a division with one sector after the other brought to its weight.

    A sector with one neighbour left is brought to it by the longest cut between them,
    and then left alone.
    """
    division = found.division
    undone = set(range(len(wanted)))
    while len(undone) > 1:
        beside = [_beside(division.sectors, cut) & undone for cut in division.cuts]
        near = {
            n: {m for pair in beside if n in pair and len(pair) == 2 for m in pair}
            - {n}
            for n in undone
        }
        number = min(undone, key=lambda n: (len(near[n]) or 99, n))
        if not near[number]:
            break
        total = sum(map(weigh, division.sectors))
        aim = total * wanted[number] / wanted.sum()
        ends = [i for i, pair in enumerate(beside) if number in pair and len(pair) == 2]
        (other,) = near[number] if len(near[number]) == 1 else (None,)
        if other is not None:
            division = _reparted(division, (number, other), aim, weigh)
        for cut in sorted(ends, key=lambda i: -_length(division, i)):
            if abs(weigh(division.sectors[number]) - aim) <= NEAR / 2 * aim:
                break
            if cut < len(division.cuts):
                done = _slid(fishable, division, cut, number, aim, weigh)
                division = done or division
        undone.remove(number)
    return Weighed(division, tuple(map(weigh, division.sectors)))


def _length(division: Division, cut: int) -> float:
    return division.cuts[cut].length if cut < len(division.cuts) else 0.0


def _reparted(
    division: Division, pair: tuple[int, int], aim: float, weigh: Weigh
) -> Division:
    """Return the division with two neighbours parted anew, the first to weigh its aim.

    The area that it takes for that is searched for between the two that are nearest.
    """
    one, other = (division.sectors[number] for number in pair)
    both = keep_areas(shapely.coverage_union_all([one, other]))
    if not isinstance(both, Polygon):
        return division
    kept = [cut for cut in division.cuts if _beside(division.sectors, cut) != set(pair)]
    best, best_off = division, abs(weigh(one) - aim)
    low, high = (0.0, -aim), (1.0, weigh(both) - aim)
    share, off = one.area / both.area, weigh(one) - aim
    for _ in range(MOST_PARTED):
        low, high = ((share, off), high) if off < 0 else (low, (share, off))
        if best_off <= GOOD / 4 * aim or high[0] - low[0] < 1e-4:
            break
        part = -low[1] / (high[1] - low[1])
        share = low[0] + float(np.clip(part, 0.1, 0.9)) * (high[0] - low[0])
        halves = _taken_off(both, share * both.area, one, kept)
        if halves is None:
            break
        off = weigh(halves.side) - aim
        if abs(off) < best_off:
            sectors = list(division.sectors)
            sectors[pair[0]], sectors[pair[1]] = halves.side, halves.rest
            best = Division(tuple(sectors), (*kept, *halves.cuts))
            best_off = abs(off)
    return best


def _beside(sectors: Sequence[Area], cut: LineString) -> set[int]:
    middle = cut.interpolate(0.5, normalized=True)
    near = np.flatnonzero(shapely.distance(list(sectors), middle) < STRIP_M)
    return set(near.tolist())


def _taken_off(
    both: Polygon, area_m2: float, like: Area, kept: Sequence[LineString]
) -> Parting | None:
    """Return some area taken off a water by the shortest chord, where `like` lies."""
    shut = MultiLineString(list(kept))
    found: list[Parting] = []
    for net in dyke_nets(both, shut):
        shore = trace_shore(net.water, shut, net.strips)
        chords = shifted(shore, area_m2, likely_chords(shore, area_m2, MOST_CHORDS))
        for start_m, end_m, _ in chords[np.argsort(chords[:, 2])].tolist():
            parting = part_exactly(shore, start_m, end_m, area_m2)
            if parting is None:
                continue
            shared_m2 = parting.side.intersection(like).area
            if shared_m2 > LIKE * min(area_m2, like.area):
                found.append(parting)
                break
    return min(found, key=lambda p: sum(c.length for c in p.cuts), default=None)


def _slid(
    fishable: Area,
    division: Division,
    cut: int,
    number: int,
    aim: float,
    weigh: Weigh,
) -> Division | None:
    """Return the division with an end of a cut slid so that a sector weighs its aim.

    None if neither end can go where it would have to.
    """
    best, best_off = None, abs(weigh(division.sectors[number]) - aim)
    line = division.cuts[cut]
    sector = division.sectors[number]
    density = max(weigh(sector) / sector.area, 1e-12)
    far_m = 2 * best_off / density / max(line.length, 1.0)
    for ends in ((0, 1), (0,), (1,)):
        for sign in (1.0, -1.0):
            low_m, low_off = 0.0, weigh(sector) - aim
            step_m = sign * far_m
            for _ in range(MOST_SLIDES):
                moved = _moved(fishable, division, cut, ends, step_m)
                if moved is None:
                    step_m = (low_m + step_m) / 2
                    continue
                off = weigh(moved.sectors[number]) - aim
                if abs(off) < best_off:
                    best, best_off = moved, abs(off)
                if best_off <= GOOD / 4 * aim or off == low_off:
                    break
                slope = (off - low_off) / (step_m - low_m)
                if low_m == 0.0 and abs(off) > abs(low_off) and slope * low_off > 0:
                    break  # the wrong way
                new_m = step_m - off / slope
                if new_m * sign < 0:
                    break
                low_m, low_off, step_m = step_m, off, new_m
            if best is not None and best_off <= GOOD * aim:
                return best
    return best


def _moved(
    fishable: Area,
    division: Division,
    cut: int,
    ends: tuple[int, ...],
    by_m: float,
) -> Division | None:
    """Return the division with a cut's end moved along its shore, if that goes.

    Both ends go the same way on the map, so opposite ways along the shore.
    """
    rings = [
        LineString(ring)
        for part in shapely.get_parts(fishable)
        for ring in (part.exterior, *part.interiors)
    ]
    for end in ends:
        tip = shapely.Point(division.cuts[cut].coords[-end])
        ring = min(rings, key=tip.distance)
        along_m = ring.project(tip) + (-by_m if end else by_m)
        to = ring.interpolate(along_m % ring.length)
        try:
            division = move_end(fishable, division, cut + 1, end, (to.x, to.y))
        except SectorError:
            return None
        if cut >= len(division.cuts):
            return None
    return division
