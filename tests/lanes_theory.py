"""What a way to lay drifts buys, by theory: a judge of what comes out on the map.

Each formula was worked out from the geometry and holds for strips of water swept to
the side only, inside a straight band, away from its ends. That zig-zags do not cover
their band evenly is known from line transects at sea (Strindberg & Buckland 2004,
doi 10.1198/108571104X15601, abstract).
"""

from collections.abc import Sequence
from math import cos, hypot, radians, tan

import numpy as np

from sweptwater.arrays import Area, Floats
from sweptwater.plan.ground import leg_bearings, off_course_deg
from sweptwater.plan.lay import Lay
from sweptwater.plan.planned import PlannedDrift
from sweptwater.practice.settings import Spread
from sweptwater.search.laws import coverage_factor


def leg_width_m(spread: Spread, off_deg: float) -> float:
    """Return the width of the strip that a drift sweeps, so far off straight downwind.

    The fan faces downwind all the same, so that its width across the drift is its own
    times the cosine; up to the fan's half angle.

    Examples
    --------
    >>> fan = Spread()
    >>> round(leg_width_m(fan, 0) / fan.width_m, 3)
    1.0
    >>> round(leg_width_m(fan, 28) / fan.width_m, 3)
    0.883
    """
    if spread.shape == "round":
        return spread.width_m
    return spread.width_m * cos(radians(min(off_deg, spread.half_angle_deg)))


def start_loss_m2(spread: Spread, apart_m: float) -> float:
    """Return what a drift leaves unswept beside its start, within its own lane.

    A fan begins as wide as the boat and opens ahead of it: of a lane as wide as drifts
    are apart, two triangles remain.

    Examples
    --------
    >>> round(start_loss_m2(Spread(boat_m=5, half_angle_deg=45), apart_m=25), 9)
    100.0
    """
    if spread.shape == "round":
        return 0.0
    bare_m = max(0.0, min(apart_m, spread.width_m) - spread.boat_m)
    return bare_m**2 / (4 * tan(radians(spread.half_angle_deg)))


def parallel_share(factor: float) -> float:
    """Return the share of a band that parallel drifts cover, evenly spaced.

    Examples
    --------
    >>> parallel_share(0.6), parallel_share(1.5)
    (0.6, 1.0)
    """
    return min(1.0, factor)


def zigzag_share(factor: float) -> float:
    """Return the share of its band that a zig-zag covers: C - C^2 / 4, all from C = 2.

    Along the middle it covers min(1, C), along the edges min(1, C / 2): both legs meet
    at the turn, and leave one wide gap where elsewhere there are two narrow ones.

    Examples
    --------
    >>> zigzag_share(1.0), zigzag_share(2.0), zigzag_share(3.0)
    (0.75, 1.0, 1.0)
    """
    half = min(1.0, factor / 2)
    return 1 - (1 - half) ** 2


def zigzag_factor(width_m: float, *, band_m: float, period_m: float) -> float:
    """Return the coverage factor of a zig-zag.

    Parameters
    ----------
    width_m
        Of the strip that a straight drift sweeps.
    band_m
        How wide the band is that it crosses.
    period_m
        Along the band, from turn to the second next turn.

    Examples
    --------
    >>> round(zigzag_share(zigzag_factor(30, band_m=400, period_m=200)), 9)
    0.285326672
    """
    leg_m = hypot(band_m, period_m / 2)
    return coverage_factor(width_m, 2 * leg_m, band_m * period_m)


def theory_share(lay: Lay, band: Area, drifts: Sequence[PlannedDrift]) -> float:
    """Return the share of a band that drifts would sweep, by theory.

    Zig-zags by theirs, all others as lanes side by side, each as wide as they lie
    apart, less what a fan leaves beside the start of each; a drift that goes on where
    another ends leaves nothing. Where banks bend or water is narrow the theory is off:
    `swept_share` is not.
    """
    if not drifts or not band.area > 0:
        return 0.0
    zigzags = [drift for drift in drifts if drift.pattern == "zigzag"]
    lanes = [drift for drift in drifts if drift.pattern != "zigzag"]
    zigzag = zigzag_share(_strips_m2(lay, zigzags, np.inf) / band.area)
    return 1 - (1 - zigzag) * (1 - _lanes_share(lay, band, lanes))


def _lanes_share(lay: Lay, band: Area, drifts: Sequence[PlannedDrift]) -> float:
    if not drifts:
        return 0.0
    length_m = sum(drift.length_m for drift in drifts)
    lane_m = min(lay.settings.plan.apart_m, band.area / length_m)
    spread = lay.settings.spread
    lost_m2 = _begun(drifts, spread.cast_m / 2) * start_loss_m2(spread, lane_m)
    share = parallel_share(_strips_m2(lay, drifts, lane_m) / band.area)
    return max(0.0, share - lost_m2 / band.area)


def _strips_m2(lay: Lay, drifts: Sequence[PlannedDrift], most_m: float) -> float:
    """Return the area of strips along drifts, none wider than told."""
    return sum(
        min(most_m, leg_width_m(lay.settings.spread, off_deg)) * leg_m
        for drift in drifts
        for leg_m, off_deg in zip(*_legs(lay, drift.places), strict=True)
    )


def _legs(lay: Lay, places: Floats) -> tuple[list[float], list[float]]:
    leg_m = np.hypot(*np.diff(places, axis=0).T)
    off_deg = np.abs(off_course_deg(leg_bearings(places), lay.wind.downwind_deg))
    return leg_m.tolist(), off_deg.tolist()


def _begun(drifts: Sequence[PlannedDrift], near_m: float) -> int:
    """Return how many drifts do not go on where another ends."""
    ends = np.array([drift.places[-1] for drift in drifts])
    starts = np.array([drift.places[0] for drift in drifts])
    apart_m = np.hypot(*np.moveaxis(starts[:, None] - ends, -1, 0))
    return int((apart_m.min(axis=1) > near_m).sum())
