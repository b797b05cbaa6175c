"""A map of rates: what was met about each place, smoothed.

Near fishing tells more of a place than far fishing does, and beyond the kernel's edge
none at all: water that nobody fished has the practice's mean, and a wide range.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from sweptwater.arrays import Bools, Floats, Ints

BANDWIDTH_M = 150.0
"""How far one place tells of another: some five minutes' drift, and the width of what a
captain would call one place (common practice, no source)."""

EDGE = np.sqrt(8.0)
"""The kernel's edge in bandwidths: there its standard deviation each way is one."""

CELL = 1 / 8
"""Spots within so many bandwidths are taken together, at their middle: it moves no rate
by more than a few thousandths of itself."""

AT_ONCE = 500
"""How many places of a tile are told together, so that many need no more memory."""

START_OFFERS = 1.0
"""How many offers the practice's mean weighs at each place."""


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Something spread over places: (n,) each, in metres.

    Parameters
    ----------
    easting, northing
        Where.
    weight
        How many offers, or rod-hours.
    """

    easting: Floats
    northing: Floats
    weight: Floats


@dataclass(frozen=True, slots=True, eq=False)
class RateMap:
    """Rates at some places: (n,) each, offers a rod-hour.

    Parameters
    ----------
    rate, low, high
        The smoothed rate and its 95 % range.
    hours
        The rod-hours that tell of each place: 0 where nobody fished nearby.
    mean
        The practice's mean.
    """

    rate: Floats
    low: Floats
    high: Floats
    hours: Floats
    mean: float

    @property
    def surely_above(self) -> Bools:
        """Where the whole range lies above the practice's mean."""
        return self.low > self.mean

    @property
    def surely_below(self) -> Bools:
        """Where the whole range lies below the practice's mean."""
        return self.high < self.mean


def spread(offers: float, pieces: Spots) -> Spots:
    """Return offers of which only the drift is known, by the hours of its pieces.

    Evenly where the pieces have no hours.

    Examples
    --------
    >>> pieces = Spots(np.array([0.0, 10]), np.zeros(2), np.array([0.25, 0.75]))
    >>> spread(2, pieces).weight.tolist()
    [0.5, 1.5]
    """
    hours = pieces.weight if pieces.weight.any() else np.ones_like(pieces.weight)
    return Spots(pieces.easting, pieces.northing, offers * hours / hours.sum())


def joined(*parts: Spots) -> Spots:
    """Return the spots of several as one."""
    return Spots(
        *(
            np.concatenate([np.zeros(0), *(getattr(part, name) for part in parts)])
            for name in ("easting", "northing", "weight")
        )
    )


def rate_map(
    offers: Spots,
    effort: Spots,
    at: Floats,
    *,
    mean: float,
    factor: float = 1.0,
    bandwidth_m: float = BANDWIDTH_M,
    start_offers: float = START_OFFERS,
) -> RateMap:
    """Return smoothed rates at some places.

    With K = (1 - d^2 / 8 h^2)^2 at the distance d, 0 from d = h sqrt(8) on, x = sum of
    K offers and t = sum of K hours, the rate is Gamma(w + x / f, w / mean + t / f): its
    mean, and its middle 95 %. K is 1 at the place itself, so that what was all met
    there counts in full; further off it counts for less, by more than its variance
    shrinks, which makes ranges rather too wide than too narrow.

    Parameters
    ----------
    offers, effort
        Where offers came, and where rod-hours were spent; only of what was told.
    at
        (n, 2) eastings and northings to tell the rate of.
    mean
        The practice's mean, more than 0, an hour.
    factor
        f: how clustered the offers are (`Clusters.factor`).
    bandwidth_m
        h: the kernel's standard deviation each way.
    start_offers
        w: how many offers the mean weighs.

    References
    ----------
    The kernel: Silverman, Density estimation, 1986, 4.2 (from memory). Rates of areas
    drawn to a mean by a Gamma distribution: D. Clayton, J. Kaldor, Empirical Bayes
    estimates of age-standardized relative risks, Biometrics 43, 1987 (from memory).

    Examples
    --------
    >>> spot = Spots(np.zeros(1), np.zeros(1), np.array([4.0]))
    >>> two = rate_map(spot, spot, np.array([[0.0, 0], [9e3, 0]]), mean=0.5)
    >>> two.rate.round(3).tolist(), two.hours.tolist()
    ([0.833, 0.5], [4.0, 0.0])
    """
    found = _near(offers, at, bandwidth_m)
    hours = _near(effort, at, bandwidth_m)
    shape = start_offers + found / factor
    spent = start_offers / mean + hours / factor
    rate = np.where((found > 0) | (hours > 0), shape / spent, mean)
    low, high = (gammaincinv(shape, tail) / spent for tail in (0.025, 0.975))
    return RateMap(rate, low, high, hours, mean)


def _near(spots: Spots, at: Floats, bandwidth_m: float) -> Floats:
    """Return (n,) what lies near each place, by the kernel."""
    sums = np.zeros(len(at))
    where, weight = _gathered(spots, CELL * bandwidth_m)
    edge_m = float(EDGE * bandwidth_m)
    for mine, theirs in _tiles(at, where, edge_m):
        # Differences, not |a|^2 + |b|^2 - 2 ab, which loses the digits of near places.
        away = (at[mine, None, 0] - where[None, theirs, 0]) ** 2
        away += (at[mine, None, 1] - where[None, theirs, 1]) ** 2
        kernel = np.maximum(0.0, 1 - away / edge_m**2) ** 2
        sums[mine] += kernel @ weight[theirs]
    return sums


def _gathered(spots: Spots, cell_m: float) -> tuple[Floats, Floats]:
    """Return places (m, 2) and weights (m,) of spots that are taken together."""
    full = spots.weight > 0
    where = np.column_stack([spots.easting, spots.northing])[full]
    weight = spots.weight[full]
    if not len(where):
        return where, weight
    _, cell = np.unique(
        np.floor(where / cell_m).astype(np.int64), axis=0, return_inverse=True
    )
    cell = cell.ravel()
    sums = np.bincount(cell, weight).astype(float)
    # About a place of the cell's own: all at one place stay exactly there.
    first = np.zeros((len(sums), 2))
    first[cell[::-1]] = where[::-1]
    off = where - first[cell]
    shift = [np.bincount(cell, weight * each) / sums for each in off.T]
    return first + np.column_stack(shift), sums


def _tiles(at: Floats, where: Floats, edge_m: float) -> Iterator[tuple[Ints, Ints]]:
    """Yield places to tell of, tile by tile, and all that may be near them."""
    if not len(at) or not len(where):
        return
    side_m = edge_m / 2
    mine, theirs = (np.floor(xy / side_m).astype(np.int64) for xy in (at, where))
    by_tile = _by_tile(theirs)
    reach = range(-2, 3)
    for (column, row), places in _by_tile(mine).items():
        near = [
            by_tile[column + right, row + up]
            for right in reach
            for up in reach
            if (column + right, row + up) in by_tile
        ]
        if near:
            for few in np.array_split(places, len(places) // AT_ONCE + 1):
                yield few, np.concatenate(near)


def _by_tile(tiles: Ints) -> dict[tuple[int, int], Ints]:
    names, inverse = np.unique(tiles, axis=0, return_inverse=True)
    order = np.argsort(inverse.ravel(), kind="stable")
    parts = np.split(order, np.cumsum(np.bincount(inverse.ravel()))[:-1])
    return {
        (int(column), int(row)): part
        for (column, row), part in zip(names, parts, strict=True)
    }
