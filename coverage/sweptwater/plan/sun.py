"""Where the sun will stand, and when it rises and sets, for those who plan a day.

Times are when the sun's centre is 50' below the horizon (34' of refraction and 16' of
radius), and dusk when it is 6 degrees below: civil twilight. Heights are without
refraction.

References
----------
The zenith angles are those of the Almanac for Computers, United States Naval
Observatory, 1990; the sun's place is worked out by the library ephem.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import ephem

from sweptwater.units import compass_point

_HORIZON = "-0:50"
_DUSK = "-6"
_EPOCH_DAYS = 25_567.5
"""From ephem's beginning, 1899-12-31 12:00, to 1970."""

_DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class SunPlace:
    """Where the sun's centre stands.

    Parameters
    ----------
    bearing_deg
        Clockwise from north.
    height_deg
        Above the level horizon; below it negative.
    """

    bearing_deg: float
    height_deg: float


@dataclass(frozen=True, slots=True)
class SunDay:
    """The first sunrise, sunset and end of civil twilight from a moment on.

    Seconds since 1970 UTC; None where the day has none, as near the poles.
    """

    sunrise_s: float | None
    sunset_s: float | None
    dusk_s: float | None


def sun_place(time_s: float, lon: float, lat: float) -> SunPlace:
    """Return where the sun stands at a moment.

    Parameters
    ----------
    time_s
        Seconds since 1970 UTC.
    lon, lat
        Degrees.

    Examples
    --------
    >>> place = sun_place(1_813_752_000, 0.0, 52.5)  # 2027-06-23 12:00 UTC
    >>> sun_words(place.bearing_deg, place.height_deg)
    'S, 61 deg up'
    """
    sun = ephem.Sun(_observer(time_s, lon, lat))
    return SunPlace(sun.az / ephem.degree, sun.alt / ephem.degree)


def sun_day(begin_s: float, lon: float, lat: float) -> SunDay:
    """Return what the sun does in the 24 hours from a moment on.

    Parameters
    ----------
    begin_s
        The local midnight, seconds since 1970 UTC.
    lon, lat
        Degrees.

    Examples
    --------
    >>> polar_day = sun_day(1_813_536_000, 26.8, 69.0)  # midsummer
    >>> polar_day.sunset_s is None
    True
    """
    observer = _observer(begin_s, lon, lat)
    observer.horizon = _HORIZON
    sunrise_s = _within_a_day(observer.next_rising, begin_s)
    sunset_s = _within_a_day(observer.next_setting, begin_s)
    observer.horizon = _DUSK
    return SunDay(sunrise_s, sunset_s, _within_a_day(observer.next_setting, begin_s))


def sun_words(bearing_deg: float, height_deg: float) -> str:
    """Return where the sun stands as a boat finds it.

    Examples
    --------
    >>> sun_words(140, 41.3), sun_words(300, -2)
    ('SE, 41 deg up', 'WNW, below the horizon')
    """
    point = compass_point(bearing_deg)
    if height_deg < 0:
        return f"{point}, below the horizon"
    return f"{point}, {height_deg:.0f} deg up"


def _observer(time_s: float, lon: float, lat: float) -> Any:
    observer = ephem.Observer()
    observer.lon, observer.lat = lon * ephem.degree, lat * ephem.degree
    observer.pressure = 0  # the horizon's angle has the refraction in it
    observer.date = time_s / _DAY_S + _EPOCH_DAYS
    return observer


def _within_a_day(find: Callable[..., float], begin_s: float) -> float | None:
    try:
        found = find(ephem.Sun(), use_center=True)
    except ephem.CircumpolarError:
        return None
    time_s = (float(found) - _EPOCH_DAYS) * _DAY_S
    return time_s if time_s < begin_s + _DAY_S else None
