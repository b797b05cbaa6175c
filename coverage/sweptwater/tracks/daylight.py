"""Where the sun stands, and when it rises and sets.

The formulas are the usual short ones for the sun's apparent place; what they leave
out comes to less than 0.02 degrees, or some seconds of a sunrise.

References
----------
Meeus, Astronomical Algorithms, 2nd edition, chapters 12 (sidereal time), 13
(horizontal coordinates), 22 (obliquity) and 25 (the sun, low accuracy): from memory.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

import numpy as np

from sweptwater.arrays import Floats, Ints

HORIZON_DEG = -(50 / 60)
"""The sun's centre at sunrise and sunset: 34' of refraction and 16' of radius."""

DARK_DEG = -6.0
"""Below this civil twilight is over: rods cannot see their flies."""

_J2000_S = 946_728_000.0  # 2000-01-01 12:00, from which the formulas count
_STEP_S = 60.0


@dataclass(frozen=True, slots=True)
class SunTimes:
    """A local day's first light, sunrise, sunset and last light: seconds since 1970.

    Parameters
    ----------
    dawn_s, dusk_s
        Beginning and end of civil twilight; None where the sun does not cross it.
    sunrise_s, sunset_s
        None where the sun does not cross the horizon that day.
    """

    dawn_s: float | None
    sunrise_s: float | None
    sunset_s: float | None
    dusk_s: float | None


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


def sun_times(day: date, zone: tzinfo, lon: float, lat: float) -> SunTimes:
    """Return when the sun rises and sets on a local day, to some seconds.

    Where it does so twice between two midnights, as it may near the polar circles,
    the first rise and the last set count.

    Parameters
    ----------
    day, zone
        The local day: 23 or 25 hours where the clock is changed.
    lon, lat
        Degrees.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> midsummer = sun_times(date(2027, 6, 21), UTC, 26.8, 69.0)
    >>> midsummer.sunset_s is None  # the sun stays up
    True
    >>> southern = sun_times(date(2004, 12, 4), UTC, 0.0, -35.0)
    >>> f"{datetime.fromtimestamp(southern.sunset_s, UTC):%H:%M}"
    '19:02'
    """
    begin_s, end_s = (
        datetime.combine(day + timedelta(days=ahead), time(), zone).timestamp()
        for ahead in (0, 1)
    )
    time_s = np.append(np.arange(begin_s, end_s, _STEP_S), end_s)
    up_deg = sun_elevation_deg(time_s, lon, lat)
    light, horizon = (up_deg - level for level in (DARK_DEG, HORIZON_DEG))
    return SunTimes(
        dawn_s=_crossing(time_s, light, rising=True),
        sunrise_s=_crossing(time_s, horizon, rising=True),
        sunset_s=_crossing(time_s, horizon, rising=False),
        dusk_s=_crossing(time_s, light, rising=False),
    )


def _crossing(time_s: Floats, above: Floats, *, rising: bool) -> float | None:
    """Return when a value first rises through 0, or last falls; None if never."""
    up = above >= 0
    crossed: Ints = np.flatnonzero(up[1:] & ~up[:-1] if rising else up[:-1] & ~up[1:])
    if not len(crossed):
        return None
    at = crossed[0 if rising else -1]
    part = above[at] / (above[at] - above[at + 1])
    return float(time_s[at] + part * (time_s[at + 1] - time_s[at]))
