"""What laid drifts sweep of a band: by theory, and as it comes out on the map."""

from collections.abc import Sequence

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.plan.ground import leg_bearings, off_course_deg
from sweptwater.plan.lay import Lay
from sweptwater.plan.planned import PlannedDrift, sweep_planned
from sweptwater.plan.promise import (
    expected_gap_m,
    leg_width_m,
    parallel_share,
    start_loss_m2,
    zigzag_share,
)
from sweptwater.water.shapes import GRID_M

START_SD_M = 5.0
"""How far to the side of its start a drift begins (common practice, no source)."""

HELD_SD_M = 4.0
"""And how far from its rail a boat goes that is steered along it."""


def swept_share(lay: Lay, band: Area, drifts: Sequence[PlannedDrift]) -> float:
    """Return the share of a band that drifts would sweep, drawn fan by fan."""
    if not drifts or not band.area > 0:
        return 0.0
    swept = sweep_planned(drifts, lay.settings.spread, lay.fishable, lay.wind)
    whole = shapely.union_all(list(swept), grid_size=GRID_M)
    return float(shapely.intersection(whole, band).area / band.area)


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


def missed_m2(lay: Lay, drifts: Sequence[PlannedDrift], off_sd_deg: float) -> float:
    """Return what drifts side by side are likely to leave between them, in m2.

    Since no boat drifts just where the plan says: it begins some metres beside its
    start and goes off its course. Of water that both neighbours sweep as planned this
    much remains unswept.

    Parameters
    ----------
    off_sd_deg
        The scatter of a drift's course about the planned one.
    """
    spread, apart_m = lay.settings.spread, lay.settings.plan.apart_m
    total_m2 = 0.0
    for drift in drifts:
        if drift.pattern == "zigzag":
            continue
        if drift.pattern == "parallel":
            sd_m = np.full(5, HELD_SD_M)
        else:
            at_m = (np.arange(5) + 0.5) / 5 * drift.length_m
            sd_m = np.hypot(START_SD_M, at_m * np.tan(np.radians(off_sd_deg)))
        gaps = [expected_gap_m(spread.width_m, apart_m, sd) for sd in sd_m.tolist()]
        total_m2 += drift.length_m * min(float(np.mean(gaps)), apart_m)
    return total_m2


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
