"""`tally`, told by words; and the evening of bad notes.

One pair has a full track and one line, "three, on the hang, off the tower, before
lunch"; another's phone died at 12:10, and it says "boathouse to the point, twice,
blank".
"""

import shutil
from pathlib import Path

import pytest

from memory_made import TELL
from practices_made import (
    FRAME,
    boat,
    done,
    refused,
    report,
    rough,
    run,
    tree,
    write,
)
from tally_made import (
    LOOSE,
    SHORT,
    boat_of,
    evening_of,
    rows,
    tell,
    told_rows,
)


@pytest.fixture(scope="module")
def _evening(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return evening_of(_begun, tmp_path_factory.mktemp("evening"))


@pytest.fixture
def evening(_evening: Path, tmp_path: Path) -> Path:
    """Return that day's practice, before anybody told anything."""
    return Path(shutil.copytree(_evening, tmp_path / "pool"))


def test_the_evening_of_bad_notes(evening: Path) -> None:
    recorded = report(evening, "coverage")["fished_m2"]
    assert boat_of(evening, "Heron")["drifts"] == 5
    found = tell(evening, "Heron", "somewhere", "3", *LOOSE)
    # Before lunch there were three drifts; all of them passed within 250 m of it.
    assert found["questions"] == [
        "Heron on Tue 8 Jun: 3 offers (tower, before lunch, on the hang), may have "
        "been on drifts 1 to 3; were the others blank? then say: sweptwater tally "
        "Heron rest blank"
    ]
    (loose,) = tell(evening)["loose"]
    assert (loose["offers"], loose["drifts"], loose["rod"]) == (3, [1, 2, 3], "")
    # The pair's hours stay out of all rates: no drift of its is told, and none blank.
    heron = boat_of(evening, "Heron")
    assert (heron["told"], heron["blank"], heron["offers"]) == (0, 0, 3)
    assert heron["not_told"] == [1, 2, 3, 4, 5]
    # The other: two drifts from memory, that the tally calls blank and the note not.
    way = (*TELL, "--from", "boathouse", "--to", "the point", "--times", "2")
    done(evening, "drifts", "add", *way, "--note", "blank")
    grebe = boat_of(evening, "Grebe")
    assert (grebe["drifts"], grebe["told"]) == (3, 0)
    done(evening, "tally", "Grebe", "2-3", "blank")
    grebe = boat_of(evening, "Grebe")
    assert (grebe["told"], grebe["blank"], grebe["not_told"]) == (2, 2, [1])
    listed = report(evening, "drifts", "--pair", "Grebe")["drifts"]
    assert [(one["source"], one["told"]) for one in listed] == [
        ("track", False),
        ("memory", True),
        ("memory", True),
    ]
    covered = report(evening, "coverage")
    assert rough(covered["fished_m2"], recorded)
    assert covered["remembered_m2"] > 0
    assert [one["pair"] for one in covered["remembered"]] == ["Grebe"]
    # And when the question is answered, nothing is left open.
    done(evening, "tally", "Heron", "rest", "blank")
    after = tell(evening)
    assert (after["questions"], len(after["loose"])) == ([], 1)
    assert boat_of(evening, "Heron")["told"] == 5
    assert report(evening, "check")["faults"] == []


def test_without_words_every_drift_has_its_rows(evening: Path) -> None:
    (evening / "tally.csv").unlink()
    found = tell(evening)
    assert found["new_rows"] == 2 * (5 + 1)
    made = rows(evening)
    assert [(row["pair"], row["drift"], row["rod"]) for row in made[:4]] == [
        ("Grebe", "1", "bow"),
        ("Grebe", "1", "stern"),
        ("Heron", "1", "bow"),
        ("Heron", "1", "stern"),
    ]
    assert made[2]["start"] == "11:00"
    before = tree(evening)
    assert tell(evening)["new_rows"] == 0
    assert tree(evening) == before


def test_upload_makes_the_rows(evening: Path) -> None:
    assert len(rows(evening)) == 2 * (5 + 1)


def test_a_file_that_is_no_table_is_left_alone(evening: Path, tmp_path: Path) -> None:
    write(evening / "tally.csv", b"\xff\xfenonsense")
    told = refused(evening, "tally")
    assert told.startswith("Error: tally.csv is not UTF-8 text")
    next_day = boat(SHORT, begin="2027-06-09T10:00:00+01:00")
    track = write(tmp_path / "more.gpx", next_day)
    found = report(evening, "upload", "--pair", "Heron", track)
    assert found["tally_fault"].startswith("the drifts are not in tally.csv yet: ")
    assert (evening / "tally.csv").read_bytes() == b"\xff\xfenonsense"
    (fault,) = report(evening, "check", code=1)["faults"]
    assert fault["file"] == "tally.csv"


def test_a_rod_on_a_drift(evening: Path) -> None:
    found = tell(evening, "heron", 4, "bow", "2/1/0/1", "3ips", "c20", "slow", "pulls")
    (line,) = found["lines"]
    counted = [line[kind] for kind in ("follow", "pull", "lost", "boated", "offers")]
    assert counted == [2, 1, 0, 1, 4]
    tackle = [line[part] for part in ("line", "sink_in_s", "count_s", "retrieve")]
    assert tackle == ["3 in/s", 3.0, 20.0, "slow pulls"]
    assert (line["instead_of"], line["known"]) == ("", False)
    assert found["not_told"] == [1, 2, 3, 4, 5]  # the other rod is not
    (row,) = told_rows(evening)
    where = [row[name] for name in ("pair", "drift", "rod", "told")]
    assert where == ["Heron", "4", "bow", "tallied"]
    assert len(rows(evening)) == 12
    before = tree(evening)
    again = tell(evening, "Heron", 4, "bow", "2/1/0/1")
    assert again["lines"][0]["known"] is True
    assert tree(evening) == before


def test_what_is_told_anew_keeps_what_was(evening: Path) -> None:
    done(evening, "tally", "Heron", 4, "bow", "2/1/0/1", "3ips", "--note", "cold")
    shown = done(evening, "tally", "Heron", 4, "bow", "blank").stdout
    assert shown.splitlines()[0] == (
        "Heron on 2027-06-08, drift 4, bow: blank; 3 in/s; cold "
        "(instead of 2 follows, 1 pull, 1 boated; 3 in/s; cold)"
    )
    (kept,) = rows(evening, "tally-before.csv")
    assert [kept[kind] for kind in ("follow", "pull", "lost", "boated")] == list("2101")
    (row,) = told_rows(evening)
    assert [row[kind] for kind in ("told", "follow", "line")] == ["blank", "", "3 in/s"]


def test_all_ways_to_say_blank(evening: Path) -> None:
    done(evening, "tally", "Heron", "1", "bow", "1/0/0/0")
    done(evening, "tally", "Heron", "2-3", "blank")
    assert boat_of(evening, "Heron")["blank"] == 2
    found = tell(evening, "Heron", "rest", "nothing", "floating")
    told = [(line["drift"], line["rod"]) for line in found["lines"]]
    assert told == [(1, "stern"), (4, "bow"), (4, "stern"), (5, "bow"), (5, "stern")]
    heron = boat_of(evening, "Heron")
    assert (heron["told"], heron["blank"], heron["offers"]) == (5, 4, 1)
    told_already = refused(evening, "tally", "Heron", "rest", "blank")
    assert "all drifts of Heron on 8 June are told already" in told_already


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("Coot", 4, "blank"), "there is no pair 'Coot': the pairs are Heron, Grebe"),
        (("Heron",), "say which drift: its number, like 4, or 4-7, or rest"),
        (("Heron", 9, "blank"), "Heron has no drift 9 on 8 June, only drifts 1 to 5"),
        (("Heron", "blank"), "'blank' is no drift: say which drift"),
        (("Heron", 4), "it does not say what was met: write follows, pulls, lost"),
        (("Heron", 4, "2/1"), "'2/1' is not four counts"),
        (("Heron", 4, "blnak"), "which line: did you mean blank?"),
        (("Heron", 4, "bow", "2-1-0-1"), "'2-1-0-1' tells neither what was met nor"),
        (("Heron", "4-7", "blank"), "Heron has no drift 6"),
        (("Heron", "1-3", "2/0/0/0"), "2 follows cannot be told of several drifts"),
        (("Heron", "rest", "2"), "2 offers cannot be told of several drifts at once"),
        (("Heron", "somewhere", "blank"), "only offers can be told of no drift in"),
        (("Heron", "?", 3, "--when", "late-ish"), "'late-ish' does not say when"),
        (
            ("Heron", "?", 3, "--near", "towre"),
            'there is no mark "towre": did you mean',
        ),
        (("Heron", 4, 3, "--at-place", "1,2"), "is not on this water"),
        (("Heron", 4, 3, "--drogue", "up"), "'up' does not say where the drogue was"),
        (("Heron", 4, 3, "--day", "2027-06-09"), "Heron has no drift on 9 June (it"),
    ],
)
def test_what_cannot_be_understood(
    evening: Path, words: tuple[object, ...], sentence: str
) -> None:
    assert sentence in refused(evening, "tally", *words)


