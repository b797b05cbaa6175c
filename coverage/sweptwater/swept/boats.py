"""One boat on one day: its drifts, and the water that each swept."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import shapely

from sweptwater.arrays import Area
from sweptwater.practice.settings import Spread
from sweptwater.swept.layered import Stack, stack_drifts
from sweptwater.swept.spread import sweep_drift
from sweptwater.tracks.drifts import DayAfloat, Drift
from sweptwater.water.shapes import polygonal


@dataclass(frozen=True)
class BoatDay:
    """What one boat did on one day, in metres of the venue's frame.

    Parameters
    ----------
    pair, day
        Whose day it was.
    afloat
        Its drifts and hours.
    swept
        The fishable water that each drift swept, one a drift.
    """

    pair: str
    day: date
    afloat: DayAfloat
    swept: tuple[Area, ...]

    @cached_property
    def stack(self) -> Stack:
        """The water it swept at least once, twice and three times."""
        return stack_drifts(self.swept)


def sweep_day(
    pair: str, day: date, afloat: DayAfloat, spread: Spread, fishable: Area
) -> BoatDay:
    """Return a boat-day with the water that its drifts swept."""
    shapely.prepare(fishable)
    swept = tuple(clipped_sweep(drift, spread, fishable) for drift in afloat.drifts)
    return BoatDay(pair, day, afloat, swept)


def clipped_sweep(drift: Drift, spread: Spread, fishable: Area) -> Area:
    """Return the fishable water that one drift swept; `fishable` is best prepared."""
    shape = sweep_drift(drift, spread)
    if shapely.contains_properly(fishable, shape):
        return shape
    return polygonal(shape.intersection(fishable))
