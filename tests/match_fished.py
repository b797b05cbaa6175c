"""A match on the day after: six rods start where a practice found fish.

All ways of practising choose their starts by one rule, so that what was found tells
them apart: places where offers came, by their rate (a low one that three in four lie
above, what is older counting less), two rods on one bank at the most, and a second
choice on another bank for who is without an offer for so long. Where too little was
found the rest start at banks drawn at random, the same for all.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.special import gammaincinv
from shapely import LineString, Point

from fish_hidden import Shoals
from practising import (
    SEARCH,
    Afloat,
    Boat,
    Fished,
    Proposal,
    Propose,
    offers_made,
    spend_day,
    usual_layers,
)
from sweptwater.arrays import Floats
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import bearing_vector
from sweptwater.plan.lay import Lay
from sweptwater.plan.planned import PlannedDrift
from sweptwater.practice.match import MatchRules
from waters_searched import Searched

RODS = 6
BOATED = 0.4
"""So many of the offers of a match end in the boat."""

MATCH = MatchRules()
HALF_M = 150.0
"""A rod drifts through its place from so far above it to so far below."""

ASIDE_M = 15.0
LOW = 0.25
START_OFFERS = 0.5
DAY_S = 86400.0


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A place to start at.

    Parameters
    ----------
    at
        Where, (2,), in metres.
    bank
        Its bank's number; in open water a name of its own.
    layers
        In which the offers came there, one entry an offer; empty where nothing is
        known.
    worth
        By which places are put in order.
    times
        By how many boats, each day counted for itself, it was met.
    last_s
        When it was last met, in seconds since the boats left on the first day.
    """

    at: Floats
    bank: str
    layers: tuple[int, ...]
    worth: float = 0.0
    times: int = 1
    last_s: float = 0.0


def places_found(water: Searched, fished: Sequence[Fished], day: int) -> list[Place]:
    """Return where offers came, the best first, as the captain knows it."""
    told = [
        (one, at, one.layers[rod])
        for one in fished
        for at, rod in zip(one.offer_places, one.offer_rod, strict=True)
    ]
    if not told:
        return []
    places = np.array([at for _, at, _ in told])
    hours = sum(one.hours * len(one.layers) for one in fished)
    mean = len(told) / hours
    left = np.ones(len(told), dtype=bool)
    found = []
    while left.any():
        away = np.hypot(*(places[:, None] - places[None, left]).transpose(2, 0, 1))
        near = (away <= BANDWIDTH_M / 2).sum(axis=1) * left
        middle = places[int(near.argmax())]
        mine = left & (np.hypot(*(places - middle).T) <= BANDWIDTH_M)
        left &= ~mine
        at = places[mine].mean(axis=0)
        last_s = max(
            told[i][0].day * DAY_S + float(told[i][0].drift.time_s[-1])
            for i in np.flatnonzero(mine)
        )
        age_s = day * DAY_S - last_s
        shape = START_OFFERS + int(mine.sum())
        rate_h = START_OFFERS / (3 * mean) + hours_near(fished, at)
        worth = float(gammaincinv(shape, LOW)) / rate_h
        found.append(
            Place(
                at,
                bank_of(water, at),
                tuple(told[i][2] for i in np.flatnonzero(mine)),
                worth * 0.5 ** (age_s / SEARCH.half_life_s),
                len({(told[i][0].day, told[i][0].pair) for i in np.flatnonzero(mine)}),
                last_s,
            )
        )
    return sorted(found, key=lambda place: -place.worth)


def hours_near(fished: Sequence[Fished], at: Floats) -> float:
    """Return the rod-hours near a place."""
    total = 0.0
    for one in fished:
        near = np.hypot(*(one.casts.places - at).T) <= BANDWIDTH_M
        total += one.hours * len(one.layers) * float(near.mean()) if len(near) else 0.0
    return total