def test_an_offer_with_its_own_clock_or_place(evening: Path) -> None:
    lon, lat = FRAME.to_degrees(-400.0, 120.0)
    done(evening, "tally", "Heron", 1, "bow", "2 follows 1 boated")
    done(evening, "tally", "Heron", 1, "bow", "boated", "--at", "11:04")
    done(evening, "tally", "Heron", "?", "bow", "follow", "--at", "11:05")
    place = f"{lat:.6f},{lon:.6f}"
    done(evening, "tally", "Heron", "?", "bow", "follow", "--at-place", place)
    heron = boat_of(evening, "Heron")
    assert (heron["follow"], heron["boated"], heron["offers"]) == (3, 1, 4)
    assert len(rows(evening)) == 12 + 3


def test_a_rod_that_nobody_named_gets_its_name(evening: Path) -> None:
    (question,) = tell(evening, "Heron", 4, "3")["questions"]
    assert "3 offers on drift 4: which rod was it?" in question
    assert boat_of(evening, "Heron")["offers"] == 3
    assert tell(evening, "Heron", 4, "stern", "3")["questions"] == []
    assert boat_of(evening, "Heron")["offers"] == 3
    assert boat_of(evening, "Heron")["rods_not_told"]["stern"] == [1, 2, 3, 5]


