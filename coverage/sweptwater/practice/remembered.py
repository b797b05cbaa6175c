"""Drifts from memory: `remembered.csv`, in which each row tells of one.

The file can be edited by hand. It is understood as a spreadsheet leaves it: with a
byte-order mark, semicolons or tabs, decimal commas, and the spreadsheet's own days and
times. A row that cannot be understood is at fault alone, and what is written later
leaves it, and any column that is not ours, as it was.
"""

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, time
from pathlib import Path
from typing import TypeAlias

from sweptwater.errors import PracticeError
from sweptwater.practice.files import read_whole, write_whole

REMEMBERED = "remembered.csv"
NEEDED = ("day", "pair", "start", "end", "from", "to")
COLUMNS = (
    *("day", "pair", "start", "end", "from", "to", "times"),
    *("from_lat", "from_lon", "to_lat", "to_lon", "struck", "note"),
)
DELIMITERS = ",;\t"
MOST_TIMES = 20
"""More drifts than this of one telling are a slip of the pencil."""

PLACES = 6
"""Decimals of a degree: 0.1 m."""

Cells: TypeAlias = tuple[str, ...]
Position: TypeAlias = tuple[float, float]
"""Longitude and latitude, in degrees."""

_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00)?)?")
_OTHER_DAY = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})(?: 00:00(?::00)?)?")
_CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.]\d{2})?(?:\s*([ap])\.?m\.?)?", re.I)
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d*)?")


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


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong with a row, or with the whole file (row 0), and what to do."""

    row: int
    what: str
    do: str

    def __str__(self) -> str:
        """Return it as a sentence."""
        file = f"{REMEMBERED}, " if self.row else ""
        return f"{file}{self.told}; {self.do}"

    @property
    def told(self) -> str:
        """What is wrong, with the row."""
        return f"row {self.row}: {self.what}" if self.row else self.what


def row_fault(row: int, error: ValueError) -> RowFault:
    """Return an error of a row as its fault.

    Examples
    --------
    >>> str(row_fault(3, ValueError("'8 June' is no day: write it like 2027-06-08")))
    "remembered.csv, row 3: '8 June' is no day; write it like 2027-06-08"
    """
    what, _, do = str(error).rpartition(": ")
    if not what:
        what, do = do, "mend that" if row else "put it right, and try again"
    return RowFault(row, what, do)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The file as it is: its cells with the head first, and how they are parted."""

    rows: tuple[Cells, ...] = (COLUMNS,)
    delimiter: str = ","
    marked: bool = False
    """Whether it begins with a byte-order mark, which some spreadsheets want."""


def read_sheet(folder: Path) -> Sheet:
    """Return the file of a practice; an empty one if there is none.

    Raises
    ------
    PracticeError
        If it cannot be read, or is no such table.
    """
    path = folder / REMEMBERED
    return parse_sheet(read_whole(path)) if path.is_file() else Sheet()


def save_sheet(folder: Path, sheet: Sheet) -> None:
    """Write the file; the caller holds the folder (see `files.writing`)."""
    write_whole(folder / REMEMBERED, sheet_bytes(sheet))


def parse_sheet(data: bytes) -> Sheet:
    """Return the cells of a file, whatever they are parted by.

    Raises
    ------
    PracticeError
        If it is not UTF-8, or has not the columns.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PracticeError(
            f"{REMEMBERED} is not UTF-8 text (byte {error.start + 1}): save it as "
            "CSV UTF-8 in the spreadsheet"
        ) from error
    text = re.sub(r"\Asep=.\r?\n", "", text)  # some spreadsheets begin so
    if not text.strip():
        return Sheet()
    delimiter = max(DELIMITERS, key=lambda mark: _known(_rows(text, mark)[0]))
    rows = _rows(text, delimiter)
    missing = [name for name in NEEDED if name not in _head(rows[0])]
    if missing:
        raise PracticeError(
            f"{REMEMBERED} has no column {missing[0]!r}: its first row must be "
            f"{','.join(COLUMNS)}"
        )
    return Sheet(rows, delimiter, marked=data.startswith(b"\xef\xbb\xbf"))


def sheet_bytes(sheet: Sheet) -> bytes:
    """Return a file's bytes."""
    text = io.StringIO()
    writer = csv.writer(text, delimiter=sheet.delimiter, lineterminator="\r\n")
    writer.writerows(sheet.rows)
    return text.getvalue().encode("utf-8-sig" if sheet.marked else "utf-8")


def told_rows(sheet: Sheet) -> tuple[tuple[Told, ...], tuple[RowFault, ...]]:
    """Return what each row tells, and the rows that cannot be understood.

    One that is struck out and cannot be understood needs no mending.
    """
    head = _head(sheet.rows[0])
    told, faults = [], []
    for row, cells in enumerate(sheet.rows[1:], 2):
        values = dict(
            zip(head, (" ".join(cell.split()) for cell in cells), strict=False)
        )
        if not any(values.values()):
            continue
        try:
            told.append(_told(values, row))
        except PracticeError as error:
            if not values.get("struck"):
                faults.append(row_fault(row, error))
    return tuple(told), tuple(faults)


def with_told(sheet: Sheet, told: Told) -> Sheet:
    """Return the file with one more row."""
    whole = _with_columns(sheet)
    values = _cells(told, comma=sheet.delimiter == ";")
    row = tuple(values.get(name, "") for name in _head(whole.rows[0]))
    return replace(whole, rows=(*whole.rows, row))


