"""Which times are asked about, which are not, and the number that is given.

The boats are made up: each number of minutes asked for is the one by which the clock
was put wrong. The sun's part is judged by test_daylight.py.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import settings as few
from hypothesis import strategies as st
from shapely import box

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.frame import frame_around
from sweptwater.tracks.brought import Brought, Here, joined, minutes_text
from sweptwater.tracks.clock_doubts import (
    ROLLOVER_DAYS,
    clock_doubts,
)
from sweptwater.tracks.clock_faults import stopped_clock, turned_clock
from sweptwater.tracks.lag import clock_lag, close_lag, put_forward
from sweptwater.tracks.record import Record, clean_record
from sweptwater_demo import ashlode
from sweptwater_demo.simulate import GpsError, Wind, observe, simulate_day
from sweptwater_demo.truth import Truth
from tracks_made import Leg, Trip, trip, wander

LAKES = Path(__file__).parents[1] / ".." / "shared" / "data" / "lakes"
WATER = box(-3000, -3000, 3000, 3000)
PLACES = {
    "Europe/London": (-0.65, 52.65),
    "Asia/Kolkata": (77.0, 15.0),
    "Pacific/Auckland": (176.0, -38.8),
    "America/Los_Angeles": (-120.0, 40.0),
}
DAY = date(2027, 6, 9)
HOURS = (9.2, 17.3)


def _here(zone: str = "Europe/London", days: Sequence[date] = ()) -> Here:
    return Here(ZoneInfo(zone), *PLACES[zone], WATER, tuple(days))


@cache
def _way(seed: int, hours: float) -> Trip:
    """Return a day of drifts on changing courses, with motoring between them."""
    rng = np.random.default_rng(seed)
    legs: list[Leg] = []
    while sum(leg.seconds for leg in legs) < 3600 * hours:
        long_s, course = float(rng.integers(600, 2400)), float(rng.uniform(0, 360))
        back_s = round(0.35 * long_s / 2)
        legs.append(Leg(long_s, 0.35, course))
        legs.append(Leg(back_s, 2, course + 180 + rng.uniform(-25, 25), fishing=False))
    return trip(*legs)


@cache
def _error(seed: int, phone: int) -> Floats:
    """Return how far a phone is off, second by second."""
    rng = np.random.default_rng([seed, phone])
    return wander(len(_way(seed, 9).easting), rng, 3.0)


def _record(
    begin: datetime, *, seed: int = 1, hours: float = 8.0, phone: int = 0, step: int = 5
) -> Record:
    """Return what a phone makes of a boat's way that is told by its seed."""
    way = _way(seed, 9)
    count = round(3600 * hours)
    places: Floats = np.column_stack([way.easting, way.northing])
    places = (places + _error(seed, phone)).astype(np.float64)
    kept = slice(phone % step, count, step)
    time_s = begin.timestamp() + np.arange(float(len(places)))
    return clean_record(time_s[kept], *places[kept].T)


