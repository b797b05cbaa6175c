"""The search for the shortest straight cuts that part a water by given areas.

Of any set of cuts that do not cross, one is outermost: it has a single part behind it.
So one part after the other is taken off by one chord, trying for each of those left,
and the few best partial plans are kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPoint, Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.water.chords import best_chords, part_exactly
from sweptwater.water.faces import (
    NODE_M,
    cut_faces,
    cuts_between,
    dissolve,
    dyke_choices,
    join_faces,
)
from sweptwater.water.shore import Shore, trace_shore

MOST_TRIED = 8
"""Chords tried for each part still to come, and partial plans kept."""

MOST_FINISHED = 6
"""So many plans are finished; which of their dykes are cuts shows only then."""

MOST_DYKED = 3
"""So many islands are tried as places where a cut may bend."""


@dataclass(frozen=True)
class Parts:
    """Parts of a water and the cuts between them."""

    areas: tuple[Area, ...]
    cuts: tuple[LineString, ...]


@dataclass(frozen=True)
class _Plan:
    """Some sectors cut off, the rest still in one piece.

    Dykes are hair-wide pieces left out so that islands belong to the shore and cuts
    can end on them; they go back in the end. New cuts may end on earlier ones, not
    only on the bank, if `on_cuts`.
    """

    rest: Polygon
    undone: tuple[int, ...]
    done: tuple[tuple[int, Polygon], ...] = ()
    cuts: tuple[LineString, ...] = ()
    dykes: tuple[Polygon, ...] = ()
    on_cuts: bool = False

    @property
    def cut_m(self) -> float:
        """The length of the cuts, and of the dykes, which may become some."""
        both = (*self.cuts, *(dyke.exterior for dyke in self.dykes))
        length_m = shapely.length(both)
        length_m[len(self.cuts) :] /= 2
        return float(length_m.sum())


@dataclass(frozen=True)
class _Offer:
    """A chord that may take one more share off a plan, not yet made exact."""

    plan: _Plan
    shore: Shore
    number: int
    area_m2: float
    ends_m: tuple[float, float]
    cut_m: float


def part_by_areas(water: Polygon, area_m2: Floats) -> Parts | None:
    """Return the parts with the shortest cuts that the search meets.

    Cuts go from bank to bank; only where that fails may one end on another. A cut may
    bend at an island. None if no straight cuts were found.

    Parameters
    ----------
    water
        One connected water, in metres.
    area_m2
        The areas of the parts, in their order, together all the water.
    """
    *some, all_dykes = [(), *dyke_choices(water, MOST_DYKED)]
    for choices, on_cuts in ((some or [()], False), ([*some, all_dykes], True)):
        plans = [
            _first_plan(water, len(area_m2), dykes, on_cuts=on_cuts)
            for dykes in choices
        ]
        for left in range(len(area_m2) - 1, 0, -1):
            offers = [offer for plan in plans for offer in _offers(plan, area_m2)]
            width = MOST_TRIED if left > 1 else MOST_FINISHED
            plans = _take(sorted(offers, key=lambda offer: offer.cut_m), width)
        if plans:
            finished = [_finish(plan) for plan in plans]
            return min(finished, key=lambda one: sum(cut.length for cut in one.cuts))
    return None


def _first_plan(
    water: Polygon, count: int, dykes: Sequence[Polygon], *, on_cuts: bool
) -> _Plan:
    undone = tuple(range(count))
    if not dykes:
        return _Plan(water, undone, on_cuts=on_cuts)
    faces = cut_faces(water, [shapely.union_all(dykes).boundary])
    largest = shapely.area(faces).argmax()
    dyke_faces = tuple(np.delete(faces, largest))
    return _Plan(faces[largest], undone, dykes=dyke_faces, on_cuts=on_cuts)


def _offers(plan: _Plan, area_m2: Floats) -> Iterator[_Offer]:
    """Yield chords that may take one more share off."""
    shut: list[LineString] = [dyke.exterior for dyke in plan.dykes]
    shut += [] if plan.on_cuts else plan.cuts
    shore = trace_shore(plan.rest, MultiLineString(shut))
    # Equal shares are alike, and of the last two either may be taken off.
    candidates = plan.undone if len(plan.undone) > 2 else plan.undone[:1]
    for number in {area_m2[number]: number for number in reversed(candidates)}.values():
        for start_m, end_m, wet_m in best_chords(shore, area_m2[number], MOST_TRIED):
            ends_m = (float(start_m), float(end_m))
            cut_m = plan.cut_m + float(wet_m)
            yield _Offer(plan, shore, number, float(area_m2[number]), ends_m, cut_m)


def _take(offers: Sequence[_Offer], width: int) -> list[_Plan]:
    """Return the plans of the best offers that hold, no two of them alike."""
    plans: list[_Plan] = []
    for offer in offers:
        parting = part_exactly(offer.shore, *offer.ends_m, offer.area_m2)
        if parting is None:
            continue
        plan = replace(
            offer.plan,
            rest=parting.rest,
            undone=tuple(n for n in offer.plan.undone if n != offer.number),
            done=(*offer.plan.done, (offer.number, parting.side)),
            cuts=(*offer.plan.cuts, *parting.cuts),
        )
        if not any(_alike(plan, other) for other in plans):
            plans.append(plan)
        if len(plans) == width:
            break
    return plans


def _alike(one: _Plan, two: _Plan) -> bool:
    """Return whether two plans are the same cuts, made in another order perhaps."""
    near_m = 1e-3 * np.sqrt(one.rest.area)
    return bool(
        abs(one.cut_m - two.cut_m) < near_m
        and one.rest.centroid.distance(two.rest.centroid) < near_m
        and abs(one.rest.area - two.rest.area) < 1e-3 * one.rest.area
    )


def _finish(plan: _Plan) -> Parts:
    """Return the sectors in the order of the shares, with the dykes put back."""
    (last,) = plan.undone
    done = sorted([*plan.done, (last, plan.rest)], key=lambda pair: pair[0])
    sectors = tuple(sector for _, sector in done)
    if plan.on_cuts:
        # Where a cut ends on another, the sector beyond needs that vertex as well.
        ends = MultiPoint(shapely.get_coordinates(plan.cuts))
        sectors = tuple(shapely.snap(sector, ends, NODE_M) for sector in sectors)
    if not plan.dykes:
        return Parts(sectors, plan.cuts)
    faces = np.array([*sectors, *plan.dykes], dtype=object)
    owners = np.array([*range(len(sectors)), *[-1] * len(plan.dykes)])
    owners = join_faces(faces, owners)
    cuts = cuts_between(faces, owners)
    return Parts(dissolve(faces, owners), cuts)
