"""Where a boat's hours do most good: which water, which layer, for how long."""

from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Bools, Floats
from sweptwater.search.allocate import allocate
from sweptwater.search.belief import Belief

ROUNDS = 8
"""Runs and hours settle within so many turns, or are near enough."""


@dataclass(frozen=True, slots=True)
class Spell:
    """Some hours on one patch of water, in one layer.

    Parameters
    ----------
    patch, layer
        Which, by their places in the squares.
    hours
        How long, what passes between drifts included.
    gain
        The chance that a fish, wherever it is, is met by it that was not before.
    now, after
        The chance that a fish there has been met, before and after.
    """

    patch: int
    layer: int
    hours: float
    gain: float
    now: float
    after: float


@dataclass(frozen=True, slots=True, eq=False)
class Shared:
    """How a boat's hours are shared out.

    Parameters
    ----------
    spells
        In the order in which they are come to.
    run_h
        Of the hours, for running there, from one to the next, and home.
    after
        The belief with all of that searched.
    """

    spells: tuple[Spell, ...]
    run_h: float
    after: Belief


def share_hours(
    belief: Belief,
    rates_m2_h: Floats,
    mine: Bools,
    runs_h: Floats,
    hours: float,
    *,
    least_h: float,
    also: Bools | None = None,
) -> Shared:
    """Return where some hours of one boat make it likeliest to meet fish not yet met.

    The optimum of `allocate` over all squares and layers; then what is too short to
    send a boat for is left out, the shortest first, and its hours go to the rest. The
    way round what is left is motored, and comes off the hours. A spell is dropped too
    where all gain by the motoring that it costs.

    Parameters
    ----------
    belief
        What is believed before.
    rates_m2_h
        How much a boat searches in an hour on each patch and layer, re-sets included,
        (patches, layers); 0 where it cannot.
    mine
        Which patches it may go to, (patches,).
    runs_h
        The hours to run between any two of the jetty, first, and the patches,
        (patches + 1, patches + 1); infinite where no water leads.
    hours
        From leaving the jetty to being back, without lunch and what is kept in hand.
    least_h
        No spell is shorter, unless there are no more hours.
    also
        Patches that the boat comes to anyhow, for something else, (patches,).
    """
    also = np.zeros(len(mine), bool) if also is None else also
    also = also & np.isfinite(runs_h[0, 1:])
    reached = np.isfinite(runs_h[0, 1:]) & mine
    # Far water costs the runs out and home: this only chooses, and is not counted.
    near = np.clip(1 - 2 * np.where(reached, runs_h[0, 1:], 0) / max(hours, 1e-9), 0, 1)
    good = (rates_m2_h > 0) & (reached & (near > 0))[:, None]
    chosen = _long_enough(belief, rates_m2_h * near[:, None], good, hours, least_h)
    for _ in range(ROUNDS):
        run_h, _ = way_round(_patches(chosen) | also, runs_h)
        left_h = max(hours - run_h, 0.0)
        kept = _long_enough(belief, rates_m2_h, chosen, left_h, least_h)
        if (kept == chosen).all():
            break
        chosen = kept
    chosen = _without_far(belief, rates_m2_h, chosen, runs_h, hours, also)
    run_h, order = way_round(_patches(chosen) | also, runs_h)
    return _shared(belief, rates_m2_h, chosen, (run_h, order), max(hours - run_h, 0.0))


def way_round(patches: Bools, runs_h: Floats) -> tuple[float, tuple[int, ...]]:
    """Return the hours to motor round some patches from the jetty, and their order.

    Each time to the nearest that is left, then home: near the shortest for so few.

    Examples
    --------
    >>> runs = np.abs(np.subtract.outer([0.0, 1, -2, 4], [0.0, 1, -2, 4]))
    >>> way_round(np.array([True, False, True]), runs)
    (8.0, (0, 2))
    """
    left = set((np.flatnonzero(patches) + 1).tolist())
    at, total, order = 0, 0.0, []
    while left:
        to = min(sorted(left), key=lambda one: float(runs_h[at, one]))
        total += float(runs_h[at, to])
        left.remove(to)
        order.append(to - 1)
        at = to
    return total + (float(runs_h[at, 0]) if order else 0.0), tuple(order)