def test_rods_by_their_call_signs(evening: Path) -> None:
    path = evening / "practice.toml"
    text = path.read_text()
    assert text.count("[rods]") == 1
    path.write_text(text.replace("[rods]", '[rods]\nHeron = ["7", "Sam"]'))
    done(evening, "tally", "Heron", 4, "bow", "1/0/0/0")
    done(evening, "tally", "Heron", 5, 7, "1/0/0/0")
    done(evening, "tally", "Heron", 5, "sam", "2 follows")
    done(evening, "tally", "Heron", 3, "rod", 7, "2 follows")
    told = [(r["drift"], r["rod"], r["follow"]) for r in told_rows(evening)]
    assert sorted(told) == [
        ("3", "7", "2"),
        ("4", "7", "1"),
        ("5", "7", "1"),
        ("5", "Sam", "2"),
    ]
    assert "7 may be rod 7, or 7 offers" in refused(evening, "tally", "Heron", 2, 7)


def test_rows_follow_their_drift_when_numbers_change(evening: Path) -> None:
    done(evening, "tally", "Heron", 4, "bow", "2/0/0/0")
    done(evening, "drifts", "strike", "1", "--pair", "Heron")
    done(evening, "tally")
    (row,) = told_rows(evening)
    assert row["drift"] == "3"
    assert boat_of(evening, "Heron")["rods_not_told"]["bow"] == [1, 2, 4]
    assert report(evening, "check")["faults"] == []


def test_rows_of_drifts_that_were_joined(evening: Path) -> None:
    done(evening, "tally", "Heron", 1, "bow", "1/0/0/0")
    done(evening, "tally", "Heron", 2, "bow", "0/2/0/0")
    done(evening, "drifts", "join", "1", "2", "--pair", "Heron")
    heron = boat_of(evening, "Heron")
    assert (heron["drifts"], heron["follow"], heron["pull"]) == (4, 1, 2)
    # Told anew, it is told of the whole.
    done(evening, "tally", "Heron", 1, "bow", "0/0/0/5")
    heron = boat_of(evening, "Heron")
    assert (heron["offers"], heron["boated"]) == (5, 5)
    assert len(rows(evening, "tally-before.csv")) == 2


def test_check_tells_of_rows_by_hand(evening: Path) -> None:
    text = (
        "day,pair,drift,start,rod,told,near\n"
        "2027-06-08,Coot,1,,bow,blank,\n2027-06-08,Coot,2,,bow,blank,\n"
        "2027-06-08,Heron,1,,cox,blank,\n2027-06-08,Heron,8,,bow,blank,\n"
        "2027-06-10,Heron,1,,bow,blank,\n2027-06-08,Heron,1,,bow,maybe,\n"
        "2027-06-08,Heron,,,bow,blank,\n"
    )
    write(evening / "tally.csv", text)
    found = report(evening, "check", code=1)["faults"]
    assert {fault["file"] for fault in found} == {"tally.csv"}
    told = "\n".join(f"{fault['what']}; {fault['do']}" for fault in found)
    for part in (
        "row 2: there is no pair 'Coot', in 1 more row too",
        "row 4: there is no rod 'cox' in Heron's boat on Tue 8 Jun",
        "row 5: it is of a drift of Heron 8 on Tue 8 Jun, and none is among the 5",
        "row 6: Heron has no drift on Thu 10 Jun",
        "row 7: 'maybe' does not say whether it was told",
        "row 8: it says blank, and not of which drift",
    ):
        assert part in told
    assert len(found) == 6


@pytest.mark.parametrize(
    "words",
    [
        ("--near", "oak"),
        ("--pair", "Heron"),
        ("nowhere.csv",),
        ("Heron", 1, "blank", "--rod", "1"),
    ],
)
def test_wrong_usage(evening: Path, words: tuple[object, ...]) -> None:
    assert run(evening, "tally", *words).exit_code == 2


def test_what_is_printed(evening: Path) -> None:
    done(evening, "tally", "Heron", "1-2", "blank")
    done(evening, "tally", "Heron", "?", 3, *LOOSE)
    lines = done(evening, "tally").stdout.splitlines()
    words = [" ".join(line.split()) for line in lines]
    assert words[:3] == [
        "day pair drifts told blank offers not told yet",
        "2027-06-08 Grebe 1 0 0 0 drift 1",
        "2027-06-08 Heron 5 2 2 3 drifts 3 to 5",
    ]
    assert lines[3] == (
        "Loose: Heron on 2027-06-08, 3 offers (tower, before lunch, on the hang)"
    )
    assert lines[4].startswith("Heron on Tue 8 Jun: 3 offers (tower")
    listed = done(evening, "drifts", "--pair", "Heron").stdout.splitlines()
    assert listed[2].endswith("tally")
    ends = [line.split()[-2:] for line in listed[3:8]]
    assert [words[0] == "not" for words in ends] == [False, False, True, True, True]
