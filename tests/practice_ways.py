"""Ways of practising: how three pairs choose their drifts, day by day.

Favourite banks: six banks are the team's favourites, one with a shoal before it being
twice as likely to be among them as any other; four of them are fished each day, by all
pairs in turn, over and over. Laddering: each pair works along the banks of its sector,
one after the other round the shore, and goes on from there the next day. Random drifts:
from anywhere in the sector down the wind. And by plan: the plan of the day in unfished
water, or, from what was fished and told, in water where most may be met that was not.
"""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString, Point

from fish_hidden import Shoals, banks_with_fish
from practising import (
    RODS,
    Afloat,
    Boat,
    Fished,
    Proposal,
    Propose,
    spend_day,
    usual_layers,
)
from sweptwater.arrays import Area
from sweptwater.offers.wind import Wind
from sweptwater.plan.candidates import Candidates, possible_drifts
from sweptwater.plan.day import plan_day, union
from sweptwater.plan.ground import bearing_vector
from sweptwater.plan.lay import Lay
from sweptwater.plan.legs import times_between_s
from sweptwater.plan.order import Choice, best_order
from sweptwater.plan.planned import PlannedDrift
from sweptwater.water.shapes import polygonal
from waters_searched import Searched, deepest_layer

PAIRS = ("Heron", "Grebe", "Teal")
FAVOURITES, A_DAY, TWICE = 6, 4, 2.0
ON_BANK_S = 75 * 60.0
"""So long a pair stays on a favourite bank before it goes on to the next."""

DRIFTS_S = (600.0, 2400.0)
"""How long drifts at random are meant to last."""

MOST, ROUNDS = 120, 100
"""From so many possible drifts, those worth most for their time, a day is planned, with
so many rounds of search: with more it takes longer and is no better by 1 %."""


class Practising(ABC):
    """A way of practising, which may remember from day to day.

    Parameters
    ----------
    water
        The water.
    rng
        For what is left to chance; each way has its own.
    """

    looks_back = False
    """Whether it asks what water was swept on the days before."""

    def __init__(self, water: Searched, rng: np.random.Generator) -> None:
        self.water, self.rng = water, rng

    def sector(self, pair: int, day: int) -> str:
        """Return the name of a pair's sector: pairs change round from day to day."""
        return list(self.water.sectors)[(pair + day) % len(PAIRS)]

    def sector_water(self, pair: int, day: int) -> Area:
        """Return a pair's water."""
        return self.water.sectors[self.sector(pair, day)]

    @abstractmethod
    def day(self, afloat: Afloat, pair: int, so_far: Sequence[Fished]) -> Propose:
        """Return how a pair chooses its drifts on a day, knowing the days before."""


def practise(
    way: Practising,
    shoals: Sequence[Shoals],
    winds: Sequence[Wind],
    *,
    sweep: bool = True,
) -> tuple[Fished, ...]:
    """Return all drifts of a practice, with shoals and wind of each day.

    Parameters
    ----------
    sweep
        Whether the water that was swept is wanted of ways that do not need it.
    """
    fished: list[Fished] = []
    for day, (there, wind) in enumerate(zip(shoals, winds, strict=True)):
        afloat = Afloat(way.water, wind, day, there)
        before = tuple(fished)
        for number, pair in enumerate(PAIRS):
            propose = way.day(afloat, number, before)
            fished += spend_day(
                way.rng, afloat, pair, propose, sweep=sweep or way.looks_back
            ).fished
    return tuple(fished)


