"""The longest drift past a place that a match's rules allow, in one wind."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import inf
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.plan.ground import bearing_vector
from sweptwater.plan.lay import Lay

Cut: TypeAlias = Literal["land", "out of bounds", "bank-anglers"]
"""What a drift ends before."""

ASIDE_STEP_M = 10.0
MOST_ASIDE_M = BANDWIDTH_M / 2
"""Where no drift goes through the place itself, one as near as may be passes beside
it, up to so far."""

BEYOND_M = 0.5
"""What cut a drift is felt so far beyond its end."""


@dataclass(frozen=True, slots=True, eq=False)
class LegalDrift:
    """The longest drift past a place: metres.

    Parameters
    ----------
    start, end
        As far upwind as it can begin, and as far down as it may go, (2,) each.
    length_m, up_m, down_m
        Its length; and how much of that lies upwind and downwind of the place, below 0
        where all of it lies on one side.
    passing_m
        How much of it is within BANDWIDTH_M of the place.
    aside_m
        How far to the right of the place it passes, below 0 to the left.
    cut_by, short_m
        What it ends before, and how far short of that along its course.
    """

    start: Floats
    end: Floats
    length_m: float
    up_m: float
    down_m: float
    passing_m: float
    aside_m: float
    cut_by: Cut
    short_m: float

    @property
    def line(self) -> LineString:
        """Its way."""
        return LineString([self.start, self.end])


def match_lay(lay: Lay, keep_off_m: float) -> Lay:
    """Return how drifts are laid where a match's rule says how far to keep off."""
    plan = replace(lay.settings.plan, keep_off_m=keep_off_m)
    return replace(lay, settings=replace(lay.settings, plan=plan))


def longest_drift(
    lay: Lay, shut: Mapping[Cut, BaseGeometry], place: Floats
) -> LegalDrift | None:
    """Return the longest drift past a place, straight down the boat's course.

    On the line through the place if it can be drifted there for as far as the shortest
    drift that is worth it, else on the nearest line beside it. Of several stretches the
    one that passes the place for longest.

    Parameters
    ----------
    lay
        The water, the wind and the boat; its settings say how far to keep off.
    shut
        What is out of bounds and what the bank-anglers fish, to tell what cut it.
    place
        In metres, (2,).

    Returns
    -------
    None where the place cannot be drifted in that wind.

    Examples
    --------
    A wind from the west over a pool of 1,000 m, with a zone from 700 m on; the margin
    is 10 m, the cast 20, and 50 m are to be kept off the zone:

    >>> from sweptwater.offers.wind import Wind
    >>> from sweptwater.plan.leeway import Leeway
    >>> from sweptwater.practice.outing import PlanRules
    >>> from sweptwater.practice.settings import Settings, Spread
    >>> pool, zone = shapely.box(0, 0, 1000, 400), shapely.box(700, 0, 1000, 400)
    >>> settings = Settings(
    ...     "Pool", ("Heron",), spread=Spread(cast_m=20), plan=PlanRules(margin_m=10)
    ... )
    >>> leeway = Leeway(0.045, 0.015, 0.0, 10.0)
    >>> wind = Wind(270, 6)
    >>> lay = match_lay(Lay(pool, pool - zone, zone, settings, wind, leeway), 50)
    >>> found = longest_drift(lay, {"out of bounds": zone}, np.array([600.0, 200]))
    >>> found.start.round(3).tolist(), found.end.round(3).tolist()
    ([10.0, 200.0], [650.0, 200.0])
    >>> found.cut_by, round(found.short_m, 3), round(found.passing_m, 3)
    ('out of bounds', 50.0, 200.0)
    """
    if not lay.speed_m_s > 0 or lay.ground.is_empty:
        return None
    course_deg = lay.course_deg
    right = bearing_vector(course_deg + 90)
    for aside_m in _asides():
        span = _best_span(lay, place + aside_m * right, aside_m)
        if span is not None:
            return _drift(lay, shut, place, aside_m, span)
    return None


def _asides() -> list[float]:
    steps = np.arange(ASIDE_STEP_M, MOST_ASIDE_M + 1e-9, ASIDE_STEP_M)
    return [0.0, *(float(side * step) for step in steps for side in (1, -1))]


