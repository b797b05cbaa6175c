"""Originals to records: read, parted by day, and several of one boat made one."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import combinations

import numpy as np
import shapely

from sweptwater.arrays import Floats, Ints
from sweptwater.errors import TrackError
from sweptwater.jobs.opened import Opened
from sweptwater.practice.originals import Original
from sweptwater.practice.settings import Settings
from sweptwater.tracks.lag import close_lag, put_forward
from sweptwater.tracks.read import Recording, read_track
from sweptwater.tracks.record import (
    Record,
    apart_m,
    clean_record,
    fill_gaps,
    silence_s,
)
from sweptwater.tracks.untimed import untimed_ways

APART_M = 100.0
"""Two records that are this far apart, half of the time, were not in one boat."""

CLOCK_S = 60.0
"""Two phones' clocks may differ by this without anyone being asked."""

QUARTER_S = 900
"""Zones change their offset on a quarter of an hour of UTC, not always on the hour."""

SQUARE_M = 25.0
"""The side of the squares in which a record is asked how much water it saw."""

NEAR_M = 200.0
"""A fix this near to the water can be the venue's."""

_NOTHING = Record(np.zeros(0), np.zeros(0), np.zeros(0), {})

LONGEST_SHIFT_S = 30 * 365.25 * 86400
"""Counters of weeks in receivers run over after 19.6 years; nothing errs by more."""


@dataclass(frozen=True, slots=True)
class DayFixes:
    """The part of one file that belongs to one local day, cleaned, in metres.

    `untimed` are the ways, each (n, 2), of a track that has no times and is all
    fishing, by the user's word.
    """

    pair: str
    day: date
    name: str
    record: Record
    untimed: tuple[Floats, ...] = ()


def read_original(
    opened: Opened, original: Original
) -> tuple[Recording, list[DayFixes]]:
    """Return what one original holds, and its fixes day by day.

    Raises
    ------
    TrackError
        If it cannot be read, has no times, or is not from this water.
    """
    recording = read_track(original.read(), name=original.name)
    return recording, day_fixes(opened, original, recording)


def day_fixes(
    opened: Opened, original: Original, recording: Recording
) -> list[DayFixes]:
    """Return the fixes of a recording by local day, in metres.

    Raises
    ------
    TrackError
        If it has no times, or is not from this water.
    """
    fixes = recording.fixes
    easting, northing = opened.venue.frame.to_metres(fixes.lon, fixes.lat)
    _check_shift(original)
    _check_near(opened, original, easting, northing)
    if not np.isfinite(fixes.time_s).any():
        day = _untimed_day(original)
        ways = untimed_ways(easting, northing, fixes.segment)
        if not ways:
            raise TrackError(f"{original.name} stays on one spot and has no times")
        return [DayFixes(original.pair, day, original.name, _NOTHING, ways)]
    time_s = fixes.time_s + original.shift_s
    number = local_days(time_s, opened.settings)
    return [
        DayFixes(
            original.pair,
            date.fromordinal(int(day)),
            original.name,
            clean_record(time_s[here], easting[here], northing[here]),
        )
        for day in np.unique(number[number > 0])
        if (here := number == day).any()
    ]


def local_days(time_s: Floats, settings: Settings) -> Ints:
    """Return the proleptic ordinal of each fix's local day; 0 without a time."""
    timed = np.isfinite(time_s)
    quarter = np.floor(time_s[timed] / QUARTER_S).astype(np.int64)
    found, which = np.unique(quarter, return_inverse=True)
    ahead_s = [_ahead_s(int(at * QUARTER_S), settings) for at in found]
    days = np.zeros(len(time_s), dtype=np.int64)
    offset = np.array(ahead_s)[which] if len(found) else np.zeros(0)
    epoch = date(1970, 1, 1).toordinal()
    days[timed] = epoch + np.floor((time_s[timed] + offset) / 86400).astype(np.int64)
    return days


