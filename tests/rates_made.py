"""Practices made up, with the rate of every stint known: what ranges should hold.

Three pairs fish three days, seven drifts each of 20 to 60 minutes by two rods. A rate
is the product of what sector, layer and light do, and of how good the shoal of the
drift is. Rods of a boat often fish one layer, not always. One stint in seven is not
told.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sweptwater.arrays import Floats, Ints

WAYS = ("sector", "layer", "light", "bank")
NUMBERS = {"sector": 3, "layer": 3, "light": 3, "bank": 6}
PAIRS, DAYS, DRIFTS = 3, 3, 7
STINTS = 2 * PAIRS * DAYS * DRIFTS


@dataclass(frozen=True, slots=True)
class World:
    """What a practice is like.

    Parameters
    ----------
    mean
        Offers a rod-hour, about.
    differs
        The standard deviation of the logarithms of effects; 0 if nothing matters.
    shoals
        The shape of the Gamma distribution of how good a drift is; None if all are
        alike.
    leave_at
        With how many fish found a boat leaves; None if it never does.
    """

    mean: float = 0.4
    differs: float = 0.4
    shoals: float | None = None
    leave_at: int | None = None


@dataclass(frozen=True, slots=True)
class Made:
    """The stints that were told: (n,) each, rates without the shoals' part."""

    offers: Ints
    hours: Floats
    rates: Floats
    drift: Ints
    ways: dict[str, Ints]


def practice(rng: np.random.Generator, world: World) -> Made:
    """Return a practice of some world."""
    drift = np.repeat(np.arange(STINTS // 2), 2)
    ways = _ways(rng)
    rates = np.full(STINTS, world.mean)
    for way in ("sector", "layer", "light"):
        effects = np.exp(rng.normal(-(world.differs**2) / 2, world.differs, 3))
        rates = rates * effects[ways[way]]
    shoal = np.ones(STINTS // 2)
    if world.shoals:
        shoal = rng.gamma(world.shoals, 1 / world.shoals, STINTS // 2)
    offers, hours = _fished(rng, rates * shoal[drift], drift, world.leave_at)
    told = rng.random(STINTS) > 1 / 7
    return Made(
        offers[told],
        hours[told],
        rates[told],
        drift[told],
        {way: of[told] for way, of in ways.items()},
    )


def _ways(rng: np.random.Generator) -> dict[str, Ints]:
    """Return the classes of stints: sectors change round, light comes in spells."""
    day, pair, turn = (
        np.repeat(each.ravel(), 2)
        for each in np.meshgrid(*map(np.arange, (DAYS, PAIRS, DRIFTS)), indexing="ij")
    )
    sector = (pair + day) % 3
    bank = 2 * sector + np.repeat(rng.integers(0, 2, STINTS // 2), 2)
    spells = rng.integers(0, 3, (DAYS, 4))
    light = spells[day, turn // 2]
    layer = np.repeat(rng.integers(0, 3, STINTS // 2), 2)
    own = rng.random(STINTS) < 0.3
    layer = np.where(own, rng.integers(0, 3, STINTS), layer)
    return {"sector": sector, "bank": bank, "light": light, "layer": layer}


def _fished(
    rng: np.random.Generator, rates: Floats, drift: Ints, leave_at: int | None
) -> tuple[Ints, Floats]:
    """Return offers and hours of stints; a boat's rods stop together."""
    hours = rng.uniform(20, 60, STINTS // 2) / 60
    if leave_at is None:
        return rng.poisson(rates * hours[drift]), hours[drift]
    boats = np.bincount(drift, rates)
    waits = rng.exponential(1, (len(boats), leave_at)).cumsum(axis=1) / boats[:, None]
    found = (waits <= hours[:, None]).sum(axis=1)
    hours = np.minimum(hours, waits[:, -1])
    bow = rng.binomial(found, rates[::2] / boats)
    return np.column_stack([bow, found - bow]).ravel(), hours[drift]


def truth(made: Made, rows: Sequence[bool] | Ints) -> float:
    """Return the rate of the hours really fished in some stints."""
    return float(np.average(made.rates[rows], weights=made.hours[rows]))
