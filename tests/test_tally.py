"""`tally.csv`: read as people and spreadsheets leave it, no row ever lost."""

import csv
import io
from datetime import date, time
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.errors import PracticeError
from sweptwater.practice.sheets import Sheet, parse_sheet, sheet_bytes
from sweptwater.practice.tally import BEFORE, FORM, Counts, Entry, SetUp
from sweptwater.practice.tally_rows import (
    keep_before,
    keep_rows,
    raw_rows,
    tally_rows,
    with_changes,
    with_new,
)
from sweptwater.practice.tally_words import parse_setup, said_counts

DAY = date(2027, 6, 8)
EMPTY = Sheet((FORM.columns,))
HEAD = "day,pair,drift,start,rod,told,follow,pull,lost,boated"


def _line(text: str) -> str:
    return " ".join(text.split())


words = st.text(st.characters(exclude_categories=["Cs"]), max_size=12).map(_line)
counts = st.builds(Counts, *[st.integers(0, 99)] * 4)
unsaid = st.integers(1, 99).map(lambda n: Counts(unsaid=n))
setups = st.builds(
    SetUp,
    line=words,
    sink_in_s=st.none() | st.integers(0, 80).map(lambda n: n / 4),
    count_s=st.none() | st.integers(0, 300).map(float),
    retrieve=words,
    fly_place=words,
    fly=words,
)


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    """Draw a row that says something or nothing, as `tally` may write it."""
    told = draw(st.sampled_from(["", "blank", "tallied"]))
    return Entry(
        day=draw(st.dates(date(1000, 1, 1))),
        pair=draw(words.filter(bool)),
        start=draw(
            st.none() | st.integers(0, 1439).map(lambda m: time(*divmod(m, 60)))
        ),
        drift=draw(st.none() | st.integers(1, 99)),
        rod=draw(st.sampled_from(["", "bow", "stern", "1", "R-2"])),
        told=told,  # type: ignore[arg-type]
        counts=draw(counts | unsaid) if told == "tallied" else Counts(),
        setup=draw(setups),
        taken=draw(words),
        species=draw(words),
        drogue=draw(st.sampled_from(["", "in", "out"])),
        left_because=draw(words),
        place=draw(
            st.none()
            | st.tuples(
                st.floats(-180, 180).map(lambda lon: round(lon, 6)),
                st.floats(-90, 90).map(lambda lat: round(lat, 6)),
            )
        ),
        near=draw(words),
        when=draw(words),
        note=draw(words),
    )


def parsed(text: str) -> tuple[tuple[Entry, ...], list[str]]:
    found, faults = tally_rows(parse_sheet(text.encode(), FORM))
    return found, [str(fault) for fault in faults]


def test_the_columns() -> None:
    """As they were agreed, in that order; others come only where they are needed."""
    assert ",".join(FORM.columns) == (
        "day,pair,drift,start,rod,told,follow,pull,lost,boated,line,sink_in_s,count_s,"
        "retrieve,taken,fly_place,fly,species,drogue,left_because,lat,lon,time,note"
    )
    row = Entry(day=DAY, pair="Heron", told="blank")
    assert with_new(EMPTY, [row]).rows[0] == FORM.columns
    near = Entry(day=DAY, pair="Heron", near="tower")
    assert with_new(EMPTY, [near]).rows[0] == (*FORM.columns, "near")
    three = Entry(day=DAY, pair="Heron", told="tallied", counts=Counts(unsaid=3))
    assert with_new(EMPTY, [three]).rows[0] == (*FORM.columns, "offers")


@given(st.lists(entries(), max_size=4), st.sampled_from(",;\t"), st.booleans())
def test_what_is_written_is_read(
    made: list[Entry], delimiter: str, marked: bool
) -> None:
    sheet = with_new(Sheet(EMPTY.rows, delimiter, marked), made)
    again = parse_sheet(sheet_bytes(sheet), FORM)
    assert again == sheet
    found, faults = tally_rows(again)
    assert faults == ()
    assert sorted(map(_plain, found)) == sorted(map(_plain, made))


def _plain(entry: Entry) -> str:
    return repr(entry).rpartition(", row=")[0]


def test_other_programs_read_it() -> None:
    """The csv module and pandas are the references for RFC 4180."""
    entry = Entry(
        day=DAY,
        pair="Heron",
        drift=4,
        told="tallied",
        counts=Counts(2, boated=1),
        note='"hot" spot, twice',
    )
    data = sheet_bytes(with_new(EMPTY, [entry]))
    (row,) = csv.DictReader(io.StringIO(data.decode()))
    assert [row[k] for k in ("follow", "pull", "lost", "boated")] == list("2001")
    frame = pd.read_csv(io.BytesIO(data))
    assert frame.note[0] == '"hot" spot, twice'
    # And what pandas writes, in which a column with gaps has decimals.
    frame = pd.concat([frame, frame.assign(drift=None, follow=None)])
    again, faults = parsed(frame.to_csv(index=False))
    assert faults == []
    assert [(e.drift, e.counts.follow) for e in again] == [(4, 2), (None, 0)]


