"""Offers brought together to finds: what was met near each other."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import shapely
from scipy.cluster.hierarchy import fcluster, linkage
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.offers.places import OfferPlace, offer_places
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.offers.rates import rate_of
from sweptwater.offers.stints import Stint
from sweptwater.search.finds import Find, Pricked
from sweptwater.water.shapes import polygonal

SAME_WATER = 0.3
"""Two drifts met one thing where so much of the smaller's ground is the other's."""

BROAD = 4.0
"""A find is no wider than so many times what is near: along a mile of which each drift
met one, there is more than one place to go to (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """What is known of the stints in which finds are looked for.

    Parameters
    ----------
    stints
        All that were fished as in a match.
    swept
        The water that each one's boat swept.
    layers, skies, lines
        In words, what each was fished in.
    minute_stint, minute_easting, minute_northing, minute_hours
        The minutes of all stints: whose, where and how many rod-hours.
    """

    stints: Sequence[Stint]
    swept: Sequence[Area]
    layers: Sequence[str]
    skies: Sequence[str]
    lines: Sequence[str]
    minute_stint: Ints
    minute_easting: Floats
    minute_northing: Floats
    minute_hours: Floats


def finds_in(
    told: Told,
    *,
    mean: float | None,
    widen: float = 1.0,
    place: Callable[[float, float], tuple[int | None, str | None]],
    left: Callable[[Floats], Floats] = np.ones_like,
    near_m: float = BANDWIDTH_M,
) -> tuple[tuple[Find, Area], ...]:
    """Return the finds, the one that is worth most first, with the ground of each.

    Offers with a place of their own have the water about it for their ground; those of
    which only the drift is known have all that it swept. Two belong together where
    their middles are near each other, or their ground is mostly the same; but what
    hangs together over a long way is parted, so that no middles of a find are further
    apart than BROAD times `near_m`. A find's
    rod-hours are all that was told on its ground, blanks too, so that a drift without
    an offer makes its rate smaller; those of a rod whose offers may be anywhere on its
    drift are all there. Finds are worth the low end of their rate's range, times what
    is left of what was learned: one offer in five minutes does not come first, and one
    of which nobody knows the hours comes last.

    Parameters
    ----------
    mean, widen
        Of the practice: see `rates.rate_of`.
    place
        From a place to its bank's number and its sector.
    left
        From times to what is left of what was learned then.
    near_m
        How near is near.
    """
    places = [
        one
        for one in offer_places([one for one in told.stints if one.told])
        if one.counts.offers
    ]
    if not places:
        return ()
    number = {id(stint): at for at, stint in enumerate(told.stints)}
    whose = np.array([number[id(one.stint)] for one in places])
    grounds = np.array(
        [
            shapely.Point(one.easting, one.northing).buffer(near_m)
            if one.exact
            else told.swept[at]
            for one, at in zip(places, whose.tolist(), strict=True)
        ],
        dtype=object,
    )
    xy = np.array([[one.easting, one.northing] for one in places])
    offers = np.array([one.counts.offers for one in places])
    group = _groups(xy, grounds, near_m)
    loose = np.array([not one.exact for one in places])
    minutes = np.array([told.minute_easting, told.minute_northing]).T
    tree = shapely.STRtree(np.asarray(shapely.points(minutes)))
    is_told = np.array([bool(one.told) for one in told.stints])[told.minute_stint]
    found = []
    for one in range(int(group.max()) + 1):
        mine = np.flatnonzero(group == one)
        ground = shapely.union_all(grounds[mine])
        there = np.isin(told.minute_stint, whose[mine[loose[mine]]])
        there[tree.query(ground, predicate="intersects")] = True
        hours = float(told.minute_hours[is_told & there].sum())
        east, north = np.average(xy[mine], axis=0, weights=offers[mine])
        # A middle of several may lie ashore; the nearest of them does not.
        nearest = mine[int(np.argmin(np.hypot(*(xy[mine] - (east, north)).T)))]
        east, north = xy[nearest].tolist()
        count = int(offers[mine].sum())
        rate = rate_of(count, hours, mean=mean, widen=widen)
        stints = [told.stints[at] for at in whose[mine].tolist()]
        last_s = max(float(stint.way.time_s[-1]) for stint in stints)
        bank, sector = place(east, north)
        pricks = _pricks([places[at] for at in mine.tolist()])
        find = Find(
            number=0,
            easting=east,
            northing=north,
            bank=bank,
            sector=sector,
            drifts=tuple(sorted({(s.day, s.pair, s.drift) for s in stints})),
            offers=count,
            pricked=sum(one.count for one in pricks),
            rod_hours=hours,
            rate=rate.rate if hours > 0 else None,
            low=rate.low if hours > 0 else None,
            high=rate.high if hours > 0 else None,
            first_s=min(float(stint.way.time_s[0]) for stint in stints),
            last_s=last_s,
            by_layer=_counted(told.layers, whose[mine], offers[mine]),
            by_line=_counted(told.lines, whose[mine], offers[mine]),
            by_sky=_counted(told.skies, whose[mine], offers[mine]),
            left=float(left(np.array([last_s]))[0]),
            pricks=pricks,
        )
        found.append((find, polygonal(ground)))
    found.sort(key=lambda one: _worth(one[0]))
    return tuple(
        (replace(find, number=at), ground) for at, (find, ground) in enumerate(found, 1)
    )


def _worth(find: Find) -> tuple[float, int, float]:
    """Return the order of a find: what is worth more comes first."""
    return -(find.low or 0.0) * find.left, -find.offers, find.first_s


def _pricks(places: Sequence[OfferPlace]) -> tuple[Pricked, ...]:
    """Return the fish that were pricked, by the ends of the boats' drifts."""
    sums: Counter[tuple[float, date]] = Counter()
    for one in places:
        _, pull, lost, boated = one.counts.of_kind
        end_s = float(one.stint.way.time_s[-1])
        sums[end_s, one.stint.day] += pull + lost + boated
    return tuple(
        Pricked(day, end_s, count)
        for (end_s, day), count in sorted(sums.items())
        if count
    )


def _groups(xy: Floats, grounds: np.ndarray, near_m: float) -> Ints:
    tree = shapely.STRtree(grounds)
    one, other = tree.query(grounds, predicate="intersects")
    one, other = one[one < other], other[one < other]
    areas = shapely.area(grounds)
    shared = shapely.area(shapely.intersection(grounds[one], grounds[other]))
    least = np.maximum(np.minimum(areas[one], areas[other]), 1e-9)
    same = shared >= SAME_WATER * least
    points = np.asarray(shapely.points(xy))
    pairs = shapely.STRtree(points).query(points, "dwithin", distance=near_m)
    rows = np.concatenate([one[same], pairs[0]])
    columns = np.concatenate([other[same], pairs[1]])
    links = coo_array((np.ones(len(rows)), (rows, columns)), shape=(len(xy), len(xy)))
    group = np.asarray(connected_components(links, directed=False)[1], np.int64)
    return _parted(xy, group, BROAD * near_m)


def _parted(xy: Floats, group: Ints, most_m: float) -> Ints:
    """Return groups of places none of which is wider than so much."""
    parted, next_ = np.zeros(len(xy), int), 0
    for one in range(int(group.max()) + 1):
        mine = np.flatnonzero(group == one)
        part = np.ones(len(mine), int)
        if np.hypot(*np.ptp(xy[mine], axis=0)) > most_m:
            part = fcluster(linkage(xy[mine], "complete"), most_m, "distance")
        parted[mine] = next_ + part - 1
        next_ += int(part.max())
    return parted


def _counted(words: Sequence[str], whose: Ints, offers: Ints) -> dict[str, int]:
    """Return the offers by words, the most first."""
    sums: Counter[str] = Counter()
    for at, count in zip(whose.tolist(), offers.tolist(), strict=True):
        sums[words[at]] += count
    return dict(sums.most_common())