def _boat(
    pair: str = "Heron",
    *,
    here: Here,
    day: date = DAY,
    hours: tuple[float, float] = HOURS,
    seed: int = 1,
    wrong_s: float = 0.0,
    phone: int = 0,
) -> Brought:
    """Return a boat's file, its clock fast by `wrong_s`."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=here.zone)
    begin = midnight + timedelta(hours=hours[0])
    record = _record(begin, seed=seed, hours=hours[1] - hours[0], phone=phone)
    return Brought(pair, f"{pair}-{phone}.gpx", put_forward(record, wrong_s))


def _others(here: Here, day: date = DAY) -> list[Brought]:
    return [
        _boat("Grebe", here=here, day=day, hours=(9.1, 17.4), seed=2),
        _boat("Teal", here=here, day=day, hours=(9.3, 17.2), seed=3),
    ]


def _shift_min(new: Brought, others: Sequence[Brought], here: Here) -> float | None:
    """Return the one number that is asked for; None if nothing is asked."""
    found = clock_doubts(new, others, here)
    if not found:
        return None
    (doubt,) = found
    assert doubt.shift_s is not None, doubt.text
    assert f"--shift {minutes_text(doubt.shift_s)}" in doubt.text
    return doubt.shift_s / 60


# What is right is not asked about


@pytest.mark.parametrize("zone", PLACES)
@pytest.mark.parametrize("month", [3, 6, 9])
def test_an_ordinary_day_raises_no_question(zone: str, month: int) -> None:
    day = date(2027, month, 20)
    here = _here(zone, days=[day])
    for others in ([], _others(here, day)):
        for zoneless in (False, True):
            new = replace(_boat(here=here, day=day), zoneless=zoneless)
            assert clock_doubts(new, others, here) == ()


@pytest.mark.parametrize("hours", [(9.2, 13), (11.4, 17.3), (10.2, 18.6), (10.1, 16)])
def test_a_boat_with_hours_of_its_own_raises_no_question(
    hours: tuple[float, float],
) -> None:
    here = _here()
    new = _boat(here=here, hours=hours)
    assert clock_doubts(new, _others(here), here) == ()


def test_a_boat_that_came_in_early_is_not_asked_even_without_a_zone() -> None:
    here = _here()
    new = replace(_boat(here=here, hours=(10.1, 16)), zoneless=True)
    assert clock_doubts(new, _others(here), here) == ()


def test_a_late_return_is_no_question() -> None:
    """On 30 October the sun sets at 16:38 UTC; a boat is out till an hour after."""
    here, day = _here(), date(2027, 10, 30)
    new = _boat(here=here, day=day, hours=(10, 18.6))
    assert clock_doubts(new, [], here) == ()


def test_all_who_come_in_late_are_believed() -> None:
    """The same day until 19:00: alone a boat is asked about, with the others not."""
    here, day = _here(), date(2027, 10, 30)
    new = _boat(here=here, day=day, hours=(10, 19))
    assert _shift_min(new, [], here) == -60
    other = _boat("Teal", here=here, day=day, hours=(10.1, 18.9), seed=3)
    assert clock_doubts(new, [other], here) == ()
    early = _boat("Teal", here=here, day=day, hours=(10.1, 16.5), seed=3)
    assert clock_doubts(new, [early], here) == ()


def test_a_phone_that_is_driven_home_by_night_is_no_question() -> None:
    here = _here()
    way = _boat(here=here, wrong_s=12 * 3600)
    east = way.record.easting + 10_000
    record = Record(way.record.time_s, east, way.record.northing, {})
    assert clock_doubts(way, [], here) != ()
    assert clock_doubts(replace(way, record=record), [], here) == ()


def test_a_phone_in_the_lodge_all_night_is_no_question() -> None:
    here = _here()
    begin = datetime(2027, 6, 9, 18, tzinfo=here.zone).timestamp()
    error = wander(12 * 3600, np.random.default_rng(3), 4.0)
    record = clean_record(begin + np.arange(12.0 * 3600), error[:, 0], error[:, 1])
    assert clock_doubts(Brought("Heron", "a.gpx", record), [], here) == ()


def test_an_empty_file_raises_no_question() -> None:
    assert clock_doubts(Brought("Heron", "a.gpx", joined([])), [], _here()) == ()


# The sun


@pytest.mark.parametrize(
    ("zone", "minutes"),
    [("Asia/Kolkata", 330), ("Pacific/Auckland", 720), ("America/Los_Angeles", -420)],
)
@pytest.mark.parametrize("alone", [True, False])
def test_local_time_passed_off_as_utc(zone: str, minutes: float, alone: bool) -> None:
    here = _here(zone)
    new = _boat(here=here, wrong_s=60 * minutes)
    others = [] if alone else _others(here)
    assert _shift_min(new, others, here) == -minutes
    assert (
        "write local time as if it were UTC" in clock_doubts(new, others, here)[0].text
    )


@pytest.mark.parametrize("hours", [12, -12])
def test_morning_for_afternoon(hours: float) -> None:
    """The other boats tell the day; without them both days are offered."""
    here = _here()
    new = _boat(here=here, wrong_s=3600 * hours)
    assert _shift_min(new, _others(here), here) == -60 * hours
    (doubt,) = clock_doubts(new, [], here)
    assert doubt.shift_s is None
    assert "2027-06-09: upload it with --shift" in doubt.text
    assert "--shift -720; if it was" in doubt.text
    assert doubt.text.endswith("--shift 720")


def test_what_only_the_other_boats_tell() -> None:
    """Five hours out is nobody's usual mistake, in winter when London keeps UTC."""
    here, day = _here(), date(2027, 2, 20)
    new = _boat(here=here, day=day, hours=(9.2, 15.5), wrong_s=5 * 3600)
    other = _boat("Teal", here=here, day=day, hours=(9.3, 15.4), seed=3)
    assert _shift_min(new, [other], here) == -300
    (doubt,) = clock_doubts(new, [], here)
    assert doubt.shift_s is None
    # First light is about 6:30 and last about 18:00: all in between will do.
    assert doubt.text == (
        "by its times it was afloat from 14:12 to 20:29, 2 h 30 of that in the dark: "
        "by how many minutes is its clock slow? -450 to -150 would be in daylight: "
        "upload it with --shift MIN"
    )


