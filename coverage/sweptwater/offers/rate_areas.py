"""Water by its rate: what a map of rates shows."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt
import shapely

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.offers.rate_map import BANDWIDTH_M, RateMap, Spots, rate_map
from sweptwater.water.shapes import GRID_M, polygonal

Kind: TypeAlias = Literal["above", "about", "below"]

ABOUT = 1.25
"""Up to so many times the practice's mean, or the mean over it, is about the mean."""

LEAST_HOURS = 0.5
"""Water that fewer rod-hours tell of is not drawn: of it nothing is known."""


@dataclass(frozen=True, slots=True)
class RateArea:
    """Water of one kind, in metres.

    Parameters
    ----------
    kind
        Whether the rate there is above, about or below the practice's mean.
    sure
        Whether the 95 % range leaves no other; `about` never is.
    shape
        The water.
    """

    kind: Kind
    sure: bool
    shape: Area


def rate_areas(
    offers: Spots,
    effort: Spots,
    water: Area,
    *,
    mean: float,
    factor: float = 1.0,
    bandwidth_m: float = BANDWIDTH_M,
    least_hours: float = LEAST_HOURS,
) -> tuple[RateArea, ...]:
    """Return the water by its rate, from squares of a third of a bandwidth.

    The parts do not overlap, and hold no land. Water that too few hours tell of is in
    none. The order is from the best to the worst.

    Parameters
    ----------
    offers, effort, mean, factor, bandwidth_m
        As for `rate_map`.
    water
        The fishable water.
    least_hours
        From how many rod-hours on water is drawn.

    Examples
    --------
    >>> spot = Spots(np.array([500.0]), np.array([500.0]), np.array([9.0]))
    >>> areas = rate_areas(spot, spot, shapely.box(0, 0, 1e3, 1e3), mean=0.2)
    >>> [(area.kind, area.sure) for area in areas]
    [('above', True), ('above', False)]
    """
    side_m = bandwidth_m / 3
    middles = _middles(water, effort, side_m, reach_m=3 * bandwidth_m)
    rates = rate_map(
        offers, effort, middles, mean=mean, factor=factor, bandwidth_m=bandwidth_m
    )
    told = rates.hours >= least_hours
    return tuple(
        RateArea(kind, sure, shape)
        for kind, sure, mask in _kinds(rates)
        if not (shape := _water_of(middles[mask & told], side_m, water)).is_empty
    )


def _kinds(rates: RateMap) -> list[tuple[Kind, bool, Bools]]:
    above = rates.surely_above | (rates.rate > ABOUT * rates.mean)
    below = rates.surely_below | (rates.rate < rates.mean / ABOUT)
    return [
        ("above", True, rates.surely_above),
        ("above", False, above & ~rates.surely_above),
        ("about", False, ~above & ~below),
        ("below", False, below & ~rates.surely_below),
        ("below", True, rates.surely_below),
    ]


def _middles(water: Area, effort: Spots, side_m: float, *, reach_m: float) -> Floats:
    """Return (n, 2) the middles of squares on the water, near where one fished."""
    if water.is_empty or not len(effort.easting):
        return np.zeros((0, 2))
    west, south, east, north = water.bounds
    fished = np.column_stack([effort.easting, effort.northing])
    low = np.maximum([west, south], fished.min(axis=0) - reach_m)
    high = np.minimum([east, north], fished.max(axis=0) + reach_m)
    first, last = np.floor(low / side_m), np.floor(high / side_m)
    columns, rows = (np.arange(a, b + 1) for a, b in zip(first, last, strict=True))
    corners = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    middles = (corners + 0.5) * side_m
    shapely.prepare(water)
    return middles[shapely.intersects(water, _squares(middles, side_m))]


def _water_of(middles: Floats, side_m: float, water: Area) -> Area:
    whole = shapely.union_all(_squares(middles, side_m), grid_size=GRID_M)
    return polygonal(shapely.intersection(whole, water, grid_size=GRID_M))


def _squares(middles: Floats, side_m: float) -> npt.NDArray[np.object_]:
    (easting, northing), half_m = middles.T, side_m / 2
    return shapely.box(
        easting - half_m, northing - half_m, easting + half_m, northing + half_m
    )
