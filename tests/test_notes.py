"""`notes.csv`: read as people and spreadsheets leave it, and what it says of a time."""

import csv
import io
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.offers.noted import (
    drogue_at,
    has_wind,
    noted,
    sky_at,
    wave_at,
    wind_at,
)
from sweptwater.offers.sky import parse_sky
from sweptwater.practice.notes import (
    FORM,
    KINDS,
    NEED_A_VALUE,
    Note,
    note_rows,
    with_note,
)
from sweptwater.practice.sheets import Sheet, parse_sheet, sheet_bytes

LONDON = ZoneInfo("Europe/London")
DAY = date(2027, 6, 9)
EMPTY = Sheet((FORM.columns,))
HEAD = "day,time,pair,kind,value"


def _line(text: str) -> str:
    return " ".join(text.split())


words = st.text(st.characters(exclude_categories=["Cs"]), max_size=20).map(_line)
notes = st.builds(
    Note,
    day=st.dates(date(1000, 1, 1)),
    at=st.none() | st.integers(0, 1439).map(lambda m: time(*divmod(m, 60))),
    pair=words,
    kind=st.sampled_from(KINDS),
    value=words.filter(bool),
    place=st.none()
    | st.tuples(
        st.floats(-180, 180).map(lambda lon: round(lon, 6)),
        st.floats(-90, 90).map(lambda lat: round(lat, 6)),
    ),
    near=words,
    note=words,
)


def parsed(text: str) -> tuple[tuple[Note, ...], list[str]]:
    found, faults = note_rows(parse_sheet(text.encode(), FORM))
    return found, [str(fault) for fault in faults]


def at(text: str, day: date = DAY) -> float:
    """Return a local time in seconds since 1970."""
    return datetime.combine(day, time.fromisoformat(text), LONDON).timestamp()


def winds(*rows: str, pair: str = "Heron") -> dict[str, str]:
    """Return the forces that a day's rows say, by the hour, to compare at a glance."""
    found, _ = parsed("\n".join((HEAD, *(f"2027-06-09,{row}" for row in rows))))
    told = noted(found, LONDON)
    hours = ("08:00", "09:30", "10:00", "12:00", "13:00", "18:00")
    held = {hour: wind_at(told, DAY, at(hour), pair) for hour in hours}
    return {hour: f"{wind.from_deg:g}" for hour, wind in held.items() if wind}


def test_the_columns() -> None:
    assert ",".join(FORM.columns) == "day,time,pair,kind,value,lat,lon,near,note"


@given(st.lists(notes, max_size=4), st.sampled_from(",;\t"), st.booleans())
def test_what_is_written_is_read(
    made: list[Note], delimiter: str, marked: bool
) -> None:
    sheet = Sheet(EMPTY.rows, delimiter, marked)
    for note in made:
        sheet = with_note(sheet, note)
    again = parse_sheet(sheet_bytes(sheet), FORM)
    assert again == sheet
    assert note_rows(again) == (tuple(made), ())


def test_other_programs_read_it() -> None:
    """The csv module and pandas are the references for RFC 4180."""
    note = Note(day=DAY, at=time(10), kind="wind", value="SW4", note='gusts, "wild"')
    data = sheet_bytes(with_note(EMPTY, note))
    (row,) = csv.DictReader(io.StringIO(data.decode()))
    assert (row["time"], row["value"], row["note"]) == ("10:00", "SW4", 'gusts, "wild"')
    assert list(pd.read_csv(io.BytesIO(data)).columns) == list(FORM.columns)


def test_as_a_spreadsheet_leaves_it() -> None:
    text = (
        "\ufeffDay;Time;Pair;Kind;Value;Lat;Lon\r\n"
        "09/06/2027;10:00:00;Heron;Wind;SW 4;54,85;2,31\r\n"
        ";;;;;;\r\n"
        "9.6.2027;1:30 PM;;hatch;buzzers;;\r\n"
    )
    (wind, hatch), faults = parsed(text)
    assert faults == []
    assert (wind.day, wind.at, wind.kind, wind.row) == (DAY, time(10), "wind", 2)
    assert wind.place == (2.31, 54.85)
    assert (hatch.at, hatch.kind, hatch.value) == (time(13, 30), "hatch", "buzzers")