def test_the_sentence_as_it_is_said() -> None:
    here = _here("Pacific/Auckland")
    new = _boat(here=here, wrong_s=12 * 3600)
    (doubt,) = clock_doubts(new, [], here)
    assert doubt.text == (
        "by its times it was afloat from 21:12 to 05:17, 8 h 06 of that in the dark: "
        "does the device write local time as if it were UTC? then upload it with "
        "--shift -720"
    )


def _northern() -> tuple[Here, float]:
    """Return a lake at 69 N (Natural Earth, public domain), and its widest radius."""
    file = LAKES / "ne10m_eu_muddusjarvi.geojson"
    if not file.exists():
        pytest.skip(f"{file.name} is not here")
    lake = shapely.get_parts(shapely.from_geojson(file.read_text()))[0]
    frame = frame_around(lake.bounds)
    water = shapely.get_parts(frame.metres(lake))
    widest: Area = max(water, key=lambda part: part.area)
    radius = shapely.maximum_inscribed_circle(widest)
    east, north = shapely.get_coordinates(radius)[0]
    moved = shapely.transform(widest, lambda xy: xy - (east, north))
    zone = ZoneInfo("Europe/Helsinki")
    return Here(zone, frame.lon, frame.lat, moved), radius.length


def test_where_the_sun_never_sets_the_dark_tells_nothing() -> None:
    """Twelve hours out: at 69 N it is light; the same at 52.65 N is asked about."""
    here, radius_m = _northern()
    way = _boat(here=here, wrong_s=12 * 3600)
    reach_m = np.hypot(way.record.easting, way.record.northing).max()
    scale = min(1.0, radius_m / reach_m)
    record = Record(
        way.record.time_s, scale * way.record.easting, scale * way.record.northing, {}
    )
    new = replace(way, record=record)
    assert clock_doubts(new, [], here) == ()
    southern = replace(here, lat=52.65)
    assert "in the dark" in clock_doubts(new, [], southern)[0].text


def test_where_the_sun_never_rises_the_dark_tells_nothing() -> None:
    """At 75 N in December no time of day is light: nothing would be mended."""
    here = replace(_here(), lat=78.0)
    new = _boat(here=here, day=date(2027, 12, 20))
    assert clock_doubts(new, [], here) == ()


# Another record of the same boat


