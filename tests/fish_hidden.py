"""Fish hidden in a water by a rule, and what rods meet of them: the truth of a study.

A shoal is a disc in one layer; so many fish lie on each square metre of it, and each
shows to a fly that is worked close by in its layer. Besides, a few fish are everywhere.
How many shoals there are, how wide and how good is made up (common practice, no
source): a boat that drifts through one with both rods in its layer meets it about every
other time.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias, get_args

import numpy as np
import shapely

from plan_made import SETTINGS
from sweptwater.arrays import Bools, Floats, Ints
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import bearing_vector
from sweptwater.practice.search import SearchRules
from sweptwater.search.width import search_rate_m2_s
from waters_searched import LAYERS, Bed, Searched, deepest_layer

Rule: TypeAlias = Literal["banks", "depth", "anywhere", "wind"]
RULES: tuple[Rule, ...] = get_args(Rule)

A_KM2, FEWEST, MOST = 6.0, 12, 30
"""So many shoals on a square kilometre, within these bounds."""

RADII_M = (30.0, 60.0)
GOOD, GOOD_SD = 8.0, 0.5
"""Offers a rod-hour inside: the median, and the scatter of its logarithm."""

IN_LAYER = (0.3, 0.3, 0.3, 0.1)
"""Where the water is deep enough, so many of the shoals are in each layer."""

EVERYWHERE = 0.05
"""Offers a rod-hour outside all shoals, at any depth."""

BANK_M = (15.0, 80.0)
BAND_FROM_M, BAND_M = (2.0, 7.0), 1.5
"""The band of water depth in which shoals of one water lie: from where, how wide."""

NIGHT_M = (100.0, 400.0)
"""So far a shoal goes with the wind overnight, where fish go with it."""

EARLY, LATE, BETTER, WORSE = 11.0, 16.0, 1.1, 0.9
"""Before and after these hours fish take better than between them."""

USUAL_DRIFT_M_S = 0.3
USUAL_M2_H = 3600 * search_rate_m2_s(
    1,
    cast_m=SETTINGS.spread.cast_m,
    drift_m_s=USUAL_DRIFT_M_S,
    rules=SearchRules(),
)
"""What one rod on top searches in an hour: by this offers an hour become fish."""


@dataclass(frozen=True, eq=False)
class Shoals:
    """The shoals of a water: (n,) each, metres, and (n, 2) their middles.

    Parameters
    ----------
    rate
        Offers a rod-hour to a rod on top that drifts inside at the usual pace; in
        deeper layers there are as many fish, and rods meet fewer since lines must sink.
    """

    places: Floats
    radius_m: Floats
    layer: Ints
    rate: Floats

    def __len__(self) -> int:
        return len(self.places)

    @property
    def fish_m2(self) -> Floats:
        """How many fish lie on a square metre of each."""
        return self.rate / USUAL_M2_H


@dataclass(frozen=True, eq=False)
class Casts:
    """What flies were worked over: small bits of water, (n,) each.

    Parameters
    ----------
    places
        Where, in metres, (n, 2).
    area_m2
        How much was searched there.
    layer
        In which layer, a fly below the bed having been just above it.
    hour
        The hour of the day.
    cast
        The number of the cast that each is a part of.
    """

    places: Floats
    area_m2: Floats
    layer: Ints
    hour: Floats
    cast: Ints


def hide(rng: np.random.Generator, water: Searched, rule: Rule) -> Shoals:
    """Return shoals hidden in a water by a rule."""
    bed = water.bed
    count = int(np.clip(round(A_KM2 * water.fishable.area / 1e6), FEWEST, MOST))
    may = np.flatnonzero(_may_hold(rng, bed, rule))
    chosen = rng.choice(may, count, replace=False)
    return Shoals(
        bed.places[chosen],
        rng.uniform(*RADII_M, count),
        _layers(rng, deepest_layer(bed.depths_m[chosen])),
        GOOD * np.exp(GOOD_SD * rng.standard_normal(count)),
    )


def _may_hold(rng: np.random.Generator, bed: Bed, rule: Rule) -> Bools:
    if rule == "banks":
        return (bed.off_shore_m >= BANK_M[0]) & (bed.off_shore_m <= BANK_M[1])
    if rule == "depth":
        from_m = rng.uniform(*BAND_FROM_M)
        return (bed.depths_m >= from_m) & (bed.depths_m <= from_m + BAND_M)
    return np.ones(len(bed.places), dtype=bool)


def _layers(rng: np.random.Generator, deepest: Ints) -> Ints:
    weight = np.where(np.arange(LAYERS) <= deepest[:, None], np.array(IN_LAYER), 0.0)
    edges = np.cumsum(weight, axis=1) / weight.sum(axis=1, keepdims=True)
    return (rng.random(len(deepest))[:, None] > edges).sum(axis=1)


def overnight(rng: np.random.Generator, shoals: Shoals, bed: Bed, wind: Wind) -> Shoals:
    """Return where shoals that go with the wind are after a night of it."""
    far_m = rng.uniform(*NIGHT_M, len(shoals))
    off_deg = rng.normal(0, 20, len(shoals))
    ahead = np.array([bearing_vector(wind.downwind_deg + off) for off in off_deg])
    gone = shoals.places + far_m[:, None] * ahead
    places = np.array([_afloat(bed, place) for place in gone])
    deepest = deepest_layer(bed.depth_at(places))
    return replace(shoals, places=places, layer=np.minimum(shoals.layer, deepest))


def _afloat(bed: Bed, place: Floats) -> Floats:
    """Return the place on the water nearest to one."""
    away = np.hypot(*(bed.places - place).T)
    return bed.places[int(away.argmin())]


def takes(hour: Floats) -> Floats:
    """Return how many times as well fish take at some hours, (n,)."""
    return np.where((hour < EARLY) | (hour >= LATE), BETTER, WORSE)


def expected(casts: Casts, shoals: Shoals) -> Floats:
    """Return the offers to be expected of each bit from each shoal, (n, shoals + 1).

    The last column is of fish outside all shoals.
    """
    step = casts.places[:, None, :] - shoals.places[None, :, :]
    inside = (step**2).sum(axis=2) <= shoals.radius_m**2
    inside &= casts.layer[:, None] == shoals.layer[None, :]
    fish_m2 = np.column_stack(
        [inside * shoals.fish_m2, np.full(len(inside), EVERYWHERE / USUAL_M2_H)]
    )
    return fish_m2 * (casts.area_m2 * takes(casts.hour))[:, None]


def met(rng: np.random.Generator, mean: Floats) -> tuple[Ints, Ints]:
    """Return the offers that came: the bit of each, and its shoal; -1 of none.

    Parameters
    ----------
    mean
        What was to be expected: see `expected`.
    """
    bit, shoal = np.nonzero(mean)
    count = rng.poisson(mean[bit, shoal])
    bit, shoal = np.repeat(bit, count), np.repeat(shoal, count)
    return bit, np.where(shoal == mean.shape[1] - 1, -1, shoal)


def banks_with_fish(water: Searched, shoals: Shoals) -> Mapping[int, bool]:
    """Return for each bank's number whether the middle of a shoal is in its water."""
    points = shapely.points(shoals.places)
    return {
        bank.number: bool(shapely.intersects(bank.water, points).any())
        for bank in water.banks
    }


def winds(rng: np.random.Generator, days: int) -> Sequence[Wind]:
    """Return a wind a day, each some way round from the one before."""
    from_deg = rng.uniform(0, 360)
    found = []
    for _ in range(days):
        found.append(Wind(float(from_deg % 360), float(rng.uniform(3.5, 8.0))))
        from_deg += rng.normal(0, 50)
    return found
