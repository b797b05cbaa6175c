"""Laying drifts over a bank's water, or over open water, in one wind."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.offers.wind import Wind
from sweptwater.plan.ground import bearing_vector, drift_ground, off_course_deg
from sweptwater.plan.leeway import Leeway
from sweptwater.plan.lines import drift_lines, parted, where_new
from sweptwater.plan.planned import WIDEST_DEG, Pattern, PlannedDrift
from sweptwater.plan.rails import (
    rail_distances_m,
    rail_drifts,
    shore_rails,
    zigzag_drifts,
)
from sweptwater.practice.settings import Settings
from sweptwater.water.shapes import polygonal

Wish: TypeAlias = Literal["auto", "zigzag", "ladder", "parallel", "open"]

ALONG = 0.5
"""The wind is along a bank if rails can be drifted over so much of its band."""

NEAR_M = 5.0
"""The way to the shore is felt over so much."""

OUT_STEP_M = 2.0
"""Rails are moved to windward by whole steps, so that banks share them."""

GAP_M = 40.0
"""Over fished water between two unfished bits a boat drifts on so far."""


@dataclass(frozen=True)
class Lay:
    """How drifts are laid on one water in one wind.

    Parameters
    ----------
    water, fishable, keep_off
        The water, what of it may be fished, and what to keep off, in metres.
    settings
        The bands, the cast, the distances.
    wind, leeway
        The wind, and how the boat drifts in it.
    """

    water: Area
    fishable: Area
    keep_off: BaseGeometry
    settings: Settings
    wind: Wind
    leeway: Leeway

    @property
    def speed_m_s(self) -> float:
        """The speed of the drifts."""
        return self.leeway.speed_m_s(self.wind)

    @property
    def course_deg(self) -> float:
        """The course of a drift that is not steered, within what can be drifted."""
        off = off_course_deg(self.leeway.off_deg, 0.0)
        bound = WIDEST_DEG / 2
        return float((self.wind.downwind_deg + np.clip(off, -bound, bound)) % 360)

    @property
    def longest_m(self) -> float:
        """The length of the longest drift worth planning."""
        return self.settings.plan.longest_s * self.speed_m_s

    @cached_property
    def ground(self) -> Area:
        """Where the boat may be while it drifts."""
        spread = self.settings.spread
        return drift_ground(
            self.fishable,
            self.keep_off,
            self.settings.plan,
            cast_m=spread.reach_m if spread.shape == "round" else spread.cast_m,
            course_deg=self.course_deg,
        )

    @cached_property
    def _rails(self) -> dict[float, tuple[BaseGeometry, ...]]:
        """The lines along all shores, by how far they are moved out."""
        return {}

    def rails(self, out_m: float = 0.0) -> tuple[BaseGeometry, ...]:
        """Return the lines along all shores that parallel drifts follow.

        Parameters
        ----------
        out_m
            How much further from the shore than evenly over the band.
        """
        if out_m not in self._rails:
            banks = self.settings.banks
            distances = rail_distances_m(
                banks.boat_near_m, banks.boat_far_m, self.settings.plan.apart_m
            )
            self._rails[out_m] = shore_rails(self.water, distances + out_m)
        return self._rails[out_m]

    def bank(self, number: int, band: Area, wish: Wish) -> list[PlannedDrift]:
        """Return drifts over the band of one bank.

        `auto` follows the shore where the wind goes along it, and lays a ladder where
        it goes on to it or off it.
        """
        region = _common(band, self.ground)
        if region.is_empty or wish == "open":
            return []
        if wish == "ladder":
            return self._ladder(number, region)
        if wish == "zigzag":
            return self._zigzag(number, region)
        parallel = self._parallel(number, region)
        if wish == "parallel":
            return parallel
        swept_m2 = sum(d.length_m for d in parallel) * self.settings.plan.apart_m
        if swept_m2 < ALONG * region.area:
            return self._ladder(number, region)
        return [*parallel, *self._ladder(number, self._between(region, parallel))]

    def open_water(self, region: Area, unfished: Area) -> list[PlannedDrift]:
        """Return long drifts side by side down the wind over what is unfished."""
        plan = self.settings.plan
        ways = drift_lines(
            _common(region, self.ground),
            self.course_deg,
            apart_m=plan.apart_m,
            shortest_m=plan.shortest_m,
        )
        new = where_new(ways, unfished, gap_m=GAP_M, shortest_m=2 * plan.shortest_m)
        return [
            PlannedDrift(part, "open")
            for way in new
            for part in parted(way, self.longest_m)
        ]

    def _ladder(self, number: int, region: Area) -> list[PlannedDrift]:
        plan = self.settings.plan
        ways = drift_lines(
            region, self.course_deg, apart_m=plan.apart_m, shortest_m=plan.shortest_m
        )
        cut = [part for way in ways for part in parted(way, self.longest_m)]
        return _drifts(cut, "ladder", number)

    def _parallel(self, number: int, region: Area) -> list[PlannedDrift]:
        """Return drifts along the shore, so far to windward that all is swept.

        From a boat on a slant course a cast downwind falls to leeward of its way.
        """
        ways = self._along(region, 0.0)
        out_m = OUT_STEP_M * round(self._leeward_m(ways) / OUT_STEP_M)
        if out_m:
            ways = self._along(region, out_m) or ways
        return _drifts(ways, "parallel", number)

    def _along(self, region: Area, out_m: float) -> list[Floats]:
        return [
            way
            for rail in self.rails(out_m)
            for way in rail_drifts(
                rail,
                region,
                self.wind.downwind_deg,
                longest_m=self.longest_m,
                shortest_m=2 * self.settings.plan.shortest_m,
            )
        ]

    def _leeward_m(self, ways: Sequence[Floats]) -> float:
        """Return how far nearer to the shore than the boat its strip's middle lies."""
        spread = self.settings.spread
        if not ways or spread.shape == "round":
            return 0.0
        places = np.vstack(ways)
        ahead = places + NEAR_M * bearing_vector(self.wind.downwind_deg)
        shore = shapely.boundary(self.water)
        before_m, after_m = (
            np.asarray(shapely.distance(shapely.points(at), shore))
            for at in (places, ahead)
        )
        onto_shore = float((before_m - after_m).mean() / NEAR_M)
        half = np.radians(spread.half_angle_deg)
        return float(spread.cast_m * np.cos(half) * onto_shore)

    def _zigzag(self, number: int, region: Area) -> list[PlannedDrift]:
        ways = zigzag_drifts(
            region,
            self.wind.downwind_deg,
            longest_m=self.longest_m,
            shortest_m=2 * self.settings.plan.shortest_m,
        )
        return _drifts(ways, "zigzag", number)

    def _between(self, region: Area, drifts: Sequence[PlannedDrift]) -> Area:
        """Return the parts of a region that drifts leave wide enough for more."""
        half_m = self.settings.plan.apart_m / 2
        strips = [d.line.buffer(1.1 * half_m, cap_style="square") for d in drifts]
        rest = region.difference(shapely.union_all(strips))
        return polygonal(rest.buffer(-half_m / 2).buffer(half_m / 2) & region)


def _drifts(ways: Sequence[Floats], pattern: Pattern, bank: int) -> list[PlannedDrift]:
    return [PlannedDrift(way, pattern, bank) for way in ways]


def _common(one: Area, other: Area) -> Area:
    return polygonal(shapely.intersection(one, other))