@pytest.mark.parametrize("minutes", [60, -60, 30, 5, 720, -1440, 47 + 13 / 60])
def test_the_same_way_at_another_time(minutes: float) -> None:
    """To the nearest five seconds, whatever the two receivers' own errors."""
    here = _here()
    first = _boat(here=here)
    second = _boat(here=here, phone=1, hours=(9.2, 15), wrong_s=60 * minutes)
    doubt = clock_doubts(second, [first, *_others(here)], here)[0]
    assert doubt.shift_s == pytest.approx(-60 * minutes, abs=5)
    assert "it goes the way of Heron-0.gpx" in doubt.text
    if minutes == 60:
        assert doubt.text == (
            "it goes the way of Heron-0.gpx, Heron's too, 60 min later; which clock is "
            "wrong? if its own, upload it with --shift -60; if that of Heron-0.gpx, "
            "upload it with --shift 60"
        )


@given(st.integers(120, 40_000), st.sampled_from([1, -1]))
@few(max_examples=8)
def test_any_lag_is_found_to_the_second(seconds: int, sense: int) -> None:
    here = _here()
    first = _boat(here=here).record
    second = _boat(here=here, phone=1, wrong_s=float(sense * seconds)).record
    lag = clock_lag(first, second, most_s=86_400)
    assert lag is not None
    assert lag.seconds == pytest.approx(-sense * seconds, abs=4)
    assert lag.apart_m < 10


@pytest.mark.parametrize("seconds", [0, 3, -20, 45])
def test_seconds_are_not_asked_about_but_known(seconds: float) -> None:
    here = _here()
    first = _boat(here=here)
    second = _boat(here=here, phone=1, wrong_s=seconds)
    assert clock_doubts(second, [first], here) == ()
    lag = close_lag(first.record, second.record, reach_s=60)
    assert lag is not None
    assert lag.seconds == pytest.approx(-seconds, abs=4)


def test_another_boats_way_is_no_lag() -> None:
    here = _here()
    first, other = _boat(here=here).record, _boat(here=here, seed=2).record
    assert clock_lag(first, other, most_s=86_400) is None
    assert close_lag(first, other, reach_s=60) is None


def test_one_drift_fished_again_is_no_lag() -> None:
    """The same line at the same pace, in the morning's file and the afternoon's."""
    here = _here()
    drift = (Leg(4200, 0.4, 90), Leg(840, 2, 270, fishing=False))
    first = (Leg(7200, 0.3, 20), *drift, Leg(900, 0, 0))
    way = trip(*first, *drift, Leg(7200, 0.3, 140))
    again = round(sum(leg.seconds for leg in first))
    begin = datetime(2027, 6, 9, 9, tzinfo=here.zone).timestamp()
    time_s = begin + np.arange(float(len(way.easting)))
    files = [
        Brought("Heron", f"{at}.gpx", Record(*_part(way, time_s, at), {}))
        for at in (slice(0, again), slice(again, None))
    ]
    assert clock_doubts(files[1], files[:1], here) == ()
    assert clock_doubts(files[0], files[1:], here) == ()


def _part(way: Trip, time_s: Floats, at: slice) -> tuple[Floats, Floats, Floats]:
    return time_s[at], way.easting[at], way.northing[at]


def test_the_dark_tells_which_of_two_is_wrong() -> None:
    here = _here("Pacific/Auckland")
    right = _boat(here=here)
    wrong = _boat(here=here, phone=1, wrong_s=12 * 3600)
    wrong = replace(wrong, name="b.gpx", kept=True)
    text = clock_doubts(wrong, [right], here)[0].text
    assert text.endswith(
        "its own has it out in the dark: then upload b.gpx again with --shift -720"
    )
    text = clock_doubts(right, [wrong], here)[0].text
    assert text.endswith(
        "the other has it out in the dark: then upload b.gpx again with --shift -720"
    )