def bank_of(water: Searched, at: Floats) -> str:
    """Return whose water a place is in: a bank's, or a piece of the open."""
    point = Point(at)
    for bank in water.banks:
        if bank.water.intersects(point):
            return str(bank.number)
    return f"open {at[0] // 400:.0f} {at[1] // 400:.0f}"


def starts(
    rng: np.random.Generator, water: Searched, found: Sequence[Place]
) -> list[tuple[Place, Place]]:
    """Return the first and the second choice of each rod."""
    spare = rng.permutation([b.number for b in water.banks if not b.band.is_empty])
    bands = water.waters.bands
    unknown = [
        Place(
            shapely.get_coordinates(shapely.point_on_surface(bands[int(n)]))[0],
            str(n),
            (),
        )
        for n in spare
    ]
    order = [*found, *unknown]
    firsts = _dealt(order, [None] * RODS)
    seconds = _dealt(order, firsts)
    return list(zip(firsts, seconds, strict=True))


def _dealt(order: Sequence[Place], besides: Sequence[Place | None]) -> list[Place]:
    """Return the best place for each rod in turn, no bank having too many of them."""
    on_bank: dict[str, int] = {}
    dealt = []
    for other in besides:
        for place in order:
            full = on_bank.get(place.bank, 0) >= MATCH.most_on_bank
            if not full and (other is None or place.bank != other.bank):
                on_bank[place.bank] = on_bank.get(place.bank, 0) + 1
                dealt.append(place)
                break
    return dealt


@dataclass(frozen=True, slots=True)
class Fared:
    """How six rods fared: rods that boated nothing, offers, and fish boated."""

    blanks: int
    offers: int
    boated: int


def fish_match(
    rng: np.random.Generator,
    water: Searched,
    wind: Wind,
    shoals: Shoals,
    chosen: Sequence[tuple[Place, Place]],
) -> Fared:
    """Return how rods fared that start at their first choices."""
    afloat = Afloat(water, wind, 0, shoals)
    offers, boated = [], []
    for first, second in chosen:
        propose = _by_turns(rng, water.lay(wind), first, second)
        fished = spend_day(rng, afloat, "match", propose, sweep=False).fished
        offers.append(offers_made(fished))
        boated.append(int(rng.binomial(offers[-1], BOATED)))
    return Fared(sum(not n for n in boated), sum(offers), sum(boated))


def _by_turns(
    rng: np.random.Generator, lay: Lay, first: Place, second: Place
) -> Propose:
    places = (first, second)
    at, since_s = 0, 0.0

    def propose(boat: Boat) -> Proposal | None:
        nonlocal at, since_s
        if boat.fished and len(boat.fished[-1].offer_shoal):
            since_s = boat.now_s
        if boat.fished and boat.now_s - since_s >= MATCH.stay_s:
            at, since_s = 1 - at, boat.now_s
        for _ in places:
            place = places[at]
            aside_m = rng.normal(0, ASIDE_M, 2)
            drift = drift_through(lay, place.at + aside_m)
            if drift is not None:
                layers = place.layers or usual_layers(rng)
                layer = layers[int(rng.integers(len(layers)))]
                return Proposal(drift, (layer,))
            at, since_s = 1 - at, boat.now_s
        return None

    return propose


def drift_through(lay: Lay, at: Floats) -> PlannedDrift | None:
    """Return a drift through a place; None where there is no room near it."""
    ahead = bearing_vector(lay.course_deg)
    line = LineString([at - HALF_M * ahead, at + HALF_M * ahead])
    parts = shapely.get_parts(shapely.intersection(line, lay.ground))
    parts = parts[shapely.length(parts) >= lay.settings.plan.shortest_m]
    if not len(parts):
        return None
    nearest = min(parts, key=lambda part: part.distance(Point(at)))
    places = shapely.get_coordinates(nearest)
    order = np.argsort(places @ ahead)[[0, -1]]
    return PlannedDrift(places[order], "open")
