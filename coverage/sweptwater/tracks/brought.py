"""What pairs brought in, as far as its clock is asked about."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import TypeAlias

import numpy as np
import shapely

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.tracks.lag import Minutes, by_minutes
from sweptwater.tracks.record import Record

OFF_SHORE_M = 15.0
AFLOAT_MINUTES = 10
"""A phone that is under way on the water for so long is afloat, not in the lodge."""

Hours: TypeAlias = Mapping[date, Mapping[str, tuple[float, float]]]
"""The first and last minute afloat of each pair on each local day."""


@dataclass(frozen=True, slots=True)
class Brought:
    """One file's fixes, all its days together.

    Parameters
    ----------
    pair, name
        Whose it is, and what the file was called.
    record
        Its fixes in metres, its clock put forward by `shift_s` already.
    shift_s
        What was said of its clock before, in seconds.
    zoneless
        Whether its times carried no zone and were taken as UTC.
    kept
        Whether it was uploaded already.
    """

    pair: str
    name: str
    record: Record
    shift_s: float = 0.0
    zoneless: bool = False
    kept: bool = False

    def put_right(self, more_s: float | None) -> str:
        """Return what to do to put its clock forward by so much more.

        Examples
        --------
        >>> none = np.zeros(0)
        >>> brought = Brought("Heron", "a.gpx", Record(none, none, none, {}), 1800.0)
        >>> brought.put_right(-3600)
        'upload it with --shift -30'
        """
        text = "MIN" if more_s is None else minutes_text(self.shift_s + more_s)
        if self.kept:
            return f"upload {self.name} again with --shift {text}"
        return f"upload it with --shift {text}"


@dataclass(frozen=True, slots=True)
class Here:
    """Where and when a practice is.

    Parameters
    ----------
    zone
        The zone that its days and hours are told in.
    lon, lat
        Degrees, of the middle of the water.
    water
        In metres.
    days
        The practice's days, as far as they are known.
    """

    zone: tzinfo
    lon: float
    lat: float
    water: Area
    days: tuple[date, ...] = ()

    def local(self, time_s: float) -> datetime:
        """Return a time in the practice's zone."""
        return datetime.fromtimestamp(time_s, UTC).astimezone(self.zone)

    def ahead_s(self, time_s: float) -> float:
        """Return what the zone is ahead of UTC at a time."""
        return (self.local(time_s).utcoffset() or timedelta()).total_seconds()


def joined(records: Sequence[Record]) -> Record:
    """Return the parts of one file as one record, the days in their order."""
    parts = sorted(
        (part for part in records if len(part.time_s)), key=lambda part: part.time_s[0]
    )
    none = np.zeros(0)
    return Record(
        np.concatenate([none, *(part.time_s for part in parts)]),
        np.concatenate([none, *(part.easting for part in parts)]),
        np.concatenate([none, *(part.northing for part in parts)]),
        {},
    )


def minutes_text(seconds: float) -> str:
    """Return seconds as the minutes that the command line and a sidecar take.

    Examples
    --------
    >>> minutes_text(-3600), minutes_text(619_315_200), minutes_text(90)
    ('-60', '10321920', '1.5')
    """
    text = f"{seconds / 60:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def span_text(seconds: float) -> str:
    """Return a length of time in minutes and seconds.

    Examples
    --------
    >>> span_text(3600), span_text(-95), span_text(86400)
    ('60 min', '1 min 35 s', '1,440 min')
    """
    whole = round(abs(seconds))
    minutes, rest = divmod(whole, 60)
    return f"{minutes:,} min" + (f" {rest} s" if rest else "")


def days_of(brought: Brought, here: Here) -> tuple[date, ...]:
    """Return the local days of a file, the first and the last."""
    time_s = brought.record.time_s
    if not len(time_s):
        return ()
    ends = {here.local(float(time_s[i])).date() for i in (0, -1)}
    return tuple(sorted(ends))


def apart_s(one: Brought, other: Brought) -> float:
    """Return how long two files lie apart in time; infinite if one is empty."""
    first, second = one.record.time_s, other.record.time_s
    if not len(first) or not len(second):
        return np.inf
    return float(max(first[0] - second[-1], second[0] - first[-1], 0.0))


def afloat_s(brought: Brought, here: Here) -> Floats:
    """Return the full minutes in which a boat was under way on the water for a while.

    Returns
    -------
    time_s
        Seconds since 1970 UTC, increasing.
    """
    minutes = by_minutes(brought.record)
    return minutes.time_s[_on_water(minutes, here.water)]


def hours_by_day(files: Iterable[Brought], here: Here) -> Hours:
    """Return the first and last minute afloat of each pair on each local day."""
    hours: dict[date, dict[str, tuple[float, float]]] = {}
    for brought in files:
        for at in afloat_s(brought, here).tolist():
            pairs = hours.setdefault(here.local(at).date(), {})
            begin, end = pairs.get(brought.pair, (at, at))
            pairs[brought.pair] = (min(begin, at), max(end, at))
    return hours


def _on_water(minutes: Minutes, water: Area) -> Bools:
    shore = water.boundary
    shapely.prepare(water)
    shapely.prepare(shore)
    there = np.flatnonzero(minutes.under_way)
    places = shapely.points(minutes.easting[there], minutes.northing[there])
    off_shore = shapely.contains(water, places)
    off_shore &= ~shapely.dwithin(shore, places, OFF_SHORE_M)
    afloat = np.zeros(len(minutes.time_s), dtype=bool)
    afloat[there[off_shore]] = True
    edges = np.flatnonzero(np.diff(np.r_[False, afloat, False]))
    for start, end in edges.reshape(-1, 2).tolist():
        if end - start < AFLOAT_MINUTES:
            afloat[start:end] = False
    return afloat


def if_local(new: Brought, here: Here) -> Iterator[str]:
    """Yield what to write if times without a zone are local ones."""
    times_s = new.record.time_s
    if len(times_s) and (ahead_s := here.ahead_s(float(np.median(times_s)))):
        yield (
            f"if the device writes local time, {new.put_right(-ahead_s)}: until then "
            "its hours, and perhaps its day, are wrong"
        )
