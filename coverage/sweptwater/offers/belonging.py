"""Which drift a telling is of: by its start, its clock, its place, or its words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import numpy as np
from shapely import LineString, Point

from sweptwater.offers.hours_told import WHOLE_DAY, Span, lunch_of, told_hours
from sweptwater.practice.tally import Entry
from sweptwater.tracks.drifts import Drift

SAME_START_S = 90.0
"""A start that is written to the minute is that of a drift so near."""

NEAR_START_S = 600.0
"""A row whose drift was cut or joined follows the nearest start up to here."""

NEAR_CLOCK_S = 300.0
"""An offer at a time in no drift is of the nearest one up to here: watches differ."""

BESIDE_M = 60.0
"""A place so far beyond a cast is still of the drift: receivers wander."""

NAMED_M = 250.0
"""An offer "off the tower" was made from a boat within this of it."""


@dataclass(frozen=True, slots=True)
class Drifted:
    """A drift by its number; `source` is track or memory."""

    day: date
    pair: str
    number: int
    drift: Drift
    source: str = "track"

    @property
    def minute_s(self) -> float:
        """When it began, to the minute, as it is written."""
        return self.drift.start_s // 60 * 60

    @property
    def line(self) -> LineString:
        """Where the boat was, in metres."""
        return LineString(np.column_stack([self.drift.easting, self.drift.northing]))


def seconds(day: date, clock: time, zone: ZoneInfo) -> float:
    """Return a local time in seconds since 1970 UTC."""
    return datetime.combine(day, clock, zone).timestamp()


def clock(time_s: float, zone: ZoneInfo) -> time:
    """Return the local time of day of seconds since 1970 UTC, to the minute."""
    local = datetime.fromtimestamp(time_s, UTC).astimezone(zone)
    return local.time().replace(second=0, microsecond=0)


def drift_of_row(
    entry: Entry, drifts: Sequence[Drifted], zone: ZoneInfo
) -> Drifted | None:
    """Return the drift that a row names; None if there is none.

    Its start counts, since numbers change when drifts are joined and cut: the drift
    that began then, else the one that was going on, else the one that began up to ten
    minutes off. Only a row without a start, or of a drift without times, goes by its
    number.
    """
    timed = [one for one in drifts if one.drift.timed]
    if entry.start is None or not timed:
        return next((one for one in drifts if one.number == entry.drift), None)
    at_s = seconds(entry.day, entry.start, zone)
    if entry.drift is not None and 0 < entry.drift <= len(timed):
        numbered = timed[entry.drift - 1]  # nearly always it is just as written
        if numbered.number == entry.drift and numbered.minute_s == at_s:
            return numbered

    def off_s(one: Drifted) -> tuple[float, bool]:
        return abs(one.minute_s - at_s), one.number != entry.drift

    nearest = min(timed, key=off_s)
    if off_s(nearest)[0] <= SAME_START_S:
        return nearest
    going = [one for one in timed if one.drift.start_s <= at_s <= one.drift.end_s]
    if going:
        return going[0]
    return nearest if off_s(nearest)[0] <= NEAR_START_S else None


def drift_at(at_s: float, drifts: Sequence[Drifted]) -> Drifted | None:
    """Return the drift that was going on at a time, or was the nearest five minutes."""
    timed = [one for one in drifts if one.drift.timed]
    if not timed:
        return None

    def off_s(one: Drifted) -> float:
        return max(one.drift.start_s - at_s, at_s - one.drift.end_s, 0.0)

    nearest = min(timed, key=off_s)
    return nearest if off_s(nearest) <= NEAR_CLOCK_S else None


def drift_near(
    place: tuple[float, float], drifts: Sequence[Drifted], within_m: float
) -> Drifted | None:
    """Return the drift whose way is nearest to a place; None if it is too far off."""
    if not drifts:
        return None
    point = Point(place)
    away = [one.line.distance(point) for one in drifts]
    nearest = int(np.argmin(away))
    return drifts[nearest] if away[nearest] <= within_m else None


def hours_of(entry: Entry, drifts: Sequence[Drifted], zone: ZoneInfo) -> Span | None:
    """Return the part of the day that a row's words mean; None if they mean none."""
    spans = [(d.drift.start_s, d.drift.end_s) for d in drifts if d.drift.timed]
    return told_hours(entry.when, lunch_of(sorted(spans), entry.day, zone))


def may_belong(
    entry: Entry,
    near: tuple[float, float] | None,
    drifts: Sequence[Drifted],
    zone: ZoneInfo,
) -> list[Drifted]:
    """Return all drifts that a loose telling may be of: by its hours and its place.

    Where none of those hours passed the place, the place counts alone, and where none
    passed it at all, the hours.

    Parameters
    ----------
    near
        The place that was named, in metres; None if none was, or none is known.
    """
    first, last = hours_of(entry, drifts, zone) or WHOLE_DAY
    first_s, last_s = (seconds(entry.day, at, zone) for at in (first, last))
    then = [
        one
        for one in drifts
        if not one.drift.timed
        or (one.drift.start_s < last_s and one.drift.end_s > first_s)
    ]
    if near is None:
        return then
    point = Point(near)
    there = [one for one in drifts if one.line.distance(point) <= NAMED_M]
    both = [one for one in then if one in there]
    return both or there or then


def reach_m(cast_m: float) -> float:
    """Return how far off a drift's way a fish of it may be, in metres.

    Examples
    --------
    >>> reach_m(20.0)
    80.0
    """
    return cast_m + BESIDE_M
