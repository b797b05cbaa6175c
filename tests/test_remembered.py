"""`remembered.csv`: read as people and spreadsheets leave it, no row ever lost."""

import csv
import io
from dataclasses import replace
from datetime import date, time

import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.practice.remembered import (
    FORM,
    Told,
    told_rows,
    with_struck,
    with_told,
)
from sweptwater.practice.sheets import Sheet, parse_clock, parse_sheet, sheet_bytes

EMPTY = Sheet((FORM.columns,))
HEAD = "day,pair,start,end,from,to"
DRIFT = Told(
    day=date(2027, 6, 8),
    pair="Grebe",
    start=time(11, 5),
    end=time(11, 50),
    from_="boathouse",
    to="the point",
    times=2,
)


def _line(text: str) -> str:
    return " ".join(text.split())


words = st.text(st.characters(exclude_categories=["Cs"]), max_size=20).map(_line)
names = words.filter(bool)
degrees = st.tuples(
    st.floats(-180, 180).map(lambda lon: round(lon, 6)),
    st.floats(-90, 90).map(lambda lat: round(lat, 6)),
)
minutes = st.lists(st.integers(0, 1439), min_size=2, max_size=2, unique=True)
tellings = st.builds(
    lambda span, **rest: Told(
        start=time(*divmod(min(span), 60)), end=time(*divmod(max(span), 60)), **rest
    ),
    minutes,
    day=st.dates(date(1000, 1, 1)),
    pair=names,
    from_=names,
    to=names,
    from_at=st.none() | degrees,
    to_at=st.none() | degrees,
    times=st.integers(1, 20),
    struck=words,
    note=words,
)


def parsed(text: str | bytes) -> tuple[tuple[Told, ...], list[str]]:
    data = text if isinstance(text, bytes) else text.encode()
    told, faults = told_rows(parse_sheet(data, FORM))
    return told, [str(fault) for fault in faults]


@given(st.lists(tellings, max_size=4), st.sampled_from(",;\t"), st.booleans())
@example([DRIFT], ";", True)
def test_what_is_written_is_read(
    told: list[Told], delimiter: str, marked: bool
) -> None:
    sheet = Sheet(EMPTY.rows, delimiter, marked)
    for one in told:
        sheet = with_told(sheet, one)
    again = parse_sheet(sheet_bytes(sheet), FORM)
    assert again == sheet
    assert told_rows(again) == (tuple(told), ())
    assert [one.row for one in told_rows(again)[0]] == list(range(2, len(told) + 2))


@given(st.lists(tellings, min_size=1, max_size=4), st.data())
def test_striking_out_changes_one_cell(told: list[Told], data: st.DataObject) -> None:
    sheet = EMPTY
    for one in told:
        sheet = with_told(sheet, one)
    row = data.draw(st.integers(2, len(told) + 1))
    struck = with_struck(sheet, row, "2027-06-08 21:14")
    changed = [
        (r, c)
        for r, (before, after) in enumerate(zip(sheet.rows, struck.rows, strict=True))
        for c, (a, b) in enumerate(zip(before, after, strict=True))
        if a != b
    ]
    assert changed == [(row - 1, FORM.columns.index("struck"))]


def test_other_programs_read_it() -> None:
    """The csv module and pandas are the references for RFC 4180."""
    note = 'said "three, off the tower"; blank'
    data = sheet_bytes(with_told(EMPTY, replace(DRIFT, note=note)))
    (row,) = csv.DictReader(io.StringIO(data.decode()))
    assert row["note"] == note
    table = pd.read_csv(io.BytesIO(data))
    assert list(table.columns) == list(FORM.columns)
    assert table["start"][0] == "11:05"