@pytest.mark.parametrize(
    "text",
    [
        f"{HEAD},sink_in_s\n2027-06-08,Heron,4,11:05,bow,tallied,2,0,0,1,3\n",
        f"\ufeff{HEAD.replace(',', ';')};sink_in_s\r\n"
        "08/06/2027;Heron;4;11:05:00;bow;TALLIED;2;;;1;3,0\r\n;;;;;;;;;;\r\n",
        "sep=;\nBoated;Follow;Told;Rod;Start;Drift;Pair;Day;Sink_in_s;Weather\n"
        "1;2;yes;bow;11.05;4;Heron;8.6.2027;3;wet\n",
        f"{HEAD},sink_in_s\n2027-06-08,Heron,4.0,11:05 AM,bow,,2,,,1,3.0\n",
        f"{HEAD}\tsink_in_s\n2027-06-08\tHeron\t4\t11:05\tbow\t\t2\t\t\t1\t3\n".replace(
            ",", "\t"
        ),
    ],
    ids=["plain", "marked semicolons", "any order", "from numbers", "tabs"],
)
def test_as_a_spreadsheet_leaves_it(text: str) -> None:
    (entry,), faults = parsed(text)
    assert faults == []
    assert entry == Entry(
        day=DAY,
        pair="Heron",
        drift=4,
        start=time(11, 5),
        rod="bow",
        told="tallied",
        counts=Counts(follow=2, boated=1),
        setup=SetUp(sink_in_s=3.0),
    )


@pytest.mark.parametrize(
    ("cells", "told", "offers"),
    [
        ("tallied,1,0,0,0", "tallied", 1),
        ("yes,0,0,0,0", "tallied", 0),
        (",2,,,", "tallied", 2),
        (",0,0,0,0", "tallied", 0),
        ("Blank,,,,", "blank", 0),
        ("b,0,0,0,0", "blank", 0),
        ("nothing,,,,", "blank", 0),
        (",,,,", "", 0),
        ("Not told,,,,", "", 0),
    ],
)
def test_told_blank_and_not_told(cells: str, told: str, offers: int) -> None:
    """Silence is never a blank."""
    (entry,), faults = parsed(f"{HEAD}\n2027-06-08,Heron,4,11:05,bow,{cells}\n")
    assert (faults, entry.told, entry.counts.offers) == ([], told, offers)


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("8 June,Heron,4,,bow,blank,,,,", "'8 June' is no day; write it like"),
        (",Heron,4,,bow,blank,,,,", "there is no day; fill it in"),
        ("2027-06-08,,4,,bow,blank,,,,", "there is no pair; fill it in"),
        ("2027-06-08,Heron,x,,bow,blank,,,,", "'x' is not how many (the drift's"),
        ("2027-06-08,Heron,0,,bow,blank,,,,", "'0' is no number of a drift"),
        ("2027-06-08,Heron,4,late,bow,blank,,,,", "'late' is no time of day; write"),
        ("2027-06-08,Heron,4,,bow,perhaps,,,,", "does not say whether it was told"),
        ('2027-06-08,Heron,4,,bow,,"2,5",,,', "'2,5' is not how many (follow); write"),
        ("2027-06-08,Heron,4,,bow,,x,,,", "'x' is not how many (follow)"),
        ("2027-06-08,Heron,4,,bow,,,-1,,", "'-1' is not how many (pull)"),
        ("2027-06-08,Heron,4,,bow,,,,,200", "is it a slip of the pencil?"),
        ("2027-06-08,Heron,4,,bow,blank,1,,,", "it says blank, and 1 offers; write"),
        ("2027-06-08,Heron,4,,bow,tallied,,,,", "tallied, and not how many; fill in"),
        ("2027-06-08,Heron,4,,bow,,,,,0", "it says 0 of boated and nothing of the"),
    ],
)
def test_a_bad_row_is_at_fault_alone(row: str, fault: str) -> None:
    good = "2027-06-08,Heron,4,,bow,blank,,,,"
    found, (told,) = parsed(f"{HEAD}\n{good}\n{row}\n{good}\n")
    assert [entry.row for entry in found] == [2, 4]
    assert told.startswith("tally.csv, row 3: ")
    assert fault in told


@pytest.mark.parametrize(
    ("column", "cell", "fault"),
    [
        ("sink_in_s", "fast", "'fast' is no sink rate; write inches a second"),
        ("count_s", "-5", "'-5' is no count; write seconds, like 20"),
        ("drogue", "up", "'up' does not say where the drogue was; write in"),
        ("lat", "95", "is no latitude and longitude"),
    ],
)
def test_a_bad_word_of_the_set_up(column: str, cell: str, fault: str) -> None:
    _, (told,) = parsed(f"day,pair,told,{column}\n2027-06-08,Heron,b,{cell}\n")
    assert fault in told


