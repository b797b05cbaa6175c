"""One boat on one day: its drifts, and the water that each swept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.practice.settings import Spread
from sweptwater.swept.layered import Stack, stack_drifts
from sweptwater.swept.spread import STILL_M, path_line, sweep_drift
from sweptwater.tracks.drifts import DayAfloat, Drift
from sweptwater.water.shapes import polygonal

BESIDE_M = 1.0
"""Water nearer to the boat's way than this hangs together with it."""

SHORT_M = 30.0
AROUND_S = 2700.0
"""A drift shorter than this takes the course of the drifts so near in time."""


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
    return BoatDay(pair, day, afloat, sweep_drifts(afloat.drifts, spread, fishable))


def sweep_drifts(
    drifts: Sequence[Drift], spread: Spread, fishable: Area
) -> tuple[Area, ...]:
    """Return the fishable water that each of a boat's drifts of one day swept.

    A drift too short to tell the wind's course takes that of the drifts near it in
    time.
    """
    shapely.prepare(fishable)
    return tuple(
        clipped_sweep(drift, spread, fishable, downwind_deg=course)
        for drift, course in zip(drifts, _lent_courses(drifts), strict=True)
    )


def clipped_sweep(
    drift: Drift, spread: Spread, fishable: Area, *, downwind_deg: float | None = None
) -> Area:
    """Return the fishable water that one drift swept; `fishable` is best prepared.

    What a cast would reach beyond a dam or a spit is not counted: only water that
    hangs together with the boat's own is.
    """
    shape = sweep_drift(drift, spread, downwind_deg=downwind_deg)
    if shapely.contains_properly(fishable, shape):
        return shape
    parts = shapely.get_parts(polygonal(shape.intersection(fishable)))
    if len(parts) < 2:
        return polygonal(shapely.union_all(parts))
    away_m = shapely.distance(parts, path_line(drift))
    own = parts[away_m <= max(BESIDE_M, float(away_m.min()))]
    return polygonal(shapely.union_all(own))


def _lent_courses(drifts: Sequence[Drift]) -> list[float | None]:
    """Return for each drift the course of those around it, if its own is too short."""
    if not drifts:
        return []
    middle_s = np.array([(drift.start_s + drift.end_s) / 2 for drift in drifts])
    ends = np.array([_made_good(drift) for drift in drifts])
    lent: list[float | None] = []
    for drift, own, at_s in zip(drifts, ends, middle_s, strict=True):
        around = ends[np.abs(middle_s - at_s) <= AROUND_S].sum(axis=0)
        short = np.hypot(*own) < STILL_M and drift.length_m < SHORT_M
        known = np.hypot(*around) >= STILL_M
        course = float(np.degrees(np.arctan2(*around)) % 360)
        lent.append(course if short and known else None)
    return lent


def _made_good(drift: Drift) -> tuple[float, float]:
    return (
        float(drift.easting[-1] - drift.easting[0]),
        float(drift.northing[-1] - drift.northing[0]),
    )
