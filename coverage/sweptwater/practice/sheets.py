"""Tables that people and spreadsheets write into: CSV, in whatever way they save it.

A file is understood as a spreadsheet leaves it: with a byte-order mark, semicolons or
tabs, decimal commas, and the spreadsheet's own days and times. A row that cannot be
understood is at fault alone, and what is written later leaves it, and any column that
is not ours, as it was.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from pathlib import Path
from typing import TypeAlias, TypeVar

from sweptwater.errors import PracticeError
from sweptwater.practice.files import read_whole, write_whole

DELIMITERS = ",;\t"

PLACES = 6
"""Decimals of a degree: 0.1 m."""

Cells: TypeAlias = tuple[str, ...]
Position: TypeAlias = tuple[float, float]
"""Longitude and latitude, in degrees."""

Row = TypeVar("Row")

_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00)?)?")
_OTHER_DAY = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})(?: 00:00(?::00)?)?")
_CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.]\d{2})?(?:\s*([ap])\.?m\.?)?", re.I)
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d*)?")


@dataclass(frozen=True, slots=True)
class Form:
    """What a file is called, its columns, and those without which a row says nothing.

    Parameters
    ----------
    commas
        The columns of numbers, in which a decimal comma stands where cells are parted
        by semicolons.
    """

    file: str
    columns: Cells
    needed: Cells
    commas: Cells = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file as it is: its cells with the head first, and how they are parted."""

    rows: tuple[Cells, ...]
    delimiter: str = ","
    marked: bool = False
    """Whether it begins with a byte-order mark, which some spreadsheets want."""


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong with a row of a file, or with all of it (row 0), and what to do."""

    file: str
    row: int
    what: str
    do: str

    def __str__(self) -> str:
        """Return it as a sentence."""
        file = f"{self.file}, " if self.row else ""
        return f"{file}{self.told}; {self.do}"

    @property
    def told(self) -> str:
        """What is wrong, with the row."""
        return f"row {self.row}: {self.what}" if self.row else self.what


def row_fault(file: str, row: int, error: ValueError) -> RowFault:
    """Return an error of a row as its fault.

    Examples
    --------
    >>> bad = ValueError("'8 June' is no day: write it like 2027-06-08")
    >>> str(row_fault("remembered.csv", 3, bad))
    "remembered.csv, row 3: '8 June' is no day; write it like 2027-06-08"
    """
    what, _, do = str(error).rpartition(": ")
    if not what:
        what, do = do, "mend that" if row else "put it right, and try again"
    return RowFault(file, row, what, do)


def read_sheet(folder: Path, form: Form) -> Sheet:
    """Return a file of a practice; an empty one if there is none.

    Raises
    ------
    PracticeError
        If it cannot be read, or is no such table.
    """
    path = folder / form.file
    if not path.is_file():
        return Sheet((form.columns,))
    return parse_sheet(read_whole(path), form)


def save_sheet(folder: Path, sheet: Sheet, form: Form) -> None:
    """Write a file; the caller holds the folder (see `files.writing`)."""
    write_whole(folder / form.file, sheet_bytes(sheet))


def parse_sheet(data: bytes, form: Form) -> Sheet:
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
            f"{form.file} is not UTF-8 text (byte {error.start + 1}): save it as "
            "CSV UTF-8 in the spreadsheet"
        ) from error
    text = re.sub(r"\Asep=.\r?\n", "", text)  # some spreadsheets begin so
    if not text.strip():
        return Sheet((form.columns,))
    known = set(form.columns)
    delimiter = max(
        DELIMITERS, key=lambda mark: len(known & set(_head(_rows(text, mark, form)[0])))
    )
    rows = _rows(text, delimiter, form)
    missing = [name for name in form.needed if name not in _head(rows[0])]
    if missing:
        raise PracticeError(
            f"{form.file} has no column {missing[0]!r}: its first row must be "
            f"{','.join(form.columns)}"
        )
    return Sheet(rows, delimiter, marked=data.startswith(b"\xef\xbb\xbf"))


def sheet_bytes(sheet: Sheet) -> bytes:
    """Return a file's bytes."""
    text = io.StringIO()
    writer = csv.writer(text, delimiter=sheet.delimiter, lineterminator="\r\n")
    writer.writerows(sheet.rows)
    # "replace": a terminal may pass on what is no text at all (PEP 383).
    return text.getvalue().encode("utf-8-sig" if sheet.marked else "utf-8", "replace")


def understood(
    sheet: Sheet,
    form: Form,
    understand: Callable[[Mapping[str, str], int], Row],
    *,
    silenced: str = "",
) -> tuple[tuple[Row, ...], tuple[RowFault, ...]]:
    """Return what each row says, and the rows that cannot be understood.

    Parameters
    ----------
    understand
        From the cells by their column, and the row as a spreadsheet numbers it, to
        what they say; a PracticeError if that cannot be told. The columns that are
        needed are filled in.
    silenced
        A column that is filled where a row needs no mending.
    """
    head = _head(sheet.rows[0])
    said, faults = [], []
    for row, cells in enumerate(sheet.rows[1:], 2):
        values = dict(
            zip(head, (" ".join(cell.split()) for cell in cells), strict=False)
        )
        if not any(values.values()):
            continue
        try:
            for name in form.needed:
                if not values.get(name):
                    raise PracticeError(f"there is no {name}: fill it in")
            said.append(understand(values, row))
        except PracticeError as error:
            if not values.get(silenced):
                faults.append(row_fault(form.file, row, error))
    return tuple(said), tuple(faults)