def test_decimal_commas_where_semicolons_part_the_cells() -> None:
    """Numbers alone take the comma; a wind is text, and stays as it was said."""
    note = Note(day=DAY, kind="wind", value="240@5.5m/s", place=(2.31, 54.85))
    row = sheet_bytes(with_note(Sheet(EMPTY.rows, ";"), note)).decode().splitlines()[1]
    assert row == "2027-06-09;;;wind;240@5.5m/s;54,850000;2,310000;;"


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_kept(kind: str) -> None:
    """The kinds of the trade, and the drogue."""
    (note,), faults = parsed(f"{HEAD}\n2027-06-09,10:00,,{kind},out\n")
    assert (note.kind, faults) == (kind, [])
    told = noted([note], LONDON)
    counted = (told.winds, told.drogues, told.skies, told.waves, told.faults)
    assert any(counted) == (kind in NEED_A_VALUE)


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("9 June,10:00,,wind,SW4", "'9 June' is no day; write it like 2027-06-09"),
        ("2027-06-09,25:00,,wind,SW4", "'25:00' is no time of day; write it like"),
        ("2027-06-09,10:00,,wnid,SW4", "'wnid' is no kind of note; did you mean wind?"),
        ("2027-06-09,10:00,,xyz,SW4", "'xyz' is no kind of note; the kinds are sky"),
        ("2027-06-09,10:00,,wind,", "there is no value of wind; fill it in"),
        ("2027-06-09,10:00,,,SW4", "there is no kind; fill it in"),
        ("2027-06-09,10:00,,sky,dull,95,2", "'95', '2' is no latitude and longitude"),
    ],
)
def test_a_bad_row_is_at_fault_alone(row: str, fault: str) -> None:
    good = "2027-06-09,10:00,,wind,SW4"
    found, (told,) = parsed(f"{HEAD},lat,lon\n{good}\n{row}\n{good}\n")
    assert [note.row for note in found] == [2, 4]
    assert told.startswith("notes.csv, row 3: ")
    assert fault in told


@pytest.mark.parametrize(
    ("kind", "value", "fault"),
    [
        ("wind", "breezy", "'breezy' is no wind; write it like SW4, or 240@12mph"),
        ("wind", "SW", "'SW' does not say how hard the wind blows; write it like"),
        ("drogue", "up", "'up' does not say where the drogue is; write in, for in"),
        ("sky", "fair", "'fair' does not say how the sky was; write bright, broken"),
    ],
)
def test_a_value_that_means_nothing(kind: str, value: str, fault: str) -> None:
    found, _ = parsed(f"{HEAD}\n2027-06-09,10:00,,{kind},{value}\n")
    (told,) = noted(found, LONDON).faults
    assert str(told).startswith(f"notes.csv, row 2: {fault}")


def test_another_kind_of_file_is_refused() -> None:
    with pytest.raises(PracticeError, match=r"notes.csv has no column 'kind'"):
        parse_sheet(b"day,time,pair\n", FORM)


@pytest.mark.parametrize(
    ("rows", "held"),
    [
        ((), {}),
        (("10:00,,wind,S4",), dict.fromkeys(("09:30", "10:00", "12:00"), "180")),
        ((",,wind,S4",), dict.fromkeys(("08:00", "09:30", "10:00", "12:00"), "180")),
        (
            ("10:00,,wind,S4", "12:30,,wind,W3"),
            {"09:30": "180", "10:00": "180", "12:00": "180", "13:00": "270"},
        ),
        # Written in any order; the later row about one moment counts.
        (
            ("12:30,,wind,W3", "10:00,,wind,S4", "10:00,,wind,E4"),
            {"09:30": "90", "10:00": "90", "12:00": "90", "13:00": "270"},
        ),
        # Its own before all boats' at one moment, and until the next note.
        (
            ("10:00,Heron,wind,E4", "10:00,,wind,S4", "12:30,,wind,W3"),
            {"09:30": "90", "10:00": "90", "12:00": "90", "13:00": "270"},
        ),
        (("10:00,Teal,wind,E4",), {}),
    ],
)
def test_a_wind_holds_until_the_next(
    rows: tuple[str, ...], held: dict[str, str]
) -> None:
    found = winds(*rows)
    late = {hour: held.get("13:00", held.get("12:00")) for hour in ("13:00", "18:00")}
    assert found == {**held, **{k: v for k, v in late.items() if v}}