class FavouriteBanks(Practising):
    """A few banks, over and over."""

    def __init__(
        self, water: Searched, rng: np.random.Generator, favourites: Sequence[int]
    ) -> None:
        super().__init__(water, rng)
        self.favourites = tuple(favourites)
        self._today: tuple[int, tuple[int, ...]] = (-1, ())

    def day(self, afloat: Afloat, pair: int, so_far: Sequence[Fished]) -> Propose:
        """Return drifts over the day's banks, a while on each."""
        if self._today[0] != afloat.day:
            banks = self.rng.permutation(self.favourites)[:A_DAY]
            self._today = (afloat.day, tuple(int(bank) for bank in banks))
        turn = np.roll(self._today[1], -pair).tolist()
        lay = self.water.lay(afloat.wind)
        bands = self.water.waters.bands
        laid = [lay.bank(bank, bands[bank], "auto") for bank in turn]
        laid = [drifts for drifts in laid if drifts]

        def propose(boat: Boat) -> Proposal | None:
            if not laid:
                return None
            drifts = laid[int(boat.now_s // ON_BANK_S) % len(laid)]
            drift = drifts[int(self.rng.integers(len(drifts)))]
            return Proposal(drift, usual_layers(self.rng))

        return propose


def favourite_banks(
    rng: np.random.Generator, water: Searched, shoals: Shoals
) -> tuple[int, ...]:
    """Return the team's favourites: good banks are likelier to be known as such."""
    good = banks_with_fish(water, shoals)
    banks = [bank.number for bank in water.banks if not bank.band.is_empty]
    weight = np.array([TWICE if good[bank] else 1.0 for bank in banks])
    chosen = rng.choice(banks, FAVOURITES, replace=False, p=weight / weight.sum())
    return tuple(int(bank) for bank in chosen)


class Laddering(Practising):
    """Along the banks of each sector, one after the other."""

    def __init__(self, water: Searched, rng: np.random.Generator) -> None:
        super().__init__(water, rng)
        self._next = [0] * len(PAIRS)

    def day(self, afloat: Afloat, pair: int, so_far: Sequence[Fished]) -> Propose:
        """Return the drifts of one bank after the other, from where the last ended."""
        place = (pair + afloat.day) % len(PAIRS)
        sector = self.sector_water(pair, afloat.day)
        lay, bands = self.water.lay(afloat.wind), self.water.waters.bands
        banks = [n for n, band in bands.items() if _mine(band, sector).area > 200]
        waiting: list[PlannedDrift] = []

        def propose(boat: Boat) -> Proposal | None:
            tried = 0
            while not waiting and tried < len(banks):
                bank = banks[self._next[place] % len(banks)]
                laid = lay.bank(bank, _mine(bands[bank], sector), "auto")
                if laid and _away_m(laid[-1], boat) < _away_m(laid[0], boat):
                    laid.reverse()
                waiting.extend(laid)
                self._next[place] += 1
                tried += 1
            if not waiting:
                return None
            return Proposal(waiting.pop(0), usual_layers(self.rng))

        return propose


def _mine(band: Area, sector: Area) -> Area:
    return polygonal(shapely.intersection(band, sector))


def _away_m(drift: PlannedDrift, boat: Boat) -> float:
    return float(np.hypot(*(drift.places[0] - boat.here)))


class RandomDrifts(Practising):
    """From anywhere in the sector down the wind."""

    def day(self, afloat: Afloat, pair: int, so_far: Sequence[Fished]) -> Propose:
        """Return drifts from places at random."""
        lay = self.water.lay(afloat.wind)
        ground = _mine(lay.ground, self.sector_water(pair, afloat.day))
        shapely.prepare(ground)

        def propose(boat: Boat) -> Proposal | None:
            drift = random_drift(self.rng, lay, ground)
            return Proposal(drift, usual_layers(self.rng))

        return propose


def random_drift(rng: np.random.Generator, lay: Lay, ground: Area) -> PlannedDrift:
    """Return a drift from a place at random as far as there is room, or it is meant."""
    west, south, east, north = ground.bounds
    ahead = bearing_vector(lay.course_deg)
    while True:
        start = np.array([rng.uniform(west, east), rng.uniform(south, north)])
        if not shapely.contains_xy(ground, *start):
            continue
        far_m = rng.uniform(*DRIFTS_S) * lay.speed_m_s
        line = LineString([start, start + far_m * ahead])
        cut = shapely.get_parts(shapely.intersection(line, ground))
        first = min(cut, key=lambda part: part.distance(Point(start)))
        if first.length >= lay.settings.plan.shortest_m:
            return PlannedDrift(np.array([start, start + first.length * ahead]), "open")


@lru_cache(maxsize=12)
def all_drifts(water: Searched, wind: Wind, sector: str) -> Candidates:
    """Return all drifts that can be made in a sector, over fished water or not."""
    mine, waters = water.sectors[sector], water.waters
    return possible_drifts(water.lay(wind), mine, waters.bands, waters.bank_water, mine)


@dataclass(frozen=True, slots=True, eq=False)
class Stop:
    """A drift of a planned day, with the layers of its rods and the way to it."""

    drift: PlannedDrift
    layers: tuple[int, ...]
    way: LineString | None = None


class ByPlan(Practising):
    """The plan of each day in water that nobody has fished, lines in turn.

    Parameters
    ----------
    whole
        Whether days are planned as the program does it: ways then keep off what is
        still to be fished. Else the drifts are chosen and ordered by the same search
        with the shortest ways, which takes half the time.
    """

    looks_back = True

    def __init__(
        self, water: Searched, rng: np.random.Generator, *, whole: bool = False
    ) -> None:
        super().__init__(water, rng)
        self.whole = whole
        self._turn = 0

    def day(self, afloat: Afloat, pair: int, so_far: Sequence[Fished]) -> Propose:
        """Return the drifts of the day's plan, one after the other."""
        waiting = self.planned(afloat, pair, so_far)

        def propose(boat: Boat) -> Proposal | None:
            if not waiting:
                return None
            stop = waiting.pop(0)
            return Proposal(stop.drift, stop.layers, stop.way)

        return propose

    def planned(
        self, afloat: Afloat, pair: int, so_far: Sequence[Fished]
    ) -> list[Stop]:
        """Return the plan of a pair's day."""
        swept = union([one.swept for one in so_far])
        unfished = polygonal(shapely.difference(self.water.fishable, swept))
        possible = self.possible(afloat, pair, unfished)
        return [
            Stop(possible.drifts[index], self._lines(possible.drifts[index]), way)
            for index, way in self.ordered(afloat, possible)
        ]

    def possible(self, afloat: Afloat, pair: int, unfished: Area) -> Candidates:
        """Return the drifts that a pair could make."""
        if afloat.day == 0:
            return all_drifts(self.water, afloat.wind, self.sector(pair, 0))
        waters = self.water.waters
        return possible_drifts(
            self.water.lay(afloat.wind),
            self.sector_water(pair, afloat.day),
            waters.bands,
            waters.bank_water,
            unfished,
        )

    def ordered(
        self, afloat: Afloat, possible: Candidates
    ) -> list[tuple[int, LineString | None]]:
        """Return the best of possible drifts in the hours there are, in order.

        By their places among them, each with the way to it, if that is planned too.
        """
        waters, day = self.water.waters, self.water.settings.day
        service_s = possible.lengths_m / afloat.speed_m_s
        each_s = service_s + waters.settings.boat.reset_s
        best = np.argsort(-possible.worth / each_s, kind="stable")[:MOST]
        some = possible.of(best.tolist())
        if self.whole:
            plan = plan_day(
                some,
                waters.ways,
                waters.jetty,
                afloat.wind,
                afloat.speed_m_s,
                waters.settings,
            )
            place = {id(one): index for index, one in enumerate(possible.drifts)}
            return [(place[id(s.drift)], s.way.line) for s in plan.stops]
        ends, starts = (
            np.vstack([waters.jetty[None], at]) for at in (some.ends, some.starts)
        )
        ways_m = waters.ways.lengths_m(ends, starts)
        ways_m[~np.isfinite(ways_m)] = 1e7
        time_s = times_between_s(
            ways_m, ends, starts, afloat.wind, waters.settings.boat
        )
        order = best_order(
            Choice(time_s, service_s[best], some.worth),
            day.afloat_s - day.lunch_s - day.spare_s,
            rounds=ROUNDS,
        )
        return [(int(best[index]), None) for index in order]

    def _lines(self, drift: PlannedDrift) -> tuple[int, ...]:
        """Return the next layers in turn, of those that there are under a drift."""
        deep_m = self.water.bed.depth_at(drift.places.mean(axis=0)[None])
        there = int(deepest_layer(deep_m)[0]) + 1
        layers = tuple((self._turn + rod) % there for rod in range(RODS))
        self._turn += RODS
        return layers
