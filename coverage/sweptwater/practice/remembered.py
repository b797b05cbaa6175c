"""Drifts from memory: `remembered.csv`, in which each row tells of one.

The file can be edited by hand, and is read as `sheets` says.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from pathlib import Path

from sweptwater.errors import PracticeError
from sweptwater.practice import sheets
from sweptwater.practice.sheets import (
    Form,
    Position,
    RowFault,
    Sheet,
    parse_cell_day,
    parse_clock,
    parse_number,
    parse_position,
    position_cells,
    understood,
    with_cell,
    with_row,
)

REMEMBERED = "remembered.csv"
FORM = Form(
    REMEMBERED,
    columns=(
        *("day", "pair", "start", "end", "from", "to", "times"),
        *("from_lat", "from_lon", "to_lat", "to_lon", "struck", "note"),
    ),
    needed=("day", "pair", "start", "end", "from", "to"),
    commas=("from_lat", "from_lon", "to_lat", "to_lon"),
)
MOST_TIMES = 20
"""More drifts than this of one telling are a slip of the pencil."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One row: what somebody remembers of a drift.

    Parameters
    ----------
    day, pair
        Whose drift it was, and when.
    start, end
        Local times of the day.
    from_, to
        The places as they were told.
    from_at, to_at
        Where those were taken to be; None where the name still has to be looked up.
    times
        How often it was drifted: 2 is there and twice over it.
    struck
        When it was struck out, or any other word to that effect; empty while it counts.
    note
        What else was said.
    row
        The row in the file as a spreadsheet numbers it.
    """

    day: date
    pair: str
    start: time
    end: time
    from_: str
    to: str
    from_at: Position | None = None
    to_at: Position | None = None
    times: int = 1
    struck: str = ""
    note: str = ""
    row: int = field(default=0, compare=False)


def read_sheet(folder: Path) -> Sheet:
    """Return the file of a practice; an empty one if there is none.

    Raises
    ------
    PracticeError
        If it cannot be read, or is no such table.
    """
    return sheets.read_sheet(folder, FORM)


def save_sheet(folder: Path, sheet: Sheet) -> None:
    """Write the file; the caller holds the folder (see `files.writing`)."""
    sheets.save_sheet(folder, sheet, FORM)


def told_rows(sheet: Sheet) -> tuple[tuple[Told, ...], tuple[RowFault, ...]]:
    """Return what each row tells, and the rows that cannot be understood.

    One that is struck out and cannot be understood needs no mending.
    """
    return understood(sheet, FORM, _told, silenced="struck")


def with_told(sheet: Sheet, told: Told) -> Sheet:
    """Return the file with one more row."""
    return with_row(sheet, FORM, _cells(told))


def with_struck(sheet: Sheet, row: int, when: str) -> Sheet:
    """Return the file with one row struck out: it stays, and does not count."""
    return with_cell(sheet, FORM, row, "struck", when)


def check_span(start: time, end: time) -> None:
    """Refuse a drift that ends no later than it begins.

    Raises
    ------
    PracticeError
        If it does.
    """
    if not start < end:
        raise PracticeError(
            f"a drift cannot begin at {start:%H:%M} and end at {end:%H:%M}: put the "
            "earlier time first, and write one over midnight as two"
        )


def _told(values: Mapping[str, str], row: int) -> Told:
    told = Told(
        day=parse_cell_day(values["day"]),
        pair=values["pair"],
        start=parse_clock(values["start"]),
        end=parse_clock(values["end"]),
        from_=values["from"],
        to=values["to"],
        from_at=parse_position(values, "from_lat", "from_lon"),
        to_at=parse_position(values, "to_lat", "to_lon"),
        times=_times(values.get("times", "")),
        struck=values.get("struck", ""),
        note=values.get("note", ""),
        row=row,
    )
    check_span(told.start, told.end)
    return told


def _times(text: str) -> int:
    number = parse_number(text) if text else 1.0
    if not (1 <= number <= MOST_TIMES and number == int(number)):
        raise PracticeError(
            f"{text!r} is not how often it was drifted: write a whole number from 1 to "
            f"{MOST_TIMES} as times"
        )
    return int(number)


def _cells(told: Told) -> dict[str, str]:
    """Return the cells of a row by their column."""
    return {
        "day": told.day.isoformat(),
        "pair": told.pair,
        "start": f"{told.start:%H:%M}",
        "end": f"{told.end:%H:%M}",
        "from": told.from_,
        "to": told.to,
        "times": str(told.times),
        "struck": told.struck,
        "note": told.note,
        **position_cells(told.from_at, "from_lat", "from_lon"),
        **position_cells(told.to_at, "to_lat", "to_lon"),
    }
