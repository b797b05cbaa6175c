"""What laid drifts sweep of a band, and what they are likely to leave."""

from collections.abc import Sequence
from math import erfc, exp, pi, sqrt

import numpy as np
import shapely

from sweptwater.arrays import Area
from sweptwater.plan.lay import Lay
from sweptwater.plan.planned import PlannedDrift, sweep_planned
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


def expected_gap_m(width_m: float, apart_m: float, sd_m: float) -> float:
    """Return the gap to expect between two drifts that each miss their lane.

    Each lies off its lane by a normal error, so that two lie off each other by one of
    s = sd sqrt(2); what they overlap, w - d, is used up first:
    s phi(u) - (w - d) (1 - Phi(u)), u = (w - d) / s.

    Parameters
    ----------
    width_m, apart_m
        Of the strips, and from lane to lane.
    sd_m
        The standard deviation of a drift's error to the side.

    Examples
    --------
    >>> expected_gap_m(30, 30, 0), round(expected_gap_m(30, 30, 5), 3)
    (0.0, 2.821)
    """
    spare_m = width_m - apart_m
    if not sd_m > 0:
        return max(0.0, -spare_m)
    s = sd_m * sqrt(2)
    u = spare_m / s
    return s * exp(-(u**2) / 2) / sqrt(2 * pi) - spare_m * erfc(u / sqrt(2)) / 2