def with_row(sheet: Sheet, form: Form, values: Mapping[str, str]) -> Sheet:
    """Return a file with one more row, of cells by their column."""
    whole = _with_columns(sheet, form)
    comma = sheet.delimiter == ";"
    cells = {
        name: value.replace(".", ",") if comma and name in form.commas else value
        for name, value in values.items()
    }
    row = tuple(cells.get(name, "") for name in _head(whole.rows[0]))
    return replace(whole, rows=(*whole.rows, row))


def with_cell(sheet: Sheet, form: Form, row: int, column: str, value: str) -> Sheet:
    """Return a file with one cell of a row filled."""
    whole = _with_columns(sheet, form)
    head = _head(whole.rows[0])
    rows = list(whole.rows)
    cells = [*rows[row - 1], *[""] * len(head)][: max(len(head), len(rows[row - 1]))]
    cells[head.index(column)] = value
    rows[row - 1] = tuple(cells)
    return replace(whole, rows=tuple(rows))


def rewritten(
    sheet: Sheet,
    columns: Iterable[str],
    change: Callable[[dict[str, str]], Mapping[str, str] | None],
) -> Sheet:
    """Return a file with some of its columns, and each row changed, or left out.

    Parameters
    ----------
    columns
        Those that stay, as far as they are there.
    change
        From a row's cells by their column to what they shall be; None leaves it out.

    Examples
    --------
    >>> sheet = Sheet((("Day", "note"), ("8 June", "Ann's idea"), ("", "")))
    >>> rewritten(sheet, ["day"], lambda row: row if any(row.values()) else None).rows
    (('day',), ('8 June',))
    """
    head = _head(sheet.rows[0])
    wanted = set(columns)
    kept = tuple(dict.fromkeys(name for name in head if name in wanted))
    changed = (change(dict(zip(head, cells, strict=False))) for cells in sheet.rows[1:])
    rows = (tuple(row.get(name, "") for name in kept) for row in changed if row)
    return replace(sheet, rows=(kept, *rows))


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


def parse_cell_day(text: str) -> date:
    """Return a day as written here, or as a spreadsheet writes it.

    Which of 8/6/2027 is the month, nobody can tell: spreadsheets that put the day
    first write 08/06/2027, and one that puts the month first writes no noughts.

    Raises
    ------
    PracticeError
        If it is none, or may be two.

    Examples
    --------
    >>> parse_cell_day("08/06/2027"), parse_cell_day("6/28/2027")
    (datetime.date(2027, 6, 8), datetime.date(2027, 6, 28))
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


def parse_position(
    values: Mapping[str, str], lat_name: str = "lat", lon_name: str = "lon"
) -> Position | None:
    """Return the position that two cells of a row tell; None if they are empty.

    Raises
    ------
    PracticeError
        If they tell none.
    """
    lat, lon = (values.get(name, "") for name in (lat_name, lon_name))
    if not lat and not lon:
        return None
    position = (parse_number(lon), parse_number(lat))
    if not (abs(position[0]) <= 180 and abs(position[1]) <= 90):
        raise PracticeError(
            f"{lat!r}, {lon!r} is no latitude and longitude: mend {lat_name} and "
            f"{lon_name}, or empty both to go by the name"
        )
    return position


def parse_number(text: str) -> float:
    """Return the number that a text means, with a comma or a point; NaN if none.

    Examples
    --------
    >>> parse_number("2,5"), parse_number("two")
    (2.5, nan)
    """
    found = _NUMBER.fullmatch(text)
    return float(found[0].replace(",", ".")) if found else float("nan")


def position_cells(
    at: Position | None, lat_name: str = "lat", lon_name: str = "lon"
) -> dict[str, str]:
    """Return the two cells that tell a position, by their column."""
    if at is None:
        return {}
    return {lat_name: f"{at[1]:.{PLACES}f}", lon_name: f"{at[0]:.{PLACES}f}"}


def _with_columns(sheet: Sheet, form: Form) -> Sheet:
    """Return a file with all columns: one made by hand may lack some."""
    head = _head(sheet.rows[0])
    more = tuple(name for name in form.columns if name not in head)
    if not more:
        return sheet
    beyond = max(len(row) for row in sheet.rows) - len(head)  # cells without a head
    return replace(
        sheet, rows=((*sheet.rows[0], *[""] * beyond, *more), *sheet.rows[1:])
    )


def _rows(text: str, delimiter: str, form: Form) -> tuple[Cells, ...]:
    try:
        read: Iterable[Sequence[str]] = csv.reader(
            io.StringIO(text, newline=""), delimiter=delimiter
        )
        return tuple(tuple(row) for row in read)
    except csv.Error as error:
        raise PracticeError(
            f"{form.file} cannot be read as a table ({error}): open it in a "
            "spreadsheet and save it as CSV UTF-8"
        ) from error


def _head(row: Cells) -> list[str]:
    return [cell.strip().casefold() for cell in row]