def test_what_was_said_before_is_reckoned_in() -> None:
    """Put forward by an hour already, and wrongly: both hours come off."""
    here = _here()
    new = replace(
        _boat(here=here, phone=1, wrong_s=7200),
        name="a.gpx",
        shift_s=3600.0,
        kept=True,
    )
    text = clock_doubts(new, [_boat(here=here)], here)[0].text
    assert "if its own, upload a.gpx again with --shift -60;" in text


def test_a_range_of_shifts_reckons_in_what_was_said_before() -> None:
    here, day = _here(), date(2027, 2, 20)
    new = _boat(here=here, day=day, hours=(9.2, 15.5), wrong_s=5 * 3600)
    (doubt,) = clock_doubts(replace(new, shift_s=3600.0), [], here)
    assert "-390 to -90 would be in daylight" in doubt.text


# The other boats


def test_an_hour_beside_the_other_boats_is_asked_of_times_without_a_zone() -> None:
    here = _here()
    new = _boat(here=here, wrong_s=3600)
    assert clock_doubts(new, _others(here), here) == ()
    loose = replace(new, zoneless=True)
    assert _shift_min(loose, _others(here), here) == -60
    assert clock_doubts(loose, _others(here)[:1], here) == ()
    alike = _boat("Coot", here=here, seed=5, wrong_s=3600)
    assert clock_doubts(loose, [*_others(here), alike], here) == ()
    assert clock_doubts(loose, [], here) == ()


def test_two_phones_that_agree_outweigh_the_other_boats() -> None:
    here = _here()
    loose = replace(_boat(here=here, wrong_s=3600), zoneless=True)
    second = _boat(here=here, phone=1, wrong_s=3600)
    assert clock_doubts(loose, [second, *_others(here)], here) == ()


# The days


def test_a_count_of_weeks_that_began_anew() -> None:
    here = _here(days=[DAY])
    for new, others in (
        (_boat(here=here, wrong_s=-86_400.0 * ROLLOVER_DAYS), []),
        (
            _boat(here=here, wrong_s=-86_400.0 * (ROLLOVER_DAYS - 1)),
            [_boat("Teal", here=here, seed=2)],
        ),
    ):
        assert _shift_min(new, others, here) == 10_321_920
    assert ROLLOVER_DAYS * 1440 == 10_321_920


@pytest.mark.parametrize(("away", "asked"), [(60, False), (61, True), (-61, True)])
def test_a_day_far_from_all_others(away: int, asked: bool) -> None:
    here = _here()
    new = _boat(here=here, day=DAY + timedelta(days=away))
    found = clock_doubts(new, [_boat("Teal", here=here)], here)
    assert bool(found) == asked
    if asked:
        assert found[0].shift_s is None
        assert "is 61 days from the others" in found[0].text


@pytest.mark.parametrize("ahead", [1, -1])
def test_a_clock_that_is_a_day_out(ahead: int) -> None:
    """Asked only if the practice's days are known and the pair is missing there."""
    here = _here(days=[DAY])
    new = _boat(here=here, wrong_s=-86_400.0 * ahead)
    assert _shift_min(new, _others(here), here) == 1440 * ahead
    assert clock_doubts(new, _others(here), replace(here, days=())) == ()
    assert clock_doubts(new, [], here) == ()
    both = [DAY, DAY - timedelta(days=ahead)]
    assert clock_doubts(new, _others(here), replace(here, days=tuple(both))) == ()
    there = [*_others(here), _boat(here=here, seed=7)]
    assert clock_doubts(new, there, here) == ()
    with_us = [
        *_others(here),
        _boat("Teal", here=here, seed=8, wrong_s=-86_400 * ahead),
    ]
    assert clock_doubts(new, with_us, here) == ()


# A clock that stops or goes back


def test_a_clock_that_stood_still() -> None:
    time_s = np.r_[np.arange(300.0), np.full(700, 299.0)]
    assert list(stopped_clock(time_s)) == [
        "its clock stood still for 700 of 1,000 fixes"
    ]
    assert list(stopped_clock(np.arange(1000.0))) == []


