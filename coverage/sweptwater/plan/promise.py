"""What a way to lay drifts buys, by theory.

References
----------
Each formula was worked out from the geometry and holds for strips of water swept to
the side only, inside a straight band, away from its ends. That zig-zags do not cover
their band evenly is known from line transects at sea (Strindberg & Buckland 2004,
doi 10.1198/108571104X15601, abstract).
"""

from math import cos, erfc, exp, hypot, pi, radians, sqrt, tan

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
