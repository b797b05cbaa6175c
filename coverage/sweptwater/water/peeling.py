"""The search for the shortest straight cuts that part a water by given areas.

Of any set of cuts that do not cross, one is outermost: it has a single part behind it.
So one part after the other is taken off by one chord, trying for each of those left,
and the few best partial plans are kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.water.chords import likely_chords, part_exactly, shifted
from sweptwater.water.dykes import Dykes, dyke_nets
from sweptwater.water.faces import NODE_M, area_with_vertices, distinct_nodes
from sweptwater.water.shore import Shore, trace_shore

MOST_TRIED = 5
"""Chords tried for each part still to come, and partial plans kept."""

MOST_SHIFTED = 4 * MOST_TRIED
"""So many chords of all plans are shifted for the shortest before the best are kept."""

JUNCTION_SAVES = 0.1
"""A cut may end on another where that makes all cuts shorter by more than this."""


@dataclass(frozen=True)
class Parts:
    """Parts of a water and the cuts between them."""

    areas: tuple[Area, ...]
    cuts: tuple[LineString, ...]


@dataclass(frozen=True)
class _Plan:
    """Some sectors cut off, the rest still in one piece.

    New cuts may end on earlier ones and on the shut parts of the edge, not only on the
    bank, if `on_cuts`; and on islands as if they were shore, if `by_isles`.
    """

    rest: Polygon
    undone: tuple[int, ...]
    done: tuple[tuple[int, Polygon], ...] = ()
    cuts: tuple[LineString, ...] = ()
    shut: tuple[LineString, ...] = ()
    on_cuts: bool = False
    by_isles: bool = True

    @property
    def cut_m(self) -> float:
        """The length of the cuts."""
        return float(shapely.length(self.cuts).sum()) if self.cuts else 0.0


@dataclass(frozen=True)
class _Offer:
    """A chord that may take one more share off a plan, not yet made exact.

    Its start, end and wet length are in metres.
    """

    plan: _Plan
    shore: Shore
    number: int
    area_m2: float
    chord: Floats

    @property
    def cut_m(self) -> float:
        """The length of the plan's cuts with it."""
        return self.plan.cut_m + float(self.chord[2])


def part_by_areas(
    water: Polygon,
    area_m2: Floats,
    shut: Sequence[LineString] = (),
    *,
    junctions: bool = True,
) -> Parts | None:
    """Return the parts with the shortest cuts that the search meets.

    Cuts go from bank to bank, by way of islands perhaps. One may end on another only
    where there is no other way, or where that saves more than `JUNCTION_SAVES`: in open
    water a boat does not see where that is. None if no straight cuts were found.

    Parameters
    ----------
    water
        One connected water, in metres.
    area_m2
        The areas of the parts, in their order, together all the water.
    shut
        Parts of the water's edge where cuts may end only as they may on each other.
    junctions
        Whether a cut may end on another to save length.
    """
    start = _Plan(water, tuple(range(len(area_m2))), shut=tuple(shut))
    best = _search(start, area_m2, np.inf)
    if best is None or (junctions and (len(area_m2) > 2 or shut)):
        # Where islands are many there is a way by them: not tried again.
        open_start = replace(start, on_cuts=True, by_isles=best is None)
        most_m = np.inf if best is None else (1 - JUNCTION_SAVES) * best.cut_m
        best = _search(open_start, area_m2, most_m) or best
    return None if best is None else _finish(best)


def _search(start: _Plan, area_m2: Floats, most_m: float) -> _Plan | None:
    """Return the best plan met with all shares but one taken off, if below `most_m`."""
    plans = [start]
    for left in range(len(area_m2) - 1, 0, -1):
        # Of the last cuts the shortest will do, should it hold.
        width = MOST_TRIED if left > 1 else 1
        offers: list[_Offer] = []
        for plan in sorted(plans, key=lambda plan: plan.cut_m):
            best_m = sorted(offer.cut_m for offer in offers)[: 4 * width]
            if len(best_m) == 4 * width and plan.cut_m > best_m[-1]:
                break
            offers += _offers(plan, area_m2)
        best = [offer for offer in _best_shifted(offers) if offer.cut_m < most_m]
        plans = _take(best, width)
    return min(plans, key=lambda plan: plan.cut_m, default=None)


def _offers(plan: _Plan, area_m2: Floats) -> Iterator[_Offer]:
    """Yield chords that may take one more share off."""
    shut = MultiLineString([] if plan.on_cuts else [*plan.cuts, *plan.shut])
    # Equal shares are alike, and of the last two either may be taken off.
    candidates = plan.undone if len(plan.undone) > 2 else plan.undone[:1]
    numbers = {area_m2[number]: number for number in reversed(candidates)}.values()
    nets = dyke_nets(plan.rest, shut) if plan.by_isles else [Dykes(plan.rest)]
    for net in nets:
        shore = trace_shore(net.water, shut, net.strips)
        for number in numbers:
            wanted_m2 = float(area_m2[number])
            for chord in likely_chords(shore, wanted_m2, MOST_TRIED):
                yield _Offer(plan, shore, number, wanted_m2, chord)


def _best_shifted(offers: Sequence[_Offer]) -> list[_Offer]:
    """Return the likeliest offers with their chords shifted, the shortest first."""
    likely = sorted(offers, key=lambda offer: offer.cut_m)[:MOST_SHIFTED]
    alike: dict[tuple[int, int], list[_Offer]] = {}
    for offer in likely:
        alike.setdefault((id(offer.shore), offer.number), []).append(offer)
    best: list[_Offer] = []
    for group in alike.values():
        chords = np.array([offer.chord for offer in group])
        chords = shifted(group[0].shore, group[0].area_m2, chords)
        best += map(_with_chord, group, chords)
    return sorted(best, key=lambda offer: offer.cut_m)


def _with_chord(offer: _Offer, chord: Floats) -> _Offer:
    return replace(offer, chord=chord)


def _take(offers: Sequence[_Offer], width: int) -> list[_Plan]:
    """Return the plans of the best offers that hold, no two of them alike."""
    plans: list[_Plan] = []
    for offer in offers:
        start_m, end_m, _ = map(float, offer.chord)
        parting = part_exactly(offer.shore, start_m, end_m, offer.area_m2)
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
    """Return the sectors in the order of the shares."""
    (last,) = plan.undone
    done = sorted([*plan.done, (last, plan.rest)], key=lambda pair: pair[0])
    sectors = tuple(sector for _, sector in done)
    # Where a cut or a dyke ends on a cut, the sector beyond needs that vertex as well.
    xy = shapely.get_coordinates([*sectors, *plan.cuts])
    on_cut = shapely.dwithin(shapely.points(xy), MultiLineString(plan.cuts), NODE_M)
    nodes = distinct_nodes(xy[on_cut])
    areas = tuple(area_with_vertices(sector, nodes) for sector in sectors)
    return Parts(areas, plan.cuts)
