"""Drifts from memory written into `remembered.csv` by hand, or changed there."""

from pathlib import Path

import pytest

from memory_made import tell, with_marks
from practices_made import done, refused, report, write
from sweptwater.practice.remembered import REMEMBERED

GREBE = ("--pair", "Grebe", "--at", "12:30-13:40")
HEAD = "day,pair,start,end,from,to\n"


@pytest.fixture
def pool(fished: Path, tmp_path: Path) -> Path:
    """Return the fished practice with more marks."""
    return with_marks(fished, tmp_path)


def test_rows_written_by_hand(pool: Path) -> None:
    """Names are looked up at reading; mistakes are at fault alone."""
    write(
        pool / REMEMBERED,
        (
            "day;pair;start;end;from;to;times\r\n"
            "09/06/2027;grebe;12:30;13:40;Boathouse;the point;2\r\n"
            "2027-06-09;Coot;12:30;13:40;Boathouse;the point;\r\n"
            "2027-06-09;Grebe;14:30;15:40;boathous;the point;\r\n"
            "2027-06-09;Grebe;late;15:40;boathouse;the point;\r\n"
        ).encode("utf-8-sig"),
    )
    found = report(pool, "drifts", "--day", "2027-06-09", "--pair", "Grebe")
    assert [line["source"] for line in found["drifts"]] == ["memory"] * 2
    faults = found["faults"]
    assert faults[0].startswith("remembered.csv, row 3: there is no pair 'Coot'; the")
    assert faults[1] == (
        'remembered.csv, row 4: there is no mark "boathous"; did you mean Boathouse?'
    )
    assert faults[2].startswith("remembered.csv, row 5: 'late' is no time of day;")
    assert report(pool, "coverage")["faults"] == faults
    assert report(pool, "unfished")["faults"] == faults
    checked = report(pool, "check", code=1)["faults"]
    assert [fault["file"] for fault in checked] == [REMEMBERED] * 3
    assert checked[1]["what"] == 'row 4: there is no mark "boathous"'
    assert checked[1]["do"] == "did you mean Boathouse?"
    assert "Not in order: remembered.csv, row 4:" in done(pool, "coverage").stderr
    page = (pool / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "remembered.csv, row 5" in page


def test_what_is_added_leaves_bad_rows_as_they_are(pool: Path) -> None:
    bad = "nonsense,Coot,,,,"
    write(pool / REMEMBERED, f"{HEAD}{bad}\n")
    tell(pool, *GREBE, "--from", "boathouse", "--to", "point")
    lines = (pool / REMEMBERED).read_text().splitlines()
    assert lines[1] == bad
    assert lines[2].startswith("2027-06-09,Grebe,12:30,13:40,boathouse,point,1,54.")
    done(pool, "drifts", "strike", "1", "--pair", "Grebe")
    assert (pool / REMEMBERED).read_text().splitlines()[1] == bad


def test_a_file_that_is_no_table_is_told_and_not_written_over(pool: Path) -> None:
    write(pool / REMEMBERED, b"\xff\xfenonsense")
    (fault,) = report(pool, "coverage")["faults"]
    assert fault.startswith("remembered.csv is not UTF-8 text")
    words = ("--from", "boathouse", "--to", "point")
    assert "is not UTF-8 text" in refused(pool, "drifts", "add", *GREBE, *words)


def test_a_name_changed_without_its_place_is_told(pool: Path) -> None:
    tell(pool, *GREBE, "--from", "boathouse", "--to", "point")
    path = pool / REMEMBERED
    path.write_text(path.read_text().replace(",boathouse,", ",oak,"))
    (remark,) = report(pool, "drifts")["remarks"]
    assert "its latitude and longitude, which count, lie" in remark
    assert "from oak; empty those cells to go by the name" in remark


def test_the_place_stays_where_it_was_resolved(pool: Path) -> None:
    """A mark that goes, or another of that name, changes nothing."""
    tell(pool, *GREBE, "--from", "boathouse", "--to", "point")
    before = report(pool, "coverage")["remembered_m2"]
    venue = pool / "venue.geojson"
    venue.write_text(venue.read_text().replace('"Boathouse"', '"Old Mill"'))
    after = report(pool, "coverage")
    assert after["remembered_m2"] == before
    assert after["faults"] == []