def test_as_a_spreadsheet_leaves_it() -> None:
    """Byte-order mark, semicolons, decimal commas, its own days and times."""
    text = (
        "sep=;\r\n"
        "Day;Pair;Start;End;From;To;Times;from_lat;from_lon;to_lat;to_lon;Sky\r\n"
        '08/06/2027;grebe;11:05:00;1:30 PM;boathouse;"the; point";2,0;54,85;2,3;;;w\r\n'
        ";;;;;;;;;;;\r\n"
        "8.6.2027;Heron;9.30;10.15;a;b;;;;;;\r\n"
    )
    (first, second), faults = parsed(text.encode("utf-8-sig"))
    assert faults == []
    assert (first.day, first.start, first.end) == (
        DRIFT.day,
        time(11, 5),
        time(13, 30),
    )
    assert (first.to, first.times, first.from_at, first.to_at) == (
        "the; point",
        2,
        (2.3, 54.85),
        None,
    )
    assert (second.day, second.start, second.row) == (DRIFT.day, time(9, 30), 4)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2027-6-8", date(2027, 6, 8)),
        ("2027-06-08 00:00:00", date(2027, 6, 8)),
        ("13/06/2027", date(2027, 6, 13)),
        ("6/13/2027", date(2027, 6, 13)),
        ("6/6/2027", date(2027, 6, 6)),
        ("08.06.2027", date(2027, 6, 8)),
    ],
)
def test_days(text: str, day: date) -> None:
    ((told,), _) = parsed(f"{HEAD}\n{text},Grebe,11:05,11:50,a,b\n")
    assert told.day == day


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("8 June,G,11:05,11:50,a,b", "'8 June' is no day; write it like 2027-06-09"),
        ("6/8/2027,G,11:05,11:50,a,b", "'6/8/2027' may be two different days; write"),
        ("2027-02-30,G,11:05,11:50,a,b", "'2027-02-30' is no day"),
        ("2027-06-08,G,25:10,11:50,a,b", "'25:10' is no time of day; write it like"),
        ("2027-06-08,G,noon,11:50,a,b", "'noon' is no time of day"),
        ("2027-06-08,G,13:05 PM,14:50,a,b", "'13:05 PM' is no time of day"),
        ("2027-06-08,,11:05,11:50,a,b", "there is no pair; fill it in"),
        ("2027-06-08,G,11:05,11:50,a", "there is no to; fill it in"),
        ("2027-06-08,G,11:50,11:05,a,b", "cannot begin at 11:50 and end at 11:05; put"),
        ("2027-06-08,G,11:05,11:05,a,b", "cannot begin at 11:05 and end at 11:05; put"),
        ("2027-06-08,G,11:05,11:50,a,b,0", "'0' is not how often it was drifted"),
        ("2027-06-08,G,11:05,11:50,a,b,1.5", "'1.5' is not how often"),
        ("2027-06-08,G,11:05,11:50,a,b,twice", "'twice' is not how often"),
        ("2027-06-08,G,11:05,11:50,a,b,1,54.8,", "'54.8', '' is no latitude and"),
        ("2027-06-08,G,11:05,11:50,a,b,1,154.8,2.3", "'154.8', '2.3' is no latitude"),
    ],
)
def test_a_bad_row_is_at_fault_alone(row: str, fault: str) -> None:
    good = "2027-06-09,Heron,10:00,11:00,a,b"
    text = f"{HEAD},times,from_lat,from_lon,struck\n{good}\n{row}\n{good}\n"
    told, faults = parsed(text)
    assert [one.row for one in told] == [2, 4]
    (sentence,) = faults
    assert sentence.startswith("remembered.csv, row 3: ")
    assert fault in sentence


def test_a_bad_row_that_is_struck_out_needs_no_mending() -> None:
    text = f"struck,{HEAD}\nx,nonsense,,,,,\n"
    assert parsed(text) == ((), [])


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"day,pair,start,end,from\n", "has no column 'to': its first row must be day"),
        (b"Gr\xeabe,x\n", r"is not UTF-8 text \(byte 3\): save it as CSV UTF-8"),
        ("day,pair\n".encode("utf-16"), "is not UTF-8 text"),
    ],
)
def test_another_kind_of_file_is_refused(data: bytes, told: str) -> None:
    with pytest.raises(PracticeError, match=told):
        parse_sheet(data, FORM)


@pytest.mark.parametrize("data", [b"", b"\xef\xbb\xbf", b"\r\n\r\n"])
def test_an_empty_file_is_none(data: bytes) -> None:
    assert parse_sheet(data, FORM) == EMPTY


def test_what_is_not_ours_stays() -> None:
    """A bad row, another column, a short row, an empty one, a column that lacks."""
    text = (
        "to,weather,from,day,pair,start,end\n"
        "b,wet,a,8 June,Grebe,11:05,11:50\n"
        "\n"
        "b,dry,a,2027-06-08,Grebe,11:05,11:50,beyond\n"
        "b\n"
    )
    sheet = with_struck(with_told(parse_sheet(text.encode(), FORM), DRIFT), 4, "x")
    rows = list(csv.reader(io.StringIO(sheet_bytes(sheet).decode())))
    before = list(csv.reader(io.StringIO(text)))
    assert rows[0][:7] == before[0]
    assert set(rows[0]) == {*FORM.columns, "weather", ""}
    assert rows[1] == before[1]
    assert rows[2] == before[2]
    assert rows[3][:8] == before[3]
    assert rows[4] == before[4]
    told, faults = told_rows(parse_sheet(sheet_bytes(sheet), FORM))
    assert [(one.row, one.struck) for one in told] == [(4, "x"), (6, "")]
    assert told[1] == DRIFT
    assert [fault.row for fault in faults] == [2, 5]


@pytest.mark.parametrize("text", ["", "24:00", "11:60", "0:30 am", "11", "11:5"])
def test_no_time_of_day(text: str) -> None:
    with pytest.raises(PracticeError, match="is no time of day: write it like 11:05"):
        parse_clock(text)


def test_midnight_and_noon() -> None:
    """The twelve-hour clock begins with twelve."""
    assert parse_clock("12:05 am") == time(0, 5)
    assert parse_clock("12:05 p.m.") == time(12, 5)
