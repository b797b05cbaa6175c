"""A practice by each way on the same water, fish and winds, and the match after it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.stats import t as student

from fish_hidden import RULES, Rule, Shoals, hide, overnight, winds
from match_fished import Fared, Place, fish_match, places_found, starts
from practice_next import ByNext
from practice_ways import (
    ByPlan,
    FavouriteBanks,
    Laddering,
    Practising,
    RandomDrifts,
    favourite_banks,
    practise,
)
from practising import Fished, offers_made, shoals_found, shoals_to_find
from starts_chosen import starts_by_program
from sweptwater.arrays import Floats
from sweptwater.offers.wind import Wind
from waters_searched import Searched, searched_water

DAYS = 3
LEVEL = 0.95

Make: TypeAlias = Callable[[Searched, np.random.Generator, Sequence[int]], Practising]

WAYS: Mapping[str, Make] = {
    "favourite banks": lambda water, rng, banks: FavouriteBanks(water, rng, banks),
    "laddering": lambda water, rng, _: Laddering(water, rng),
    "random drifts": lambda water, rng, _: RandomDrifts(water, rng),
    "unfished water": lambda water, rng, _: ByPlan(water, rng),
    "this program": lambda water, rng, _: ByNext(water, rng),
}
OURS, OWN_STARTS = "this program", "the same, its own starts"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a practice came to.

    Parameters
    ----------
    found, of
        How many shoals showed at least one fish, of how many.
    to_find
        How many were to be expected to, by where the boats drifted.
    offers, hours
        Offers in practice, and boat-hours of fishing.
    blanks, match_offers
        Of six rods in the match, how many boated nothing; and all their offers.
    """

    found: int
    of: int
    to_find: float
    offers: int
    hours: float
    blanks: int
    match_offers: int


@dataclass(frozen=True, slots=True, eq=False)
class World:
    """A water with its fish and winds, day by day, the match's last."""

    water: Searched
    shoals: tuple[Shoals, ...]
    winds: tuple[Wind, ...]
    favourites: tuple[int, ...]


def world(name: str, rule: Rule, seed: int) -> World:
    """Return a water with fish hidden in it; its winds are the same for all rules."""
    water = searched_water(name)
    blow = winds(np.random.default_rng(seed), DAYS + 1)
    rng = np.random.default_rng([seed, RULES.index(rule)])
    shoals = [hide(rng, water, rule)]
    for wind in blow[:-1]:
        last = shoals[-1]
        moves = rule == "wind"
        shoals.append(overnight(rng, last, water.bed, wind) if moves else last)
    favourites = favourite_banks(rng, water, shoals[0])
    return World(water, tuple(shoals), tuple(blow), favourites)


def compare(
    one: World, seed: int, ways: Mapping[str, Make] = WAYS
) -> dict[str, Outcome]:
    """Return what each way of practising comes to in one world."""
    found = {}
    for number, (name, make) in enumerate(ways.items(), 1):
        way = make(one.water, np.random.default_rng([seed, number]), one.favourites)
        fished = practise(way, one.shoals[:DAYS], one.winds[:DAYS], sweep=False)
        # All matches are fished with the same luck as far as they go alike: where
        # nothing is known, all start at the same banks.
        rng = np.random.default_rng(seed)
        chosen = starts(rng, one.water, places_found(one.water, fished, DAYS))
        found[name] = _outcome(one, fished, fared(one, rng, chosen))
        if name == OURS:
            own = starts_by_program(one.water, fished, one.winds)
            rng = np.random.default_rng(seed)
            found[OWN_STARTS] = _outcome(one, fished, fared(one, rng, own))
    return found


def fared(
    one: World, rng: np.random.Generator, chosen: Sequence[tuple[Place, Place]]
) -> Fared:
    """Return how six rods fare in the match that start at some places."""
    return fish_match(rng, one.water, one.winds[DAYS], one.shoals[DAYS], chosen)


def _outcome(one: World, fished: Sequence[Fished], fared: Fared) -> Outcome:
    return Outcome(
        found=len(shoals_found(fished)),
        of=len(one.shoals[0]),
        to_find=shoals_to_find(fished),
        offers=offers_made(fished),
        hours=sum(drift.hours for drift in fished),
        blanks=fared.blanks,
        match_offers=fared.offers,
    )


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean with the range that holds the true one 95 times in 100."""

    mean: float
    off: float

    @property
    def low(self) -> float:
        """The range's lower end."""
        return self.mean - self.off

    @property
    def high(self) -> float:
        """The range's upper end."""
        return self.mean + self.off


def mean_of(values: Floats | Sequence[float]) -> Mean:
    """Return a mean with its range, by Student's t over the values.

    Examples
    --------
    >>> one = mean_of([1.0, 2.0, 3.0])
    >>> one.mean, round(one.off, 3)
    (2.0, 2.484)
    """
    values = np.asarray(values, dtype=np.float64)
    count = len(values)
    if count < 2:
        return Mean(float(values.mean()), float("inf"))
    spread = float(values.std(ddof=1)) / count**0.5
    return Mean(
        float(values.mean()), float(student.ppf((1 + LEVEL) / 2, count - 1)) * spread
    )
