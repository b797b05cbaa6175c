"""The sun's height and hours against published values and another computation."""

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sun_hours import HORIZON_DEG, sun_times
from sweptwater.tracks.daylight import DARK_DEG, sun_elevation_deg

PLACE = (-0.65, 52.65)


def _hour(time_s: float | None) -> float:
    """Return the hour of the UTC day."""
    assert time_s is not None
    return time_s % 86400 / 3600


def _up(when: str, lon: float, lat: float) -> float:
    moment = datetime.fromisoformat(when).timestamp()
    return float(sun_elevation_deg(np.array([moment]), lon, lat)[0])


def test_the_height_of_the_sun() -> None:
    """Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302, Table A5.1.

    There 50.11162 with refraction; 50.12795 without it, recomputed with pvlib 0.16.1.
    """
    up = _up("2003-10-17T19:30:30+00:00", -105.1786, 39.742476)
    assert 90 - up == pytest.approx(50.12795, abs=0.02)


@pytest.mark.parametrize(
    ("day", "lat", "rise", "down"),
    [
        ("1994-01-02", 35, 7.136889, 16.998861),
        ("1996-07-05", -35, 7.137611, 17.017917),
        ("2004-12-04", -35, 4.649194, 19.034028),
    ],
)
def test_published_sunrises(day: str, lat: float, rise: float, down: float) -> None:
    """Reda and Andreas, Table A2.1, at longitude 0; theirs to the second."""
    found = sun_times(date.fromisoformat(day), UTC, 0.0, lat)
    assert _hour(found.sunrise_s) == pytest.approx(rise, abs=15 / 3600)
    assert _hour(found.sunset_s) == pytest.approx(down, abs=15 / 3600)


def test_an_almanacs_worked_sunrise() -> None:
    """Almanac for Computers, 1990: 25 June at 40.9 N 74.3 W; good to a minute."""
    found = sun_times(date(1990, 6, 25), timezone(timedelta(hours=-4)), -74.3, 40.9)
    assert _hour(found.sunrise_s) == pytest.approx(9.4414, abs=1 / 60)


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        ("2026-03-20", (5.52083, 6.08972, 18.26222, 18.83306)),
        ("2026-06-21", (2.79944, 3.6425, 20.50472, 21.34778)),
        ("2026-09-23", (5.26417, 5.83444, 17.98083, 18.54917)),
        ("2026-12-21", (7.49972, 8.1975, 15.82444, 16.5225)),
    ],
)
def test_twilight_through_the_year(day: str, hours: tuple[float, ...]) -> None:
    """Recomputed with ephem, which pvlib's SPA meets to 2 s."""
    sun = sun_times(date.fromisoformat(day), UTC, *PLACE)
    found = [_hour(at) for at in (sun.dawn_s, sun.sunrise_s, sun.sunset_s, sun.dusk_s)]
    assert found == pytest.approx(hours, abs=20 / 3600)


@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kolkata", "Pacific/Auckland"])
def test_the_day_is_the_local_one(zone: str) -> None:
    """Whatever the zone, the times lie in the local day, and the sun is where told."""
    lon = {"Europe/London": 0.0, "Asia/Kolkata": 77.0, "Pacific/Auckland": 176.0}[zone]
    for day in (date(2027, 3, 28), date(2027, 10, 31), date(2027, 9, 26)):
        sun = sun_times(day, ZoneInfo(zone), lon, 40.0)
        moments = (sun.dawn_s, sun.sunrise_s, sun.sunset_s, sun.dusk_s)
        known = [at for at in moments if at is not None]
        assert len(known) == 4
        assert known == sorted(known)
        assert {datetime.fromtimestamp(at, ZoneInfo(zone)).date() for at in known} == {
            day
        }
        up = sun_elevation_deg(np.array(known), lon, 40.0)
        levels = [DARK_DEG, HORIZON_DEG, HORIZON_DEG, DARK_DEG]
        assert up.tolist() == pytest.approx(levels, abs=1e-3)


def test_beyond_the_polar_circle() -> None:
    """At 69 N the sun stays up at midsummer and down at midwinter, but not dark."""
    summer = sun_times(date(2027, 6, 21), ZoneInfo("Europe/Helsinki"), 26.8, 69.0)
    assert (summer.sunrise_s, summer.sunset_s, summer.dusk_s) == (None, None, None)
    winter = sun_times(date(2027, 12, 21), ZoneInfo("Europe/Helsinki"), 26.8, 69.0)
    assert (winter.sunrise_s, winter.sunset_s) == (None, None)
    assert winter.dawn_s is not None
    assert winter.dusk_s is not None


def test_of_two_sunsets_on_one_day_the_last_counts() -> None:
    """As the midnight sun ends it sets after one midnight, and again before the next.

    Counted from the sun's height at each minute of the days of July at 69 N.
    """
    zone = ZoneInfo("Europe/Helsinki")
    found = 0
    for number in range(31):
        day = date(2027, 7, 10) + timedelta(days=number)
        begin_s = datetime(day.year, day.month, day.day, tzinfo=zone).timestamp()
        time_s = begin_s + 60 * np.arange(1441.0)
        up = sun_elevation_deg(time_s, 26.8, 69.0) > HORIZON_DEG
        sets_s = time_s[1:][up[:-1] & ~up[1:]]
        if len(sets_s) == 2:
            found += 1
            sunset_s = sun_times(day, zone, 26.8, 69.0).sunset_s
            assert sunset_s == pytest.approx(sets_s[1], abs=60)
    assert found
