"""When the sun rises and sets, by how high `tracks.daylight` says that it stands."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

import numpy as np

from sweptwater.arrays import Floats, Ints
from sweptwater.tracks.daylight import DARK_DEG, sun_elevation_deg

HORIZON_DEG = -(50 / 60)
"""The sun's centre at sunrise and sunset: 34' of refraction and 16' of radius."""

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
