"""What the notes say of nights, of stocking, and of other boats."""

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import TypeVar

from sweptwater.errors import PracticeError
from sweptwater.jobs.note_words import warmth_c
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.spoken import spoken_spot, spot_at
from sweptwater.jobs.wording import day_text
from sweptwater.offers.noted import Noted
from sweptwater.offers.wind import Wind, beaufort
from sweptwater.practice.notes import Note, note_rows, read_notes
from sweptwater.search.ageing import Night
from sweptwater.search.trust import BoatsSeen

NOON = time(12, 0)

Value = TypeVar("Value")

COLD = re.compile(
    r"(?<!\bno )(?<!\bnot )(?<!\bwithout )(?<!\bnever )(?<!\bno ground )"
    r"(?<!\bno sign of )(?<!\bno more )\b"
    r"(frost\w*(?![- ]free)|froze\w*|freezing|cold snap"
    r"|much colder|(?:turned|got|went) cold(?:er)?"
    r"|(?:very |bitter(?:ly)? )?cold(?:er)?,? (?:\w+ )?(?:over)?night"
    r"|night (?:was )?(?:very |bitter(?:ly)? )?cold)\b",
    re.IGNORECASE,
)
"""What people write of a cold night (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class PutIn:
    """Fish that were stocked: seconds since 1970 UTC, metres; None if unknown where."""

    time_s: float
    easting: float | None
    northing: float | None


@dataclass(frozen=True, slots=True)
class Nights:
    """What the notes say of what changed.

    Parameters
    ----------
    nights
        Those of which something was noted.
    stocked, boats
        Stocking, and other boats that were seen.
    remarks
        What cannot be counted with, a sentence each.
    """

    nights: tuple[Night, ...] = ()
    stocked: tuple[PutIn, ...] = ()
    boats: tuple[BoatsSeen, ...] = ()
    remarks: tuple[str, ...] = ()


def read_nights(
    opened: Opened, noted: Noted, day: date, wind: Wind | None = None
) -> Nights:
    """Return what the notes say of what changed up to a day.

    A night's wind swung from the last that was noted before it to the first after it;
    a calm comes from nowhere and tells of no swing. The water cooled likewise, by its
    temperatures at the top.

    Parameters
    ----------
    wind
        What will blow on that day, as far as it is known: it stands for what was noted
        of that day, as it does in the plan.
    """
    try:
        notes, _ = note_rows(read_notes(opened.practice.folder))
    except PracticeError:
        notes = ()  # `check` tells of it
    notes = tuple(note for note in notes if note.day <= day)
    stocked, lost = _stocked(opened, notes)
    boats, unplaced = _boats(opened, notes)
    return Nights(
        _nights(opened, noted, notes, day, wind), stocked, boats, (*lost, *unplaced)
    )


def swing_deg(one: Wind, two: Wind) -> float:
    """Return the angle between two winds, 180 at the most.

    Examples
    --------
    >>> swing_deg(Wind(350, 5), Wind(110, 5))
    120.0
    """
    return float(abs((two.from_deg - one.from_deg + 180) % 360 - 180))


def _nights(
    opened: Opened,
    noted: Noted,
    notes: Sequence[Note],
    day: date,
    wind: Wind | None,
) -> tuple[Night, ...]:
    swings, cooled, cold = dict[date, float](), dict[date, float](), set[date]()
    blew = _by_day(
        (said.note, said.value) for said in noted.winds if said.note.day <= day
    )
    if wind is not None:
        blew[day] = [wind]
    winds = {
        when: moving
        for when, said in blew.items()
        if (moving := [one for one in said if beaufort(one.speed_m_s)])
    }
    for one, two in _pairs(winds):
        swings[two] = swing_deg(winds[one][-1], winds[two][0])
    warm = _by_day(_warmths(notes))
    for one, two in _pairs(warm):
        cooled[two] = warm[one][-1] - warm[two][0]
    for note in notes:
        if note.kind == "other" and COLD.search(f"{note.value} {note.note}"):
            later = note.at is not None and note.at >= NOON
            cold.add(note.day + timedelta(days=1) if later else note.day)
    zone = opened.settings.zone
    return tuple(
        Night(
            datetime.combine(morning, time.min, zone).timestamp(),
            swings.get(morning),
            cooled.get(morning),
            morning in cold,
        )
        for morning in sorted(swings.keys() | cooled.keys() | cold)
    )


def _warmths(notes: Iterable[Note]) -> Iterator[tuple[Note, float]]:
    """Yield the temperatures at the top that can be understood."""
    for note in notes:
        if note.kind == "temp_top":
            with suppress(PracticeError):  # `check` tells of it
                yield note, warmth_c(note.value)


def _by_day(said: Iterable[tuple[Note, Value]]) -> dict[date, list[Value]]:
    """Return what was noted day by day, in the order of time.

    Of two notes about one moment, by one pair or for all, the later row counts.
    """
    last: dict[tuple[date, time, str], Value] = {}
    for note, value in sorted(said, key=lambda one: one[0].row):
        last[note.day, note.at or time.min, note.pair] = value
    days: dict[date, list[Value]] = {}
    for day, clock, pair in sorted(last):
        days.setdefault(day, []).append(last[day, clock, pair])
    return days


def _pairs(days: Iterable[date]) -> list[tuple[date, date]]:
    """Return each day with the next: the last night between them is the one."""
    return list(pairwise(sorted(days)))


def _stocked(
    opened: Opened, notes: Sequence[Note]
) -> tuple[tuple[PutIn, ...], list[str]]:
    found, lost = [], []
    for note in notes:
        if note.kind != "stocked":
            continue
        at = _where(opened, note)
        if at is None:
            lost.append(
                f"notes.csv, row {note.row}: fish were stocked on {day_text(note.day)},"
                f" but {_no_place(note)}, so nothing is made of it: note it with --near"
            )
        east, north = at or (None, None)
        found.append(PutIn(_when_s(opened, note), east, north))
    return tuple(found), lost


def _boats(
    opened: Opened, notes: Sequence[Note]
) -> tuple[tuple[BoatsSeen, ...], list[str]]:
    found, lost = [], []
    for note in notes:
        if note.kind != "boats":
            continue
        count, at = re.search(r"\d+", note.value), _where(opened, note)
        if count is None or at is None:
            what, do = _no_place(note), "note it with --near"
            if count is None:
                what, do = "nobody said how many", "note a number, like boats 4"
            lost.append(
                f"notes.csv, row {note.row}: other boats were seen on "
                f"{day_text(note.day)}, but {what}, so they press no find: {do}"
            )
            continue
        clock = f"{note.at:%H:%M}" if note.at else ""
        found.append(BoatsSeen(_when_s(opened, note), *at, int(count[0]), clock))
    return tuple(found), lost


def _no_place(note: Note) -> str:
    """Return what is lacking of a note whose place is not known."""
    if note.near:
        return f'nobody knows a place "{note.near}" on this water'
    if note.place is not None:
        return "its position is not on this water"
    return "nobody said where"


def _where(opened: Opened, note: Note) -> tuple[float, float] | None:
    try:
        if note.place is not None:
            lon, lat = note.place
            spot = spot_at(opened, f"{lat:g}, {lon:g}", note.place)
        elif note.near:
            spot = spoken_spot(opened, note.near)
        else:
            return None
    except PracticeError:
        return None
    return spot.easting, spot.northing


def _when_s(opened: Opened, note: Note) -> float:
    clock = note.at or NOON
    return datetime.combine(note.day, clock, opened.settings.zone).timestamp()