def _best_span(lay: Lay, at: Floats, aside_m: float) -> tuple[float, float] | None:
    """Return from where to where one can drift on a line, before and beyond a place.

    None where no stretch of it passes the place for long enough.
    """
    ahead = bearing_vector(lay.course_deg)
    west, south, east, north = lay.ground.bounds
    far_m = float(np.hypot(east - west, north - south)) + Point(at).distance(lay.ground)
    line = LineString([at - far_m * ahead, at + far_m * ahead])
    spans = []
    for piece in shapely.get_parts(shapely.intersection(line, lay.ground)):
        along = (shapely.get_coordinates(piece) - at) @ ahead
        if len(along) > 1:
            spans.append((float(along.min()), float(along.max())))
    # Near ends of stretches that only touch are one stretch.
    best = max(_joined(spans), key=lambda s: _by_worth(s, aside_m), default=None)
    if best is None or _passing_m(best, aside_m) < lay.settings.plan.shortest_m:
        return None
    return best


def _joined(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    joined: list[tuple[float, float]] = []
    for start_m, end_m in sorted(spans):
        if joined and start_m - joined[-1][1] <= 1e-6:
            joined[-1] = (joined[-1][0], max(end_m, joined[-1][1]))
        else:
            joined.append((start_m, end_m))
    return joined


def _by_worth(span: tuple[float, float], aside_m: float) -> tuple[float, float, float]:
    return (round(_passing_m(span, aside_m), 6), span[1] - span[0], -span[0])


def _passing_m(span: tuple[float, float], aside_m: float) -> float:
    half_m = float(np.sqrt(BANDWIDTH_M**2 - aside_m**2))
    return max(0.0, min(span[1], half_m) - max(span[0], -half_m))


def _drift(
    lay: Lay,
    shut: Mapping[Cut, BaseGeometry],
    place: Floats,
    aside_m: float,
    span: tuple[float, float],
) -> LegalDrift:
    ahead = bearing_vector(lay.course_deg)
    at = place + aside_m * bearing_vector(lay.course_deg + 90)
    end = at + span[1] * ahead
    cut_by = _cut_by(lay, shut, end + BEYOND_M * ahead)
    edge = shut.get(cut_by, lay.water.boundary)
    return LegalDrift(
        start=at + span[0] * ahead,
        end=end,
        length_m=span[1] - span[0],
        up_m=-span[0],
        down_m=span[1],
        passing_m=_passing_m(span, aside_m),
        aside_m=aside_m,
        cut_by=cut_by,
        short_m=_ahead_m(lay, end, edge),
    )


def _cut_by(lay: Lay, shut: Mapping[Cut, BaseGeometry], beyond: Floats) -> Cut:
    """Return what lies too near just beyond the end of a drift, or a cast ahead."""
    plan = lay.settings.plan
    off_m = max(plan.keep_off_m, plan.margin_m)
    point = Point(beyond)
    near: list[tuple[float, Cut]] = [
        (point.distance(shape), cut)
        for cut, shape in shut.items()
        if not shape.is_empty and point.distance(shape) <= off_m + BEYOND_M
    ]
    if near:
        return min(near)[1]
    cast_m = lay.settings.spread.cast_m
    cast = LineString([beyond, beyond + cast_m * bearing_vector(lay.course_deg)])
    return "out of bounds" if cast.intersects(shut["out of bounds"]) else "land"


def _ahead_m(lay: Lay, end: Floats, edge: BaseGeometry) -> float:
    """Return how far it is from a place to an edge, down the course.

    To the nearest of it where the course does not meet it soon: a drift may be cut by
    what it would have passed beside.
    """
    reach_m = lay.settings.plan.keep_off_m + lay.settings.spread.cast_m + 2 * BEYOND_M
    reach_m = 2 * max(reach_m, lay.settings.spread.reach_m)
    ahead = LineString([end, end + reach_m * bearing_vector(lay.course_deg)])
    met = shapely.intersection(ahead, edge)
    down_m = Point(end).distance(met) if not met.is_empty else inf
    return float(down_m if np.isfinite(down_m) else Point(end).distance(edge))


def shut_water(
    out_of_bounds: Area, bank_anglers: BaseGeometry
) -> dict[Cut, BaseGeometry]:
    """Return what boats keep off, by what it is."""
    return {"out of bounds": out_of_bounds, "bank-anglers": bank_anglers}
