"""Put a drift in from memory, and strike one out again."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.jobs.boats import Boats, read_boat_days
from sweptwater.jobs.listed import DriftLine, ToldDrift, told_drifts
from sweptwater.jobs.opened import (
    Opened,
    Watch,
    last_day,
    open_folder,
    parse_day,
    unwatched,
)
from sweptwater.jobs.recall import (
    Line,
    Memory,
    find_line,
    recall,
    recall_rows,
    told_span,
)
from sweptwater.jobs.spoken import Afloat, Spot
from sweptwater.jobs.wording import day_text
from sweptwater.practice.files import writing
from sweptwater.practice.folder import check_practice
from sweptwater.practice.remembered import (
    MOST_TIMES,
    REMEMBERED,
    Told,
    check_span,
    read_sheet,
    save_sheet,
    told_rows,
    with_struck,
    with_told,
)
from sweptwater.practice.sheets import PLACES, parse_clock
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.memory import memory_lines

SPAN = re.compile(r"(.+?)\s*(?:-|\u2013|\bto\b)\s*(.+)")

FAR_DAYS = 60
"""A day this far from those of all tracks is a slip of the pencil."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """What somebody remembers of a drift, in their words.

    Parameters
    ----------
    pair, day
        Whose it was, and when; the last day with tracks, if not said.
    from_, to
        Marks, jetties, banks, or latitudes and longitudes.
    at
        The hours, like 11:05-11:50.
    times
        How often the same way was drifted in that time.
    note
        What else was said.
    """

    pair: str
    from_: str
    to: str
    at: str
    day: str | None = None
    times: int = 1
    note: str = ""


@dataclass(frozen=True, slots=True)
class SpotLine:
    """A place that was named, and where it was taken to be, in degrees."""

    name: str
    lat: float
    lon: float


@dataclass(frozen=True, slots=True)
class Added:
    """What became of a drift that somebody told; areas in m2.

    `known` is whether it had been told before, so that nothing changes; `row` is its
    row in the file. `new_m2` is what no track has swept, and nobody told of before.
    """

    day: date
    pair: str
    from_: SpotLine
    to: SpotLine
    row: int
    known: bool
    drifts: tuple[DriftLine, ...]
    swept_m2: float
    new_m2: float
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Struck:
    """The drifts that one row told of and that do not count any more."""

    day: date
    pair: str
    row: int
    drifts: tuple[DriftLine, ...]


def add_drift(folder: Path, say: Say, *, watch: Watch = unwatched) -> Added:
    """Put a drift in from memory.

    Raises
    ------
    SweptwaterError
        If the pair, the day, the hours or the places cannot be understood, or no boat
        can have drifted so.
    """
    check_practice(folder)  # no lock is left in a folder that is none
    opened = open_folder(folder)
    told = _told(opened, say)
    line = find_line(opened, Afloat(opened), told)
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    told = replace(
        line.told,
        day=told.day if say.day else last_day(boat.day for boat in boats.days),
        from_at=_position(opened, line.ends[0]),
        to_at=_position(opened, line.ends[1]),
    )
    told_span(opened, told)  # on the night when the clocks change
    with writing(folder):
        sheet = read_sheet(folder)
        rows, _ = told_rows(sheet)
        there = next((row for row in rows if _is_same(row, told)), None)
        if there is None:
            sheet = with_told(sheet, told)
            save_sheet(folder, sheet)
            told = replace(told, row=len(sheet.rows))
        else:
            told = there
    return _added(opened, boats, replace(line, told=told), known=there is not None)


def strike_drift(
    folder: Path,
    number: int,
    *,
    pair: str,
    day: str | None = None,
    when: str,
    watch: Watch = unwatched,
) -> Struck:
    """Strike out a drift from memory: its row stays in the file and does not count.

    Parameters
    ----------
    number
        As the drifts of that day and pair are listed.
    when
        What to write beside it.

    Raises
    ------
    SweptwaterError
        If there is no such drift, or it was recorded.
    """
    check_practice(folder)
    opened = open_folder(folder)
    pair = opened.settings.pair_named(pair)
    boats = read_boat_days(opened, opened.practice.originals, watch=watch)
    memory = recall(opened, boats.days)
    on = parse_day(day) if day else _last_told(memory, pair)
    those = [
        told
        for told in told_drifts(opened, boats.days, memory.days)
        if (told.line.day, told.line.pair) == (on, pair)
    ]
    drift = _numbered(those, number, f"{pair} on {day_text(on)}")
    with writing(folder):
        sheet = read_sheet(folder)
        now = {told.row: told for told in told_rows(sheet)[0] if not told.struck}
        row = now.get(drift.row)
        if row is None or (row.day, row.pair.casefold()) != (on, pair.casefold()):
            raise PracticeError(
                f"{REMEMBERED} was changed meanwhile: list the drifts and try again"
            )
        save_sheet(folder, with_struck(sheet, drift.row, when))
    gone = tuple(told.line for told in those if told.row == drift.row)
    return Struck(on, pair, drift.row, gone)


def _told(opened: Opened, say: Say) -> Told:
    """Return what was said; on any day, if that is left to the tracks."""
    span = SPAN.fullmatch(" ".join(say.at.split()))
    if not span:
        raise PracticeError(f"{say.at!r} are no hours: write them like 11:05-11:50")
    start, end = parse_clock(span[1]), parse_clock(span[2])
    check_span(start, end)
    if not 1 <= say.times <= MOST_TIMES:
        raise PracticeError(
            f"nobody drifts the same way {say.times} times: say from 1 to {MOST_TIMES}"
        )
    return Told(
        day=parse_day(say.day) if say.day else date(2000, 6, 1),
        pair=opened.settings.pair_named(say.pair),
        start=start,
        end=end,
        from_=" ".join(say.from_.split()),
        to=" ".join(say.to.split()),
        times=say.times,
        note=" ".join(say.note.split()),
    )


def _last_told(memory: Memory, pair: str) -> date:
    days = [told.day for told in memory.days if told.pair == pair]
    if not days:
        raise PracticeError(
            f"there is no drift from memory of {pair}: nothing to strike"
        )
    return max(days)


def _position(opened: Opened, spot: Spot) -> tuple[float, float]:
    lon, lat = opened.venue.frame.to_degrees(spot.easting, spot.northing)
    return round(float(lon), PLACES), round(float(lat), PLACES)


def _is_same(row: Told, told: Told) -> bool:
    """Tell whether a row that counts tells the same, whatever it notes beside."""
    if row.struck:
        return False
    return _meaning(row) == _meaning(told)


def _meaning(told: Told) -> tuple[object, ...]:
    """Return what a row says, whatever it calls the places and notes beside."""
    return (
        *(told.day, told.pair.casefold(), told.start, told.end, told.times),
        *(told.from_at or told.from_.casefold(), told.to_at or told.to.casefold()),
    )


def _added(opened: Opened, boats: Boats, line: Line, *, known: bool) -> Added:
    told = line.told
    memory = recall(opened, boats.days)
    mine = recall_rows(opened, boats.days, [told])
    before = [
        replace(day, drifts=tuple(one for one in day.drifts if one.row != told.row))
        for day in memory.days
    ]
    recorded = [boat.stack.once for boat in boats.days]
    recorded += [day.stack.once for day in before]
    (fresh,) = memory_lines(mine.days, recorded) or (None,)
    drifts = told_drifts(opened, boats.days, memory.days)
    return Added(
        day=told.day,
        pair=told.pair,
        from_=_spot_line(opened, line.ends[0]),
        to=_spot_line(opened, line.ends[1]),
        row=told.row,
        known=known,
        drifts=tuple(one.line for one in drifts if one.row == told.row),
        swept_m2=fresh.swept_m2 if fresh else 0.0,
        new_m2=fresh.new_m2 if fresh else 0.0,
        remarks=(
            *(one.text for one in memory.remarks if one.told.row == told.row),
            *_odd_day(boats.days, told),
        ),
    )


def _spot_line(opened: Opened, spot: Spot) -> SpotLine:
    lon, lat = _position(opened, spot)
    return SpotLine(spot.name, lat, lon)


def _odd_day(boats: Sequence[BoatDay], told: Told) -> list[str]:
    off = min((abs(boat.day - told.day).days for boat in boats), default=0)
    if off <= FAR_DAYS:
        return []
    return [
        f"{told.day.isoformat()} is {off:,} days from all tracks: is the day right?"
    ]


def _numbered(those: Sequence[ToldDrift], number: int, whose: str) -> ToldDrift:
    there = {told.line.number: told for told in those}
    if number not in there:
        raise PracticeError(
            f"there is no drift {number} of {whose}: list them with sweptwater drifts"
        )
    if there[number].line.source != "memory":
        raise PracticeError(
            f"drift {number} of {whose} was recorded: only one from memory can be "
            "struck out here"
        )
    return there[number]
