"""Units at the edges: constants to convert with, and numbers as a captain reads them.

Inside the project everything is SI; only settings, the command line and paper use
what this module offers.

References
----------
The yard is 0.9144 m exactly and the acre 4840 square yards (international yard and
pound agreement, 1959); the knot is 1852 m an hour.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import floor, isfinite
from typing import Literal, TypeAlias

YARD_M = 0.9144
FOOT_M = 0.3048
MILE_M = 1609.344
ACRE_M2 = 4840 * YARD_M**2
HECTARE_M2 = 10_000.0
KNOT_M_S = 1852 / 3600
MPH_M_S = MILE_M / 3600
KMH_M_S = 1 / 3.6

COMPASS_POINTS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)

System: TypeAlias = Literal["imperial", "metric"]
SYSTEMS: tuple[System, ...] = ("imperial", "metric")

UNKNOWN = "unknown"
"""What is said of a number that is none (NaN or infinite)."""


def length_text(length_m: float, system: System = "imperial") -> str:
    """Return a length as people on the water say it.

    Examples
    --------
    >>> length_text(695, "imperial"), length_text(695, "metric")
    ('760 yd', '695 m')
    >>> length_text(6437.4, "imperial"), length_text(6437.4, "metric")
    ('4.0 miles', '6.4 km')
    >>> length_text(0), length_text(float("nan"))
    ('0 yd', 'unknown')
    """
    if not isfinite(length_m):
        return UNKNOWN
    unit_m, unit, far_m, far = (
        (YARD_M, "yd", MILE_M, "miles")
        if system == "imperial"
        else (1.0, "m", 1000.0, "km")
    )
    if length_m >= 2 * far_m:
        return f"{_rounded(length_m / far_m, 1)} {far}"
    return f"{_rounded(length_m / unit_m, 0)} {unit}"


def area_text(area_m2: float, system: System = "imperial") -> str:
    """Return an area in acres or hectares, with as many places as help.

    Examples
    --------
    >>> area_text(4_451_542), area_text(4_451_542, "metric")
    ('1,100 acres', '445 ha')
    >>> area_text(10_000), area_text(400), area_text(4), area_text(0)
    ('2.5 acres', '0.10 acres', '<0.01 acres', '0 acres')
    """
    if not isfinite(area_m2):
        return UNKNOWN
    unit_m2, unit = (ACRE_M2, "acres") if system == "imperial" else (HECTARE_M2, "ha")
    area = area_m2 / unit_m2
    if abs(area) < 0.005:
        # A trace that is left when areas are taken from each other is nothing.
        return f"<0.01 {unit}" if area_m2 > 1e-3 else f"0 {unit}"
    places = 0 if area >= 99.95 else 1 if area >= 0.995 else 2
    return f"{_rounded(area, places)} {unit}"


def depth_text(depth_m: float, system: System = "imperial") -> str:
    """Return a depth in feet or metres, as finely as it matters.

    Examples
    --------
    >>> depth_text(6.7), depth_text(6.52, "metric"), depth_text(0.2), depth_text(14.2)
    ('22 ft', '6.5 m', '0.7 ft', '47 ft')
    >>> depth_text(float("nan"))
    'unknown'
    """
    if not isfinite(depth_m):
        return UNKNOWN
    unit_m, unit = (FOOT_M, "ft") if system == "imperial" else (1.0, "m")
    depth = depth_m / unit_m
    whole = depth >= 3 if system == "imperial" else depth >= 9.95
    return f"{_rounded(depth, 0 if whole else 1)} {unit}"


def depths_text(low_m: float, high_m: float, system: System = "imperial") -> str:
    """Return from what depth to what depth, the unit said once.

    Examples
    --------
    >>> depths_text(2.0, 7.6), depths_text(6.71, 6.72, "metric")
    ('7 to 25 ft', '6.7 m')
    """
    low, high = depth_text(low_m, system), depth_text(high_m, system)
    return high if low == high else f"{low.rpartition(' ')[0]} to {high}"


def duration_text(duration_s: float) -> str:
    """Return a duration in hours and minutes.

    Examples
    --------
    >>> duration_text(19_200), duration_text(2_280), duration_text(20)
    ('5 h 20', '38 min', '0 min')
    """
    if not isfinite(duration_s):
        return UNKNOWN
    minutes = floor(duration_s / 60 + 0.5)
    if minutes < 0:
        return f"-{duration_text(-duration_s)}"
    return (
        f"{minutes // 60} h {minutes % 60:02d}" if minutes >= 60 else f"{minutes} min"
    )


def share_text(share: float) -> str:
    """Return a share as a percentage that never rounds something to nothing or to all.

    Examples
    --------
    >>> share_text(0.314), share_text(0.0444), share_text(0.00003), share_text(0.9999)
    ('31 %', '4.4 %', '<0.1 %', '>99.9 %')
    >>> share_text(0), share_text(1)
    ('0 %', '100 %')
    """
    if not isfinite(share):
        return UNKNOWN
    percent = 100 * share
    if percent <= 0 or percent >= 100:
        return f"{_rounded(percent, 0)} %"
    if percent < 0.1:
        return "<0.1 %"
    if percent > 99.9:
        return ">99.9 %"
    return f"{percent:.{0 if 9.95 <= percent < 99.5 else 1}f} %"


def band_names(edges: Sequence[float], unit: str) -> tuple[str, ...]:
    """Return what the bands between some edges are called, from 0 on.

    Examples
    --------
    >>> band_names([20, 50], "yd"), band_names([2.5], "m")
    (('0-20 yd', '20-50 yd', '50+ yd'), ('0-2.5 m', '2.5+ m'))
    """
    told = ["0", *(f"{round(edge, 1):g}" for edge in edges)]
    between = (f"{low}-{high} {unit}" for low, high in pairwise(told))
    return (*between, f"{told[-1]}+ {unit}")


def compass_point(bearing_deg: float) -> str:
    """Return the nearest of the sixteen compass points.

    Raises
    ------
    ValueError
        If the bearing is no number.

    Examples
    --------
    >>> compass_point(0), compass_point(226), compass_point(359), compass_point(-90)
    ('N', 'SW', 'N', 'W')
    """
    return COMPASS_POINTS[round(bearing_deg / 22.5) % 16]


def _rounded(value: float, places: int) -> str:
    """Return a number with thousands marked, and never a zero below zero."""
    return f"{round(value, places) + 0.0:,.{places}f}"
