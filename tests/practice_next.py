"""Practising as the program plans: where most may be met that nobody has met.

Each morning what was fished and told makes a belief of where fish may be, square by
square and layer by layer (`sweptwater.search`). Each drift that a pair could make in
its sector is valued by it (`plan.valued`), finds that one boat met once are tried again
for half an hour, and the hours are filled with drifts as for any plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import cast

import numpy as np
from shapely import Point

from match_fished import places_found
from plan_made import SETTINGS
from practice_ways import ByPlan, Stop, all_drifts
from practising import SEARCH, Afloat, Fished
from sweptwater.arrays import Floats
from sweptwater.offers.clusters import clusters_of
from sweptwater.offers.flies import layer_names
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.offers.wind import Wind
from sweptwater.plan.setups import WayToFish, way_to_fish
from sweptwater.plan.valued import Again, valued
from sweptwater.practice.search import SearchRules
from sweptwater.search.ageing import Night, share_left
from sweptwater.search.belief import Belief, prior
from sweptwater.search.passes import Pass, pass_over, searched
from sweptwater.search.squares import Squares, lay_squares
from sweptwater.search.teaching import lessons, taught
from sweptwater.water.depth import DepthSurface
from sweptwater.water.shapes import polygonal
from waters_searched import LAYERS, TACKLE, Searched

DAY_S = 86400.0


class ByNext(ByPlan):
    """The plan of each day where the next hours do most good.

    Parameters
    ----------
    rules
        What drifts are taken to prove.
    """

    def __init__(
        self,
        water: Searched,
        rng: np.random.Generator,
        *,
        whole: bool = False,
        rules: SearchRules = SEARCH,
    ) -> None:
        super().__init__(water, rng, whole=whole)
        self.rules = rules
        self._winds: list[Wind] = []
        self._beliefs: dict[int, Belief] = {}

    def planned(
        self, afloat: Afloat, pair: int, so_far: Sequence[Fished]
    ) -> list[Stop]:
        """Return the plan of a pair's day."""
        if afloat.day not in self._beliefs:
            self._winds.append(afloat.wind)
            self._beliefs[afloat.day] = belief_of(
                self.water, so_far, self._winds, self.rules
            )
        found = valued(
            all_drifts(self.water, afloat.wind, self.sector(pair, afloat.day)),
            self._beliefs[afloat.day],
            ways_to_fish(afloat.speed_m_s, self.rules),
            together=self.rules.together,
            again=self._again(afloat.day, pair, so_far),
        )
        layers = found.layers.tolist()
        return [
            Stop(found.possible.drifts[index], tuple(layers[index]), way)
            for index, way in self.ordered(afloat, found.possible)
        ]

    def _again(self, day: int, pair: int, so_far: Sequence[Fished]) -> list[Again]:
        """Return the finds of its sector that a pair tries again: met but once."""
        afloat_s = self.water.settings.day.afloat_s
        most = int(self.rules.confirm_share * afloat_s / self.rules.confirm_s)
        sector = self.sector_water(pair, day)
        once = [
            place
            for place in places_found(self.water, so_far, day)
            if place.times == 1 and sector.intersects(Point(place.at))
        ]
        return [
            Again(
                polygonal(Point(place.at).buffer(BANDWIDTH_M) & self.water.fishable),
                max(set(place.layers), key=place.layers.count),
                self.rules.confirm_s,
            )
            for place in once[:most]
        ]


def ways_to_fish(speed_m_s: float, rules: SearchRules) -> tuple[WayToFish, ...]:
    """Return how each layer is fished."""
    spread = SETTINGS.spread
    return tuple(
        way_to_fish(layer, {"out": speed_m_s}, TACKLE, rules, spread)
        for layer in range(LAYERS)
    )


@lru_cache(maxsize=2)
def squares_of(water: Searched) -> Squares:
    """Return a water as squares, its bed known from soundings."""
    return lay_squares(
        water.fishable,
        water.sectors,
        water.banks,
        layers=layer_names(TACKLE),
        tops_m=(0.0, *TACKLE.layers_m),
        depths=cast(DepthSurface, _Sounded(water)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Sounded:
    """The bed as soundings everywhere would tell it."""

    water: Searched

    def depth_m(self, easting: Floats, northing: Floats) -> Floats:
        """Return how deep it is."""
        places = np.column_stack([easting, northing])
        return np.maximum(self.water.bed.depth_at(places), 0.05)


def belief_of(
    water: Searched,
    fished: Sequence[Fished],
    winds: Sequence[Wind],
    rules: SearchRules = SEARCH,
) -> Belief:
    """Return what is to be believed on the morning of a day.

    Parameters
    ----------
    fished
        All drifts of the days before.
    winds
        Of those days, and of the one to come.
    """
    squares, day = squares_of(water), len(winds) - 1
    passed = pass_over([p for p in passes_of(fished) if not p.swept.is_empty], squares)
    ends_s = np.array([one.end_s for one in passed.passes])
    left = share_left(ends_s, day * DAY_S, nights(winds), rules)
    passes = passed.passes
    clusters = clusters_of(
        [one.offers for one in passes],
        [one.hours for one in passes],
        [one.layer for one in passes],
        drifts=[one.drift for one in passes],
    )
    found = lessons(passed, squares, rules, factor=clusters.factor)
    return Belief(
        squares,
        prior(squares, rules, taught=taught(squares, found)),
        searched(passed, squares, left, rules),
    )


def nights(winds: Sequence[Wind]) -> list[Night]:
    """Return the nights between days of some winds; boats leave at 0 of each day."""
    found = []
    for number, (one, other) in enumerate(pairwise(winds)):
        swing = abs((other.from_deg - one.from_deg + 180) % 360 - 180)
        found.append(Night((number + 0.625) * DAY_S, swing_deg=swing))
    return found


def passes_of(fished: Sequence[Fished]) -> list[Pass]:
    """Return each rod on each drift as the boats told of it."""
    found = []
    for number, one in enumerate(fished):
        for rod, layer in enumerate(one.layers):
            mine = one.rod == rod
            found.append(
                Pass(
                    day=one.date,
                    pair=one.pair,
                    drift=number,
                    end_s=one.day * DAY_S + float(one.drift.time_s[-1]),
                    swept=one.swept,
                    searched_m2=float(one.casts.area_m2[mine].sum()),
                    layer=layer,
                    sky="broken",
                    told=True,
                    offers=int((one.offer_rod == rod).sum()),
                    hours=one.hours,
                )
            )
    return found
