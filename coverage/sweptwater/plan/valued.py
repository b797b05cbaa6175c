"""Drifts valued by what they may meet: where fish that nobody has met are likeliest."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.plan.candidates import Candidates
from sweptwater.plan.setups import RODS, WayToFish
from sweptwater.search.belief import Belief

SCALE_M2 = 1e6
"""Worth is told as if all the fish there are lay in so much water."""

FIRST = 2.0
"""A drift that tries a find again is worth so many times its time as the best other."""


@dataclass(frozen=True, slots=True, eq=False)
class Valued:
    """Drifts with what they are worth, and the layers that its rods do best in.

    Parameters
    ----------
    possible
        The drifts.
    layers
        For each the layers of both rods, by their places from the top, (n, 2).
    """

    possible: Candidates
    layers: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Again:
    """A find to try again: its ground in metres, its layer, and for how long."""

    ground: Area
    layer: int
    seconds: float


def valued(
    possible: Candidates,
    belief: Belief,
    ways: Sequence[WayToFish],
    *,
    together: float,
    again: Sequence[Again] = (),
) -> Valued:
    """Return drifts with the chance that they meet what nobody has met for their worth.

    Each rod fishes one layer; of all pairs of layers a drift has the one that is
    likeliest to meet something. What it searches is spread over the squares that it
    sweeps, and a square of which much was searched brings less: the sum of
    unfound x (1 - exp(-C)). What two drifts share is halved.

    Parameters
    ----------
    possible
        The drifts that could be made.
    ways
        How each layer is fished.
    together
        So many fish lie together (see `search.passes.searched`).
    again
        Finds to try again: of the drifts over each, those that lie most over it, as
        many as its time holds, come before all others.
    """
    count = len(possible.drifts)
    if not count:
        return Valued(possible, np.zeros((0, RODS), dtype=int))
    squares = belief.squares
    tree = shapely.STRtree(squares.points)
    drift, square = tree.query(possible.swept, predicate="intersects")
    over = np.bincount(drift, minlength=count)[drift]
    drift_s = possible.lengths_m / ways[0].drift_m_s
    each = together * drift_s[drift] / (RODS * over * squares.area_m2)
    deepest = squares.there.sum(axis=1)[square] - 1
    unfound, rows = belief.unfound[square], np.arange(len(drift))
    pairs = list(combinations_with_replacement(range(len(ways)), RODS))
    gained = np.empty((len(pairs), count))
    for number, pair in enumerate(pairs):
        more = np.zeros(unfound.shape)
        for layer in pair:
            # Below the bed there is nothing more to search than on it.
            more[rows, np.minimum(layer, deepest)] += ways[layer].search_m2_s * each
        met = (unfound * -np.expm1(-more)).sum(axis=1)
        gained[number] = np.bincount(drift, met, minlength=count)
    best = gained.argmax(axis=0)
    alone = possible.new_m2 / np.maximum(shapely.area(possible.swept), 1e-9)
    worth = SCALE_M2 * gained.max(axis=0) * np.clip(alone, 0.05, 1)
    layers = np.array(pairs)[best]
    for find in again:
        _put_first(worth, layers, find, possible, drift_s)
    return Valued(replace(possible, worth=worth), layers)


def after_drifts(
    belief: Belief,
    swept: Sequence[Area],
    lengths_m: Sequence[float],
    layers: Sequence[Sequence[int]],
    ways: Sequence[WayToFish],
    *,
    together: float,
) -> Belief:
    """Return what is to be believed once some drifts were made in vain.

    Parameters
    ----------
    swept, lengths_m, layers
        Of each drift: its water in metres, its distance, and the layers of both rods.
    """
    squares = belief.squares
    factor = belief.factor.copy()
    tree = shapely.STRtree(squares.points)
    deepest = squares.there.sum(axis=1) - 1
    for water, length_m, pair in zip(swept, lengths_m, layers, strict=True):
        over = tree.query(water, predicate="intersects")
        drift_s = length_m / ways[0].drift_m_s
        each = together * drift_s / (RODS * max(len(over), 1) * squares.area_m2)
        for layer in pair:
            factor[over, np.minimum(layer, deepest[over])] += (
                ways[layer].search_m2_s * each
            )
    return Belief(squares, belief.before, factor)


def _put_first(
    worth: Floats, layers: Ints, find: Again, possible: Candidates, drift_s: Floats
) -> None:
    """Make the drifts over a find worth more than any other for their time."""
    shared = shapely.area(shapely.intersection(possible.swept, find.ground))
    part = shared / np.maximum(shapely.area(possible.swept), 1e-9)
    order = np.argsort(-part * (part > 0), kind="stable")
    order = order[part[order] > 0.1]
    before_s = np.cumsum(drift_s[order]) - drift_s[order]
    chosen = order[before_s < find.seconds]
    rate = float((worth / drift_s).max())
    worth[chosen] = np.maximum(worth[chosen], FIRST * rate * drift_s[chosen])
    layers[chosen] = find.layer