def one_boat(opened: Opened, records: list[Record]) -> tuple[Record, int]:
    """Return one record of a boat's day, and how many were of another boat.

    The record that saw most of the water is the path, and the others only fill its
    gaps: a phone left ashore has many fixes and saw little. One that was elsewhere
    while both were running is left out, as is one that stayed ashore; where two agree,
    a third is. A clock that is seconds off the first's is put right.
    """
    rules = opened.settings.rules
    ranked = _ranked(opened, records)
    whole, left_out = ranked[0], 0
    for other in ranked[1:]:
        lag = close_lag(whole, other, reach_s=CLOCK_S)
        if lag is not None:
            other = put_forward(other, lag.seconds)
        metres = apart_m(whole, other, rules.gap_s)
        if metres and metres > APART_M:
            left_out += bool(_water_seen(other, opened))
            continue
        gap_s = silence_s(whole.time_s, rules.gap_s, rules.bridge_s)
        whole = fill_gaps(whole, other, gap_s, APART_M)
    return whole, left_out


def _ranked(opened: Opened, records: list[Record]) -> list[Record]:
    """Return the records, first the one to go by.

    Of those that saw at least half as much water as any, the more others bear one out,
    the sooner it is believed: phones left ashore agree too, and tell nothing.
    """
    gap_s = opened.settings.rules.gap_s
    seen = [_water_seen(record, opened) for record in records]
    afloat = [k for k, squares in enumerate(seen) if 2 * squares >= max(seen)]
    borne_out = [0] * len(records)
    for one, two in combinations(afloat if len(afloat) > 2 else (), 2):
        metres = apart_m(records[one], records[two], gap_s)
        agree = metres is not None and metres <= APART_M
        borne_out[one] += agree
        borne_out[two] += agree
    order = sorted(
        range(len(records)),
        key=lambda k: (borne_out[k], seen[k], len(records[k].time_s)),
        reverse=True,
    )
    return [records[k] for k in order]


def _water_seen(record: Record, opened: Opened) -> int:
    """Return how many squares of the water a record has fixes in."""
    water = opened.venue.water
    shapely.prepare(water)
    afloat = shapely.contains_xy(water, record.easting, record.northing)
    squares = np.floor(
        np.column_stack([record.easting, record.northing])[afloat] / SQUARE_M
    )
    return len(np.unique(squares, axis=0))


def _ahead_s(time_s: int, settings: Settings) -> float:
    moment = datetime.fromtimestamp(time_s, UTC).astimezone(settings.zone)
    return (moment.utcoffset() or timedelta()).total_seconds()


def _check_shift(original: Original) -> None:
    if not abs(original.shift_s) <= LONGEST_SHIFT_S:
        raise TrackError(
            f"{original.name}: no clock is {original.shift_s / 60:,.0f} minutes slow; "
            "say by how many it is"
        )


def _untimed_day(original: Original) -> date:
    """Return the day of a track that has no times, by the user's word.

    Raises
    ------
    TrackError
        If it is not said that all of it is fishing, or of which day it is.
    """
    if original.said.all_fishing and original.said.day:
        return original.said.day
    what = "of which day it is: --day"
    if not original.said.all_fishing:
        what = f"that nothing in it is motoring: --all-fishing, and {what}"
    raise TrackError(
        f"{original.name} has no times, so nobody can tell its fishing from its "
        f"motoring: export the track again with times, or upload it and say {what}"
    )


def _check_near(
    opened: Opened, original: Original, easting: Floats, northing: Floats
) -> None:
    finite = np.isfinite(easting) & np.isfinite(northing)
    west, south, east, north = opened.venue.water.bounds
    off_east = np.maximum(west - easting, easting - east)
    off_north = np.maximum(south - northing, northing - north)
    away_m = np.maximum(0.0, np.maximum(off_east, off_north))[finite]
    if len(away_m) and away_m.min() < NEAR_M:
        return
    away = f"{away_m.min() / 1000:,.0f} km" if len(away_m) else "a quarter of the globe"
    raise TrackError(
        f"{original.name} is from elsewhere: it never comes nearer than {away} to "
        f"{opened.settings.name}; is it the right file?"
    )
