"""What is remembered of each day: from the rows of a file to drifts and their water."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from operator import attrgetter

from shapely import LineString

from sweptwater.errors import PracticeError, SweptwaterError
from sweptwater.jobs.opened import Opened, local_time
from sweptwater.jobs.spoken import Afloat, Spot, spoken_spot, spot_at
from sweptwater.jobs.wording import day_text, pace_text
from sweptwater.practice.folder import SETTINGS
from sweptwater.practice.remembered import (
    REMEMBERED,
    Told,
    read_sheet,
    told_rows,
)
from sweptwater.practice.sheets import Position, RowFault, row_fault
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import (
    MemoryDay,
    Recalled,
    longest_free,
    part_of,
    recorded_spans,
    straight_drift,
    sweep_recalled,
    wet_parts,
)
from sweptwater.units import length_text

SHORT_M = 10.0
"""Two places nearer to each other than this are one."""

DRIFTING_M_S = (0.03, 1.2)
"""Slower and faster than this no boat drifts for long (from practice, no source)."""

LAND_SHARE = 1 / 3
"""A line with more land than this is no way that a boat can have drifted."""

SPIT_M = 1.0
CLOSED_M = 15.0
"""From so much land, or water out of bounds, on the way is told."""

MOVED_M = 100.0
"""A name and its latitude and longitude that are so far apart were not changed both."""

LEAST_S = 60.0
"""What a track leaves of a drift is counted from so long on, and told from so much."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something odd about a row, in a sentence."""

    told: Told
    text: str


@dataclass(frozen=True, slots=True)
class Memory:
    """What is remembered of each boat-day, in the order of day and pair.

    Parameters
    ----------
    days
        The drifts that count.
    remarks
        What is odd about some rows.
    faults
        The rows that cannot be counted.
    """

    days: tuple[MemoryDay, ...] = ()
    remarks: tuple[Remark, ...] = ()
    faults: tuple[RowFault, ...] = ()

    def of(self, day: date | None, pair: str | None) -> tuple[MemoryDay, ...]:
        """Return what is remembered of a day, by a pair."""
        return tuple(
            told for told in self.days if _is_of(told.day, told.pair, day, pair)
        )

    def remarks_on(self, day: date | None, pair: str | None) -> tuple[str, ...]:
        """Return what is odd about the drifts of a day, by a pair."""
        return tuple(
            remark.text
            for remark in self.remarks
            if _is_of(remark.told.day, remark.told.pair, day, pair)
        )


@dataclass(frozen=True, slots=True)
class Line:
    """A row with its places found: the line that the boat drifted, in metres."""

    told: Told
    ends: tuple[Spot, Spot]
    line: LineString
    remarks: tuple[str, ...]


def _is_of(day: date, pair: str, on: date | None, by: str | None) -> bool:
    return (on is None or day == on) and (by is None or pair == by)


def recall(opened: Opened, boats: Sequence[BoatDay]) -> Memory:
    """Return what is remembered, less what the boats' tracks have.

    A row that cannot be used is told among the faults; the rest go on.

    Parameters
    ----------
    boats
        All boat-days with a track.
    """
    try:
        told, faults = told_rows(read_sheet(opened.practice.folder))
    except PracticeError as error:
        return Memory(faults=(row_fault(REMEMBERED, 0, error),))
    return recall_rows(opened, boats, told, faults)


def recall_rows(
    opened: Opened,
    boats: Sequence[BoatDay],
    told: Iterable[Told],
    faults: Iterable[RowFault] = (),
) -> Memory:
    """Return what some rows tell, less what the boats' tracks have."""
    afloat = Afloat(opened)
    drifts: defaultdict[tuple[date, str], list[Recalled]] = defaultdict(list)
    remarks: list[Remark] = []
    bad, counted = list(faults), list[Told]()
    for row in told:
        if row.struck:
            continue
        try:
            line = find_line(opened, afloat, row)
            found, odd = recalled_drifts(opened, boats, line)
        except SweptwaterError as error:
            bad.append(row_fault(REMEMBERED, row.row, error))
            continue
        drifts[line.told.day, line.told.pair] += found
        odd = [*line.remarks, *odd, *_at_once(line.told, counted)]
        remarks += [Remark(line.told, text) for text in odd]
        counted.append(line.told)
    days = tuple(
        MemoryDay(pair, day, tuple(sorted(those, key=lambda one: one.drift.start_s)))
        for (day, pair), those in sorted(drifts.items(), key=lambda item: item[0])
        if those
    )
    return Memory(days, tuple(remarks), tuple(sorted(bad, key=attrgetter("row"))))