def test_rows_go_where_they_belong() -> None:
    """By day, pair, time and rod, and nothing that is there moves."""
    text = (
        f"{HEAD},weather\n"
        "2027-06-08,Heron,2,12:00,bow,b,,,,,wet\n"
        "2027-06-08,Heron,1,11:00,bow,b,,,,,dry\n"
        "what is this,,,,,,,,,,\n"
        "2027-06-09,Heron,1,09:00,bow,,,,,,\n"
    )
    new = [
        Entry(day=DAY, pair="Heron", drift=3, start=time(13), rod="stern"),
        Entry(day=DAY, pair="Heron", drift=3, start=time(13), rod="bow"),
        Entry(day=DAY, pair="Grebe", drift=1, start=time(10), rod="bow"),
        Entry(day=date(2027, 6, 9), pair="Heron", drift=2, start=time(9, 5)),
    ]
    sheet = with_new(parse_sheet(text.encode(), FORM), new)
    assert [row[:5] for row in sheet.rows[1:]] == [
        ("2027-06-08", "Grebe", "1", "10:00", "bow"),
        ("2027-06-08", "Heron", "2", "12:00", "bow"),
        ("2027-06-08", "Heron", "1", "11:00", "bow"),
        ("what is this", "", "", "", ""),
        ("2027-06-08", "Heron", "3", "13:00", "bow"),
        ("2027-06-08", "Heron", "3", "13:00", "stern"),
        ("2027-06-09", "Heron", "1", "09:00", "bow"),
        ("2027-06-09", "Heron", "2", "09:05", ""),
    ]
    assert sheet.rows[2][10] == "wet"


def test_a_change_leaves_what_is_not_ours() -> None:
    text = "weather;Pair;Day;Told;sink_in_s\nwet;heron;8.6.2027;B;2,5\n"
    sheet = parse_sheet(text.encode(), FORM)
    ((entry,), _) = tally_rows(sheet)
    now = Entry(
        day=DAY,
        pair="heron",
        told="tallied",
        counts=Counts(1),
        setup=SetUp(sink_in_s=1.5),
        row=2,
    )
    changed = with_changes(sheet, [(now, entry)])
    values = dict(zip(changed.rows[0], changed.rows[1], strict=True))
    assert [values[k] for k in ("weather", "Pair", "Day")] == [
        "wet",
        "heron",
        "8.6.2027",
    ]
    assert (values["Told"], values["follow"], values["sink_in_s"]) == (
        *("tallied", "1"),
        "1,5",
    )


def test_what_stood_there_is_kept_once(tmp_path: Path) -> None:
    text = f"{HEAD},weather\n2027-06-08,Heron,4,,bow,b,,,,,wet,beyond\n"
    sheet = parse_sheet(text.encode(), FORM)
    for _ in range(2):  # as after a crash in between
        keep_before(tmp_path, sheet, [2])
    data = (tmp_path / BEFORE).read_bytes().decode()
    (row,) = csv.DictReader(io.StringIO(data))
    assert list(row)[: len(FORM.columns)] == list(FORM.columns)
    assert (row["told"], row["weather"], row["column 12"]) == ("b", "wet", "beyond")
    assert keep_rows(tmp_path, BEFORE, raw_rows(sheet)) == 0


@pytest.mark.parametrize(
    ("text", "counts", "rest"),
    [
        ("2/1/0/1 3ips", Counts(2, 1, 0, 1), "3ips"),
        ("2 follows 1 boated", Counts(2, boated=1), ""),
        ("2f 1b floating", Counts(2, boated=1), "floating"),
        ("2 follows, one pull and a half", Counts(2, 1), "and a half"),
        ("boated on the hang", Counts(boated=1), "on the hang"),
        ("3", Counts(unsaid=3), ""),
        ("three offers", Counts(unsaid=3), ""),
        ("3ips c20", None, "3ips c20"),
        ("3 in/s", None, "3 in/s"),
        ("slow", None, "slow"),
        ("0/0/0/0", Counts(), ""),
    ],
)
def test_counts_as_they_are_said(text: str, counts: Counts | None, rest: str) -> None:
    assert said_counts(text.split()) == (counts, tuple(rest.split()))


@pytest.mark.parametrize("text", ["2/1", "2/1/0/1/0", "2//0/1"])
def test_what_are_no_four_counts(text: str) -> None:
    with pytest.raises(PracticeError, match="is not four counts: write follows, pulls"):
        said_counts([text])


@pytest.mark.parametrize(
    ("text", "setup"),
    [
        ("3ips c20 slow", SetUp("3 in/s", 3, 20, "slow")),
        ("3 in/s count 20", SetUp("3 in/s", 3, 20)),
        ("4.5ips", SetUp("4.5 in/s", 4.5)),
        ("floating", SetUp("floating", 0)),
        (
            "Slow Intermediate c10 roly-poly",
            SetUp("slow intermediate", 0.75, 10, "roly-poly"),
        ),
        ("intermediate 1ips", SetUp("intermediate", 1)),
        ("figure of eight", SetUp(retrieve="figure of eight")),
        ("", SetUp()),
    ],
)
def test_set_ups_as_they_are_said(text: str, setup: SetUp) -> None:
    """Sink rates by the words on spools (common practice, no source)."""
    assert parse_setup(text) == setup