def even_hours(belief: Belief, rates_m2_h: Floats, gain: float) -> float:
    """Return how many hours, spread evenly over all water and layers, gain as much.

    Infinite where no hours would.
    """
    squares = belief.squares
    each = rates_m2_h[squares.patch] / squares.area_m2
    area = squares.there.sum()
    weight = belief.unfound

    def gained(hours: float) -> float:
        return float((weight * -np.expm1(-each * hours / area)).sum())

    high = 1.0
    while gained(high) < gain:
        high *= 2
        if high > 1e7:
            return float("inf")
    low = 0.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if gained(middle) < gain else (low, middle)
    return high


def _hours(
    belief: Belief, rates_m2_h: Floats, chosen: Bools, hours: float
) -> tuple[Floats, float]:
    """Return the hours of each square and layer, and what they gain."""
    squares = belief.squares
    each = np.where(chosen, rates_m2_h, 0.0)[squares.patch] / squares.area_m2
    each = np.where(squares.there, each, 0.0)
    flat = np.flatnonzero((each > 0) & (belief.unfound > 0))
    spent = np.zeros(each.size)
    if not len(flat) or not hours > 0:
        return spent.reshape(each.shape), 0.0
    best = allocate(belief.unfound.ravel()[flat], each.ravel()[flat], hours)
    spent[flat] = best.hours
    return spent.reshape(each.shape), best.gain


def _by_patch(belief: Belief, spent: Floats) -> Floats:
    """Return sums over the squares of each patch, (patches, layers)."""
    squares = belief.squares
    sums = np.zeros((len(squares.patches), spent.shape[1]))
    np.add.at(sums, squares.patch, spent)
    return sums


def _patches(chosen: Bools) -> Bools:
    """Return the patches of some spells."""
    return np.asarray(chosen.any(axis=1))


def _long_enough(
    belief: Belief, rates_m2_h: Floats, chosen: Bools, hours: float, least_h: float
) -> Bools:
    """Return the spells that are left when the shortest are dropped, some at a time."""
    chosen = chosen.copy()
    while True:
        spent, _ = _hours(belief, rates_m2_h, chosen, hours)
        spells = _by_patch(belief, spent)
        used = spells > 0
        short = used & (spells < least_h)
        chosen &= used
        if not short.any() or used.sum() <= 1:
            return chosen
        # A few at a time: each that goes makes the others longer.
        count = max(1, int(short.sum()) // 4)
        places = np.flatnonzero(short.ravel())
        order = places[np.argsort(spells.ravel()[places], kind="stable")]
        drop = order[: min(count, int(used.sum()) - 1)]
        chosen.ravel()[drop] = False


def _without_far(
    belief: Belief,
    rates_m2_h: Floats,
    chosen: Bools,
    runs_h: Floats,
    hours: float,
    also: Bools,
) -> Bools:
    """Return the spells without those that cost more motoring than they are worth."""

    def gained(some: Bools) -> float:
        run_h, _ = way_round(_patches(some) | also, runs_h)
        return _hours(belief, rates_m2_h, some, hours - run_h)[1]

    best = gained(chosen)
    while chosen.sum() > 1:
        tried = []
        for place in np.flatnonzero(chosen.ravel()).tolist():
            some = chosen.copy()
            some.ravel()[place] = False
            tried.append((gained(some), -place, some))
        value, _, some = max(tried, key=lambda one: one[:2])
        if value <= best * (1 + 1e-9):
            break
        best, chosen = value, some
    return chosen


def _shared(
    belief: Belief,
    rates_m2_h: Floats,
    chosen: Bools,
    way: tuple[float, tuple[int, ...]],
    hours: float,
) -> Shared:
    squares = belief.squares
    spent, _ = _hours(belief, rates_m2_h, chosen, hours)
    more = spent * rates_m2_h[squares.patch] / squares.area_m2
    after = Belief(squares, belief.before, belief.factor + more)
    spells_h = _by_patch(belief, spent)
    gains = _by_patch(belief, belief.unfound - after.unfound)
    run_h, order = way
    spells = []
    for patch in order:
        here = squares.patch == patch
        spells += [
            Spell(
                patch=patch,
                layer=layer,
                hours=float(spells_h[patch, layer]),
                gain=float(gains[patch, layer]),
                now=belief.chance_in(here, layer),
                after=after.chance_in(here, layer),
            )
            for layer in np.flatnonzero(spells_h[patch] > 0).tolist()
        ]
    return Shared(tuple(spells), run_h, after)