def with_struck(sheet: Sheet, row: int, when: str) -> Sheet:
    """Return the file with one row struck out: it stays, and does not count."""
    whole = _with_columns(sheet)
    head = _head(whole.rows[0])
    rows = list(whole.rows)
    cells = [*rows[row - 1], *[""] * len(head)][: max(len(head), len(rows[row - 1]))]
    cells[head.index("struck")] = when
    rows[row - 1] = tuple(cells)
    return replace(whole, rows=tuple(rows))


def parse_clock(text: str) -> time:
    """Return the time of day that a text like 11:05 means.

    Raises
    ------
    PracticeError
        If it means none.

    Examples
    --------
    >>> parse_clock("9:05"), parse_clock("1:30 PM"), parse_clock("13.30")
    (datetime.time(9, 5), datetime.time(13, 30), datetime.time(13, 30))
    """
    found = _CLOCK.fullmatch(text.strip())
    try:
        if found:
            hour, minute = int(found[1]), int(found[2])
            half = (found[3] or "").lower()
            if half and not 1 <= hour <= 12:
                raise ValueError(hour)
            return time(hour % 12 + 12 * (half == "p") if half else hour, minute)
    except ValueError:
        pass
    raise PracticeError(f"{text!r} is no time of day: write it like 11:05")


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
    for name in NEEDED:
        if not values.get(name):
            raise PracticeError(f"there is no {name}: fill it in")
    told = Told(
        day=_day(values["day"]),
        pair=values["pair"],
        start=parse_clock(values["start"]),
        end=parse_clock(values["end"]),
        from_=values["from"],
        to=values["to"],
        from_at=_position(values, "from"),
        to_at=_position(values, "to"),
        times=_times(values.get("times", "")),
        struck=values.get("struck", ""),
        note=values.get("note", ""),
        row=row,
    )
    check_span(told.start, told.end)
    return told


def _day(text: str) -> date:
    """Return a day as written here, or as a spreadsheet writes it.

    Which of 8/6/2027 is the month, nobody can tell: spreadsheets that put the day
    first write 08/06/2027, and one that puts the month first writes no noughts.
    """
    if found := _DAY.fullmatch(text):
        return _date(text, *(int(part) for part in found.groups()))
    if not (found := _OTHER_DAY.fullmatch(text)):
        raise PracticeError(f"{text!r} is no day: write it like 2027-06-09")
    one, mark, two, year = found.groups()
    first, second = int(one), int(two)
    if first <= 12 and second > 12:
        return _date(text, int(year), first, second)
    short = mark != "." and first != second and len(one) + len(two) < 4
    if short and second <= 12 and first <= 12:
        raise PracticeError(
            f"{text!r} may be two different days: write it like 2027-06-09"
        )
    return _date(text, int(year), second, first)


def _date(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as error:
        raise PracticeError(f"{text!r} is no day: write it like 2027-06-09") from error


def _position(values: Mapping[str, str], end: str) -> Position | None:
    lat, lon = (values.get(f"{end}_{axis}", "") for axis in ("lat", "lon"))
    if not lat and not lon:
        return None
    position = (_number(lon), _number(lat))
    if not (abs(position[0]) <= 180 and abs(position[1]) <= 90):
        raise PracticeError(
            f"{lat!r}, {lon!r} is no latitude and longitude: mend {end}_lat and "
            f"{end}_lon, or empty both to go by the name"
        )
    return position


def _number(text: str) -> float:
    found = _NUMBER.fullmatch(text)
    return float(found[0].replace(",", ".")) if found else float("nan")


def _times(text: str) -> int:
    number = _number(text) if text else 1.0
    if not (1 <= number <= MOST_TIMES and number == int(number)):
        raise PracticeError(
            f"{text!r} is not how often it was drifted: write a whole number from 1 to "
            f"{MOST_TIMES} as times"
        )
    return int(number)


def _cells(told: Told, *, comma: bool) -> dict[str, str]:
    """Return the cells of a row by their column."""
    ends = {"from": told.from_at, "to": told.to_at}
    degrees = {
        f"{end}_{axis}": f"{at[1 - number]:.{PLACES}f}"
        for end, at in ends.items()
        if at is not None
        for number, axis in enumerate(("lat", "lon"))
    }
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
        **{k: v.replace(".", ",") if comma else v for k, v in degrees.items()},
    }


def _with_columns(sheet: Sheet) -> Sheet:
    """Return the file with all columns: one made by hand may lack some."""
    head = _head(sheet.rows[0])
    more = tuple(name for name in COLUMNS if name not in head)
    if not more:
        return sheet
    beyond = max(len(row) for row in sheet.rows) - len(head)  # cells without a head
    return replace(
        sheet, rows=((*sheet.rows[0], *[""] * beyond, *more), *sheet.rows[1:])
    )


def _rows(text: str, delimiter: str) -> tuple[Cells, ...]:
    try:
        read: Iterable[Sequence[str]] = csv.reader(
            io.StringIO(text, newline=""), delimiter=delimiter
        )
        return tuple(tuple(row) for row in read)
    except csv.Error as error:
        raise PracticeError(
            f"{REMEMBERED} cannot be read as a table ({error}): open it in a "
            "spreadsheet and save it as CSV UTF-8"
        ) from error


def _head(row: Cells) -> list[str]:
    return [cell.strip().casefold() for cell in row]


def _known(row: Cells) -> int:
    return len(set(_head(row)) & set(COLUMNS))
