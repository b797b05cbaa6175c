"""What the notes say of nights, of stocking and of other boats: through a folder."""

import shutil
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from practices_made import begin, done, report
from sweptwater.jobs.nights import COLD, Nights, read_nights
from sweptwater.jobs.note import read_noted
from sweptwater.jobs.opened import open_folder
from sweptwater.offers.wind import parse_wind
from sweptwater.practice.search import SearchRules
from sweptwater.search.ageing import Night

D7, D8, D9, D10 = (f"2027-06-{day:02}" for day in (7, 8, 9, 10))


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a practice of which nothing was noted yet."""
    scratch = tmp_path_factory.mktemp("nights")
    return begin(scratch / "practice", scratch)


@pytest.fixture
def folder(empty: Path, tmp_path: Path) -> Path:
    """Return a copy of it."""
    return Path(shutil.copytree(empty, tmp_path / "practice"))


def noted(
    folder: Path, rows: Sequence[str], *, day: str = D9, wind: str = ""
) -> Nights:
    """Return what rows of notes.csv say by a day: day,time,kind,value,near,note."""
    lines = ["day,time,kind,value,near,note,pair,lat,lon", *rows]
    (folder / "notes.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    opened = open_folder(folder)
    return read_nights(
        opened,
        read_noted(opened),
        date.fromisoformat(day),
        parse_wind(wind) if wind else None,
    )


def midnight_s(day: int) -> float:
    """Return when a night in June was half over, by the clock of the water: 23 UTC."""
    return datetime(2027, 6, day - 1, 23, tzinfo=UTC).timestamp()


def test_nothing_noted_nothing_told(folder: Path) -> None:
    assert noted(folder, []) == Nights()


@pytest.mark.parametrize(
    ("rows", "wind", "swing_deg"),
    [
        # The last before the night, and the first after it.
        (["8,09:00,N3", "8,17:00,W3", "9,07:00,S3", "9,12:00,E3"], "", 90),
        (["8,09:00,350@10mph", "9,09:00,110@10mph"], "", 120),
        (["8,09:00,W3"], "030@10mph", 120),
        (["8,09:00,W3", "9,07:00,W3"], "E3", 180),  # what will blow counts
        (["8,09:00,W3", "8,17:00,E3", "8,17:00,N3", "9,07:00,N3"], "", 0),  # corrected
        (["8,09:00,W3", "9,07:00,E3", "9,07:00,W4"], "", 0),  # corrected
        (["8,09:00,W3", "8,18:00,calm", "9,07:00,S3"], "", 90),  # blew last from W
        (["8,,W3", "9,,N3"], "", 90),
    ],
)
def test_how_far_the_wind_swung(
    folder: Path, rows: list[str], wind: str, swing_deg: float
) -> None:
    told = ["2027-06-0{},{},wind,{},,,,,".format(*row.split(",")) for row in rows]
    (night,) = noted(folder, told, wind=wind).nights
    assert night.midnight_s == midnight_s(9)
    assert night.swing_deg == pytest.approx(swing_deg)
    assert (night.cooled_c, night.cold) == (None, False)


@pytest.mark.parametrize("wind", ["calm", ""])
def test_a_calm_has_not_swung(folder: Path, wind: str) -> None:
    rows = [f"{D8},09:00,wind,SW4,,,,,", f"{D9},06:00,wind,calm,,,,,"]
    assert noted(folder, rows, wind=wind).nights == ()


def test_over_days_of_which_nobody_noted_the_wind(folder: Path) -> None:
    # Nobody knows in which of them it swung: in the last, so that nothing counts for
    # too little too long.
    rows = [f"{D7},09:00,wind,W3,,,,,", f"{D10},09:00,wind,S3,,,,,"]
    (night,) = noted(folder, rows, day=D10).nights
    assert (night.midnight_s, night.swing_deg) == (midnight_s(10), 90)
    assert noted(folder, rows, day=D9).nights == ()  # not noted yet by then


def test_how_much_the_water_cooled(folder: Path) -> None:
    rows = [
        f"{D8},16:00,temp_top,16C,,,,,",
        f"{D8},09:00,temp_top,13C,,,,,",
        f"{D9},08:00,temp_top,58F,,,,,",
        f"{D9},09:00,temp_top,warm,,,,,",
    ]
    (night,) = noted(folder, rows).nights
    assert night.cooled_c == pytest.approx(16 - 26 / 1.8)  # 58 F is 26 above freezing
    assert night.chilled(SearchRules())


@pytest.mark.parametrize(
    ("row", "day"),
    [
        (f"{D9},06:30,other,frost on the boats", 9),  # in the night before
        (f"{D8},21:00,other,turned cold", 9),  # in the night to come
        (f"{D9},,other,Cold night", 9),
        (f"{D8},12:00,other,cold snap", 9),
        (f"{D8},11:59,other,cold snap", 8),
        (f"{D9},07:00,other,ranger,,frost", 9),  # beside the value
    ],
)
def test_which_night_was_cold(folder: Path, row: str, day: int) -> None:
    (night,) = noted(folder, [row + "," * (8 - row.count(","))]).nights
    assert night == Night(midnight_s(day), cold=True)


# Words of the trade: common practice, no source.
@pytest.mark.parametrize(
    "text",
    [
        *("frost", "a hard frost", "Frosty", "it froze", "freezing at dawn"),
        *("cold night", "a colder night", "cold, clear night", "very cold night"),
        *("bitterly cold overnight", "the night was cold", "turned colder"),
        *("it went cold", "much colder", "cold snap"),
    ],
)
def test_words_of_a_cold_night(text: str) -> None:
    assert COLD.search(text)


@pytest.mark.parametrize(
    "text",
    [
        *("no frost", "there was no frost", "not much colder", "without frost"),
        *("no ground frost", "No sign of frost", "frost-free", "it never turned cold"),
        *("warm night", "cold beer in the lodge", "the ranger saw fish rise"),
        *("the engine would not start cold", "mild night"),
    ],
)
def test_words_of_no_cold_night(text: str) -> None:
    assert not COLD.search(text)


def test_stocking_with_and_without_a_place(folder: Path) -> None:
    rows = [
        f"{D8},09:00,stocked,,oak,,,,",
        f"{D8},10:00,stocked,,,,,,",
        f"{D8},11:00,stocked,,the weir,,,,",
        f"{D10},11:00,stocked,,oak,,,,",
    ]
    found = noted(folder, rows)
    known, *unknown = found.stocked  # the last is still to come
    assert known.time_s == datetime(2027, 6, 8, 8, tzinfo=UTC).timestamp()
    assert (known.easting, known.northing) == pytest.approx((0, 599), abs=1)
    assert [(one.easting, one.northing) for one in unknown] == [(None, None)] * 2
    first, second = found.remarks
    assert first == (
        "notes.csv, row 3: fish were stocked on 8 June, but nobody said where, so "
        "nothing is made of it: note it with --near"
    )
    assert (
        'row 4: fish were stocked on 8 June, but nobody knows a place "the weir"'
        in (second)
    )


@pytest.mark.parametrize(
    ("value", "count"), [("4", 4), ("6 boats", 6), ("about 12 of them", 12)]
)
def test_other_boats_that_were_seen(folder: Path, value: str, count: int) -> None:
    (seen,) = noted(folder, [f"{D8},14:30,boats,{value},buoy,,,,"]).boats
    assert (seen.count, seen.clock) == (count, "14:30")
    assert seen.time_s == datetime(2027, 6, 8, 13, 30, tzinfo=UTC).timestamp()
    assert (seen.easting, seen.northing) == pytest.approx((-500, 60), abs=1)


@pytest.mark.parametrize(
    ("row", "remark"),
    [
        ("boats,6,", "nobody said where, so they press no find: note it with --near"),
        ("boats,6,the weir", 'nobody knows a place "the weir" on this water'),
        ("boats,some,buoy", "nobody said how many, so they press no find: note a nu"),
    ],
)
def test_boats_that_press_nothing_are_told(folder: Path, row: str, remark: str) -> None:
    found = noted(folder, [f"{D8},14:30,{row},,,,"])
    assert found.boats == ()
    (told,) = found.remarks
    assert told.startswith("notes.csv, row 2: other boats were seen on 8 June, but ")
    assert remark in told


def test_a_place_off_the_water_is_told(folder: Path) -> None:
    found = noted(folder, [f"{D8},14:30,boats,6,,,,10.5,2.3"])
    assert found.boats == ()
    assert "its position is not on this water" in found.remarks[0]


def test_the_remarks_reach_the_captain(folder: Path) -> None:
    done(folder, "note", "boats", "6", "--day", D8, "--at", "14:30")
    words = ("--day", D9, "--wind", "W3", "--across")
    remarks = report(folder, "next", *words)["remarks"]
    assert any("other boats were seen on 8 June" in remark for remark in remarks)