def test_a_wind_is_of_its_day() -> None:
    found, _ = parsed(f"{HEAD}\n2027-06-09,10:00,,wind,S4\n")
    told = noted(found, LONDON)
    next_day = date(2027, 6, 10)
    assert wind_at(told, next_day, at("11:00", next_day), "Heron") is None
    assert (has_wind(told, DAY), has_wind(told, next_day)) == (True, False)


def test_an_hour_before_and_no_more() -> None:
    found, _ = parsed(f"{HEAD}\n2027-06-09,00:30,,wind,S4\n2027-06-10,10:00,,wind,W4\n")
    told = noted(found, LONDON)
    assert wind_at(told, DAY, at("00:00"), "Heron") is not None
    day = date(2027, 6, 10)
    assert wind_at(told, day, at("09:00", day), "Heron") is not None
    assert wind_at(told, day, at("08:59", day), "Heron") is None


def test_the_clock_is_the_practices() -> None:
    """In June London is an hour ahead of UTC (tz database)."""
    found, _ = parsed(f"{HEAD}\n2027-06-09,10:00,Heron,drogue,in\n")
    told = noted(found, LONDON)
    ten_utc = datetime.fromisoformat("2027-06-09T10:00:00+00:00").timestamp()
    held = [drogue_at(told, DAY, ten_utc - s, "Heron") for s in (0, 3600, 3601)]
    assert held == ["in", "in", None]


def test_a_drogue_goes_in_and_out() -> None:
    rows = ("10:40,Heron,drogue,in", "12:00,,drogue,Out", "13:00,Teal,drogue,in")
    found, _ = parsed("\n".join((HEAD, *(f"2027-06-09,{row}" for row in rows))))
    told = noted(found, LONDON)
    hours = ("10:39", "10:40", "11:59", "12:00", "14:00")
    assert [drogue_at(told, DAY, at(hour), "Heron") for hour in hours] == [
        *(None, "in", "in", "out", "out")
    ]
    assert drogue_at(told, DAY, at("14:00"), "Teal") == "in"


def test_a_sky_and_a_wave_hold_until_the_next() -> None:
    rows = (
        *("10:00,,sky,sunny", "10:00,,wave,ripple", "13:00,,sky,Overcast"),
        *("12:00,Heron,wave,flat calm", "11:00,Teal,sky,broken"),
    )
    found, _ = parsed("\n".join((HEAD, *(f"2027-06-09,{row}" for row in rows))))
    told = noted(found, LONDON)
    hours = ("09:59", "10:00", "11:30", "12:30", "13:00")
    skies = [sky_at(told, DAY, at(hour), "Heron") for hour in hours]
    assert skies == [None, "bright", "bright", "bright", "dull"]
    waves = [wave_at(told, DAY, at(hour), "Heron") for hour in hours]
    assert waves == [None, "ripple", "ripple", "flat calm", "flat calm"]
    assert sky_at(told, DAY, at("11:30"), "Teal") == "broken"
    assert sky_at(told, date(2027, 6, 10), at("11:30"), "Heron") is None


@pytest.mark.parametrize(
    ("words", "sky"),
    [
        *((word, "bright") for word in ("bright", " SUNNY ", "clear", "blue")),
        *((word, "broken") for word in ("broken", "sunny-intervals", "partly cloudy")),
        *((word, "dull") for word in ("dull", "overcast", "Cloudy", "grey")),
    ],
)
def test_what_people_call_a_sky(words: str, sky: str) -> None:
    """Common practice, no source."""
    assert parse_sky(words) == sky
