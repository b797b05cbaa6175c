"""A planned drift, and the water that it would sweep."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from shapely import LineString

from sweptwater.arrays import Area, Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import leg_bearings, off_course_deg
from sweptwater.practice.settings import Spread
from sweptwater.swept.boats import clipped_sweep
from sweptwater.tracks.drifts import Drift

Pattern: TypeAlias = Literal["parallel", "zigzag", "ladder", "open"]

WIDEST_DEG = 30.0
"""A boat can be steered so far off straight downwind and still drift."""


@dataclass(frozen=True, slots=True, eq=False)
class PlannedDrift:
    """One drift to make, in metres.

    Parameters
    ----------
    places
        Where it starts, turns and ends, (n, 2).
    pattern
        How it was laid.
    bank
        The number of the bank along which it goes; None in open water.
    """

    places: Floats
    pattern: Pattern
    bank: int | None = None

    @property
    def line(self) -> LineString:
        """Its way."""
        return LineString(self.places)

    @property
    def length_m(self) -> float:
        """The distance to drift."""
        step = np.diff(self.places, axis=0)
        return float(np.hypot(step[:, 0], step[:, 1]).sum())

    @property
    def course_deg(self) -> float:
        """The course from start to finish, clockwise from north."""
        east, north = self.places[-1] - self.places[0]
        return float(np.degrees(np.arctan2(east, north)) % 360)

    def off_deg(self, wind: Wind) -> float:
        """Return by how much its worst leg is off straight downwind, without a sign."""
        off = off_course_deg(leg_bearings(self.places), wind.downwind_deg)
        return float(np.abs(off).max())

    def drifted(self, start_s: float, speed_m_s: float) -> Drift:
        """Return it as a drift that starts at a time and goes at a speed."""
        step = np.diff(self.places, axis=0)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])
        return Drift(start_s + along / speed_m_s, self.places[:, 0], self.places[:, 1])


def sweep_planned(
    drifts: Sequence[PlannedDrift], spread: Spread, fishable: Area, wind: Wind
) -> tuple[Area, ...]:
    """Return the fishable water that each planned drift would sweep.

    The boat lies across the wind, also where it is steered across it.
    """
    return tuple(
        clipped_sweep(
            drift.drifted(0.0, 1.0), spread, fishable, downwind_deg=wind.downwind_deg
        )
        for drift in drifts
    )