def remembered_faults(opened: Opened) -> tuple[RowFault, ...]:
    """Return the rows of `remembered.csv` that cannot be counted, and why."""
    return recall(opened, ()).faults


def find_line(opened: Opened, afloat: Afloat, told: Told) -> Line:
    """Return the line that a row tells of.

    Raises
    ------
    SweptwaterError
        If there is no such pair or place, or no boat can have drifted so.
    """
    told = replace(told, pair=opened.settings.pair_named(told.pair))
    ends = (
        _spot(opened, told.from_, told.from_at),
        _spot(opened, told.to, told.to_at),
    )
    line = LineString([afloat.near(spot) for spot in ends])
    if line.length < SHORT_M:
        raise PracticeError(
            f"{told.from_} and {told.to} are one place: name where the drift began "
            "and where it ended"
        )
    remarks = (
        *_ashore(opened, told),
        *_on_land(opened, told, line),
        *_out_of_bounds(opened, told, line),
        *_odd_speed(opened, told, line),
        *_elsewhere(opened, told, ends),
    )
    return Line(told, ends, line, remarks)


def recalled_drifts(
    opened: Opened, boats: Sequence[BoatDay], line: Line
) -> tuple[list[Recalled], list[str]]:
    """Return the drifts of a line, less what the boat's track has, and what is odd.

    Of several drifts each is given the same part of the time.
    """
    told, spread = line.told, opened.settings.spread
    start_s, end_s = told_span(opened, told)
    taken = [
        span
        for boat in boats
        if (boat.day, boat.pair) == (told.day, told.pair)
        for span in recorded_spans(boat)
    ]
    venue, each_s = opened.venue, (end_s - start_s) / told.times
    drifts = []
    for number in range(told.times):
        begin_s = start_s + number * each_s
        whole = straight_drift(line.line, begin_s, begin_s + each_s)
        left = longest_free(whole.start_s, whole.end_s, taken)
        if left[1] - left[0] < min(LEAST_S, each_s):
            continue
        drift = part_of(whole, *left)
        swept = sweep_recalled(drift, spread, venue.water, venue.fishable)
        drifts.append(Recalled(drift, swept, way_text(told), told.row))
    had = _recorded_part(opened, told, (start_s, end_s), taken)
    return drifts, [_recorded_text(told, had, drifts)] if had else []


def told_span(opened: Opened, told: Told) -> tuple[float, float]:
    """Return the times of a row, in seconds since 1970 UTC.

    Raises
    ------
    PracticeError
        If the clocks were changed in between so that no time is left.
    """
    start_s, end_s = (_moment_s(opened, told.day, at) for at in (told.start, told.end))
    if not start_s < end_s:
        raise PracticeError(
            f"{told.start:%H:%M} to {told.end:%H:%M} is no time on the night when the "
            "clocks change: write other hours"
        )
    return start_s, end_s


def way_text(told: Told) -> str:
    """Return the two places of a row, in words."""
    return f"{told.from_} to {told.to}"


def _spot(opened: Opened, name: str, at: Position | None) -> Spot:
    return spoken_spot(opened, name) if at is None else spot_at(opened, name, at)


def _moment_s(opened: Opened, day: date, clock: time) -> float:
    return datetime.combine(day, clock, opened.settings.zone).timestamp()


def _ashore(opened: Opened, told: Told) -> Iterator[str]:
    if not opened.settings.rods_on(told.pair, told.day):
        yield (
            f"{told_text(told)}: {SETTINGS} says that {told.pair} stayed ashore that "
            "day: which is right?"
        )