def _turned(time_s: Floats, segment: Ints | None = None) -> list[str]:
    part = np.zeros(len(time_s), dtype=np.int64) if segment is None else segment
    return list(turned_clock(time_s, part, ZoneInfo("Europe/London")))


def test_a_clock_that_was_put_back() -> None:
    begin = datetime(2027, 6, 9, 10, tzinfo=ZoneInfo("Europe/London")).timestamp()
    time_s = begin + np.r_[np.arange(1800.0), np.arange(1800.0) - 1800.0]
    assert _turned(time_s) == [
        "its clock went back by 60 min after 10:29 on 9 June: was it set then? then "
        "split the file there, and upload either the part before it with --shift -60 "
        "or that after it with --shift 60"
    ]
    assert _turned(np.sort(time_s)) == []
    assert _turned(time_s[::-1]) == []  # the file, not the clock, goes backwards
    assert _turned(time_s[:1800:75][::-1]) == []
    two = (np.arange(3600) >= 1800).astype(np.int64)
    assert _turned(time_s, two) == []  # two parts, in any order
    assert _turned(begin + np.array([0.0, 1, 2, 1, 2, 3])) == []  # a second is nothing


def test_a_clock_without_an_afternoon() -> None:
    zone = ZoneInfo("Europe/London")
    begin = datetime(2027, 6, 9, 12, 30, tzinfo=zone).timestamp()
    time_s = begin + np.arange(3600.0)
    time_s[1800:] -= 12 * 3600
    (text,) = _turned(time_s)
    assert "after 12:59 on 9 June: does it write 1 o'clock for 13:00?" in text
    assert text.endswith("upload that after it with --shift 720")


# How often a right clock is asked about


def _cut(truth: Truth, start_s: float, seconds: int, seed: int) -> Record:
    fixes = observe(truth, gps=GpsError(step_s=5), seed=seed)
    kept = fixes.time_s < seconds
    return clean_record(
        fixes.time_s[kept] + start_s, fixes.easting[kept], fixes.northing[kept]
    )


@pytest.mark.slow
@pytest.mark.parametrize("zone", ["Europe/London", "Pacific/Auckland"])
def test_right_clocks_are_asked_about_less_than_once_in_fifty_days(zone: str) -> None:
    """Boats of the demo, from March to October, some late, early or with two phones."""
    rng = np.random.default_rng(17)
    jetty = ashlode.jetties()["Boathouse Jetty"]
    truths = [
        simulate_day(
            ashlode.fishable(),
            jetty,
            water=ashlode.water(),
            wind=Wind(float(rng.uniform(0, 360)), float(rng.uniform(3, 8))),
            style="mixed",
            start_s=0.0,
            seed=seed,
            hours=float(rng.uniform(6.5, 8.5)),
        )
        for seed in range(12)
    ]
    asked = 0
    for practice in range(12):
        day = date(2027, 3, 20) + timedelta(days=int(rng.integers(0, 200)))
        lon_lat = PLACES[zone]
        here = Here(ZoneInfo(zone), *lon_lat, ashlode.water(), (day,))
        midnight_s = datetime(
            day.year, day.month, day.day, tzinfo=here.zone
        ).timestamp()
        seen: list[Brought] = []
        for number in rng.permutation(len(truths))[:9].tolist():
            pair = f"Pair-{number}"
            start_s = float(round(midnight_s + 3600 * rng.normal(9.1, 0.25)))
            long_s = int(len(truths[number].time_s) * rng.choice([1, 1, 1, 0.6]))
            long_s = min(long_s, round(midnight_s + 17.5 * 3600 - start_s))
            for phone in range(rng.integers(1, 3)):
                record = _cut(truths[number], start_s, long_s, practice + phone)
                new = Brought(pair, f"{pair}-{phone}.gpx", record, zoneless=True)
                asked += bool(clock_doubts(new, seen, here))
                seen.append(new)
    assert asked <= 12 * 9 / 50
