"""How high the sun stands, for many moments at once.

The formulas are the usual short ones for the sun's apparent place; what they leave
out comes to less than 0.02 degrees.

References
----------
Meeus, Astronomical Algorithms, 2nd edition, chapters 12 (sidereal time), 13
(horizontal coordinates), 22 (obliquity) and 25 (the sun, low accuracy): from memory.
"""

import numpy as np

from sweptwater.arrays import Floats

DARK_DEG = -6.0
"""Below this civil twilight is over: rods cannot see their flies."""

_J2000_S = 946_728_000.0  # 2000-01-01 12:00, from which the formulas count


def sun_elevation_deg(time_s: Floats, lon: float, lat: float) -> Floats:
    """Return how high the sun's centre stands above the horizon, without refraction.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC, any shape.
    lon, lat
        Degrees.

    Examples
    --------
    >>> noon_s = np.array([1_813_752_000.0])  # 2027-06-23 12:00 UTC
    >>> sun_elevation_deg(noon_s, 0.0, 90.0).round(1).tolist()  # the obliquity
    [23.4]
    """
    days = (np.asarray(time_s, dtype=float) - _J2000_S) / 86400
    century = days / 36525
    mean = np.radians(280.46646 + 36000.76983 * century)
    anomaly = np.radians(357.52911 + 35999.05029 * century)
    centre = (
        (1.914602 - 0.004817 * century) * np.sin(anomaly)
        + 0.019993 * np.sin(2 * anomaly)
        + 0.000289 * np.sin(3 * anomaly)
    )
    node = np.radians(125.04 - 1934.136 * century)
    along = mean + np.radians(centre - 0.00569 - 0.00478 * np.sin(node))
    tilt = np.radians(23.439291 - 0.0130042 * century + 0.00256 * np.cos(node))
    ascension = np.arctan2(np.cos(tilt) * np.sin(along), np.cos(along))
    height = np.arcsin(np.sin(tilt) * np.sin(along))
    sidereal = np.radians(280.46061837 + 360.98564736629 * days + lon)
    parallel = np.radians(lat)
    sine = np.sin(parallel) * np.sin(height) + np.cos(parallel) * np.cos(
        height
    ) * np.cos(sidereal - ascension)
    return np.degrees(np.arcsin(np.clip(sine, -1, 1)))