def _on_land(opened: Opened, told: Told, line: LineString) -> Iterator[str]:
    wet_m = sum(part.length for part in wet_parts(line, opened.venue.water))
    land_m = line.length - wet_m
    if land_m > LAND_SHARE * line.length:
        raise PracticeError(
            f"the straight line from {told.from_} to {told.to} lies on land for "
            f"{_length(opened, land_m)} of its {_length(opened, line.length)}: name "
            "places that one drift can join"
        )
    if land_m >= SPIT_M:
        yield (
            f"{told_text(told)}: the straight line crosses {_length(opened, land_m)} "
            "of land, from which nothing is counted"
        )


def _out_of_bounds(opened: Opened, told: Told, line: LineString) -> Iterator[str]:
    closed_m = line.intersection(opened.venue.out_of_bounds).length
    if closed_m >= CLOSED_M:
        yield (
            f"{told_text(told)}: {_length(opened, closed_m)} of it lie out of bounds, "
            "where nothing is counted"
        )


def _odd_speed(opened: Opened, told: Told, line: LineString) -> Iterator[str]:
    start_s, end_s = told_span(opened, told)
    speed_m_s = told.times * line.length / (end_s - start_s)
    slowest, fastest = DRIFTING_M_S
    if slowest <= speed_m_s <= fastest:
        return
    pace = pace_text(speed_m_s, opened.settings.units)
    how = "slower" if speed_m_s < slowest else "faster"
    yield (
        f"{told_text(told)}: {pace} is {how} than a boat drifts: are the "
        "places and the hours right?"
    )


def _elsewhere(opened: Opened, told: Told, ends: tuple[Spot, Spot]) -> Iterator[str]:
    """Tell of a name that was changed without its latitude and longitude."""
    for spot, name in zip(ends, (told.from_, told.to), strict=True):
        try:
            away_m = spoken_spot(opened, name).point.distance(spot.point)
        except PracticeError:  # any words will do where the place itself is written
            continue
        if away_m > MOVED_M:
            yield (
                f"{told_text(told)}: its latitude and longitude, which count, lie "
                f"{_length(opened, away_m)} from {name}; empty those cells to go by "
                "the name"
            )


def _at_once(told: Told, others: Sequence[Told]) -> Iterator[str]:
    """Tell of drifts that one boat cannot have made at the same time."""
    for other in others:
        same = (other.day, other.pair) == (told.day, told.pair)
        if same and told.start < other.end and other.start < told.end:
            yield (
                f"{told_text(told)} is at the same time as that from {other.from_} to "
                f"{other.to}: is one of them told twice?"
            )


def _recorded_part(
    opened: Opened,
    told: Told,
    span: tuple[float, float],
    taken: Sequence[tuple[float, float]],
) -> tuple[str, str] | None:
    """Return the hours between which the track has some of a drift's time."""
    shared = [
        (max(span[0], start_s), min(span[1], end_s))
        for start_s, end_s in taken
        if min(span[1], end_s) - max(span[0], start_s) >= LEAST_S
    ]
    if not shared:
        return None
    first, last = min(start for start, _ in shared), max(end for _, end in shared)
    settings = opened.settings
    return f"{local_time(first, settings):%H:%M}", f"{local_time(last, settings):%H:%M}"


def _recorded_text(told: Told, had: tuple[str, str], drifts: Sequence[Recalled]) -> str:
    has = f"{told.pair}'s track has {had[0]} to {had[1]} already"
    if not drifts:
        return (
            f"{told_text(told)} is not counted from memory: {has}; if it was put in by "
            f"mistake, delete row {told.row} of {REMEMBERED}"
        )
    return f"{told_text(told)}: {has}; what it swept there is counted once, as recorded"


def told_text(told: Told) -> str:
    """Return which drift is meant, to begin a sentence with."""
    return (
        f"{told.pair} on {day_text(told.day)}, {told.start:%H:%M} to "
        f"{told.end:%H:%M}, {way_text(told)}"
    )


def _length(opened: Opened, length_m: float) -> str:
    return length_text(length_m, opened.settings.units)
