"""The chance that rods go without an offer, together and each, by where they start.

A place's offers come at a rate that is not well known: a Gamma distribution, shape and
hours, as offers and rod-hours would give it. One event decides for all rods whether the
fish of a place are still there (`holds`); if not, the place is as good as any water,
the background. Given that and the rate, rods have their luck apart.

The chance that each of some rods goes without is then a product over places, since
places have nothing to do with each other: with the hours E that those rods spend at a
place, holds (b / (b + E))^a + (1 - holds) (the same of the background). By the chances
for all sets of rods the number that go without follows exactly, as by the formula of
inclusion and exclusion.

Sharing. The rods on a place share its fish: of n there, each has 1 / (1 + (n - 1) / 2)
of what one alone would have, so that two have two thirds each, and never more than two
rods' worth in all (common practice, no source). Those who come second find those who
started there. The background is not shared.

References
----------
The Gamma's mixture of Poisson counts, the negative binomial, and its chance of 0:
A. Gelman and others, Bayesian Data Analysis, 2.6 (from memory). At least m of n events:
W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, IV.5
(from memory).
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np

from sweptwater.arrays import Floats

SHARING = 0.5
"""Each further rod on a place costs each there so much of what one alone would have,
over it: see the module."""

MOST_RODS = 12


@dataclass(frozen=True, slots=True)
class StartPlace:
    """A place to start at: metres, rod-hours.

    Parameters
    ----------
    name, easting, northing
        What it is called, and where it is.
    bank, sector
        The number of the bank whose water that is, None in open water; and the name of
        the sector, None outside all.
    find
        The number of the find there; None for water that nobody has tried enough.
    shape, hours
        Of the Gamma distribution of its offers a rod-hour, while it holds.
    holds
        The chance that its fish are still there: one event for all rods on it.
    fishes
        What part of the time there is spent fishing it.
    layer, line
        What met most there, or should; empty if nobody knows.
    why
        Why to start there, or not to, a few words each.
    """

    name: str
    easting: float
    northing: float
    bank: int | None
    sector: str | None
    find: int | None
    shape: float
    hours: float
    holds: float = 1.0
    fishes: float = 1.0
    layer: str = ""
    line: str = ""
    why: tuple[str, ...] = ()

    @property
    def bold(self) -> bool:
        """Whether less is known of it, and more may be there."""
        return self.find is None

    @property
    def stretch(self) -> Hashable:
        """What counts as one bank: a place in open water is one of its own."""
        here = (self.name, self.easting, self.northing)
        return here if self.bank is None else self.bank


@dataclass(frozen=True, slots=True, eq=False)
class MatchTimes:
    """How long rods are where, and what other water is like: hours.

    Parameters
    ----------
    match_h, stay_h
        How long the match is; and how long a rod stays without an offer.
    out_h, home_h
        To each place from where the match begins, and from it to where it ends, with
        what is kept in hand, (n,).
    runs_h
        From each place to each other, (n, n).
    background
        Shape and hours of the Gamma distribution of other water's offers a rod-hour.
    """

    match_h: float
    stay_h: float
    out_h: Floats
    home_h: Floats
    runs_h: Floats
    background: tuple[float, float]

    def first_h(self, first: int, second: int | None) -> float:
        """Return how long a rod without an offer is on its first place."""
        left_h = self.match_h - self.out_h[first] - self.home_h[first]
        stay_h = left_h if second is None else min(self.stay_h, left_h)
        return max(0.0, float(stay_h))

    def second_h(self, first: int, second: int) -> float:
        """Return how long it then is on its second: until it must leave for home."""
        gone_h = self.out_h[first] + self.first_h(first, second)
        there_h = gone_h + self.runs_h[first, second]
        return max(0.0, float(self.match_h - there_h - self.home_h[second]))


@dataclass(frozen=True, slots=True)
class Choice:
    """Where the rods of one boat start, and where they go on to.

    Parameters
    ----------
    first, second
        By their places in a list; no second where nothing is left to go on to.
    rods
        How many of the team's rods are in the boat; they go on together.
    """

    first: int
    second: int | None
    rods: int = 1


@dataclass(frozen=True, slots=True)
class Risk:
    """How likely rods are to go without an offer.

    Parameters
    ----------
    without
        The chance for each rod, boat by boat.
    counts
        The chance that none goes without, that one does, and so on: (rods + 1,).
    """

    without: tuple[float, ...]
    counts: tuple[float, ...]

    @property
    def expected(self) -> float:
        """How many go without, on average."""
        return sum(self.without)

    def at_least(self, number: int) -> float:
        """Return the chance that so many or more go without."""
        return min(1.0, max(0.0, sum(self.counts[number:])))


def shared(rods: int) -> float:
    """Return what each of some rods on a place has of what one alone would have.

    Examples
    --------
    >>> [round(shared(rods), 3) for rods in (1, 2, 3, 6)]
    [1.0, 0.667, 0.5, 0.286]
    """
    return 1 / (1 + SHARING * (rods - 1))


def blank_chance(shape: float, hours: float, spent_h: float) -> float:
    """Return the chance of no offer in some rod-hours at a rate that is in doubt.

    References
    ----------
    The negative binomial's chance of 0: the Gamma's mean of exp(-rate x spent).

    Examples
    --------
    Known as by 9 offers in 1.5 rod-hours, another half hour; and a rate that is sure:

    >>> round(blank_chance(9, 1.5, 0.5), 4), round(blank_chance(6e9, 1e9, 0.5), 4)
    (0.0751, 0.0498)
    """
    return float((hours / (hours + spent_h)) ** shape)


def place_blank(
    place: StartPlace, background: tuple[float, float], spent_h: float, there_h: float
) -> float:
    """Return the chance that some rods have no offer at a place.

    Parameters
    ----------
    spent_h, there_h
        Their rod-hours of fishing there together: with what is shared, if it holds; and
        as they are, if it does not.
    """
    held = blank_chance(place.shape, place.hours, spent_h)
    gone = blank_chance(*background, there_h)
    return place.holds * held + (1 - place.holds) * gone


def risk_of(
    places: Sequence[StartPlace], times: MatchTimes, choices: Sequence[Choice]
) -> Risk:
    """Return how likely the rods of some boats are to go without an offer, exactly.

    Two rods of one boat are reckoned as if it went on when both had none.

    Raises
    ------
    ValueError
        If there are more rods than MOST_RODS.

    Examples
    --------
    Two rods on one place that may have lost its fish fail together, more often than
    two that are apart:

    >>> here = StartPlace("A", 0, 0, 1, None, 1, 20, 10, holds=0.5)
    >>> there = StartPlace("B", 0, 0, 2, None, 2, 20, 10, holds=0.5)
    >>> nothing = np.zeros(2)
    >>> times = MatchTimes(8, 1, nothing, nothing, np.zeros((2, 2)), (1, 1e9))
    >>> alike = risk_of([here, there], times, [Choice(0, None), Choice(0, None)])
    >>> apart = risk_of([here, there], times, [Choice(0, None), Choice(1, None)])
    >>> round(alike.at_least(2), 3), round(apart.at_least(2), 3)
    (0.5, 0.25)
    """
    rods = [choice for choice in choices for _ in range(choice.rods)]
    if len(rods) > MOST_RODS:
        raise ValueError(f"{len(rods)} rods are more than {MOST_RODS}")
    spent, there = _hours(places, times, choices, rods)

    def none_of(some: Sequence[int]) -> float:
        """Return the chance that each of some rods goes without."""
        chosen = list(some)
        chances = [
            place_blank(place, times.background, *hours)
            for place, *hours in zip(
                places,
                spent[chosen].sum(axis=0),
                there[chosen].sum(axis=0),
                strict=True,
            )
            if hours[1] > 0
        ]
        return float(np.prod(chances))

    number = len(rods)
    sums = [
        sum(none_of(some) for some in combinations(range(number), size))
        for size in range(number + 1)
    ]
    counts = [
        sum(
            (-1) ** (size - exactly) * comb(size, exactly) * sums[size]
            for size in range(exactly, number + 1)
        )
        for exactly in range(number + 1)
    ]
    without = tuple(none_of([rod]) for rod in range(number))
    return Risk(without, tuple(max(0.0, chance) for chance in counts))


def _hours(
    places: Sequence[StartPlace],
    times: MatchTimes,
    choices: Sequence[Choice],
    rods: Sequence[Choice],
) -> tuple[Floats, Floats]:
    """Return each rod's hours of fishing at each place, shared and as they are."""
    all_places = range(len(places))
    starting = [sum(c.rods for c in choices if c.first == p) for p in all_places]
    coming = [sum(c.rods for c in choices if c.second == p) for p in all_places]
    there = np.zeros((len(rods), len(places)))
    spent = np.zeros_like(there)
    for rod, choice in enumerate(rods):
        first, second = choice.first, choice.second
        hours = times.first_h(first, second) * places[first].fishes
        there[rod, first] = hours
        spent[rod, first] = hours * shared(starting[first])
        if second is not None:
            hours = times.second_h(first, second) * places[second].fishes
            there[rod, second] = hours
            spent[rod, second] = hours * shared(starting[second] + coming[second])
    return spent, there
