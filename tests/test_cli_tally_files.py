"""`tally`, told by a file: a spreadsheet's table, or waypoints."""

import shutil
from pathlib import Path

import pandas as pd
import pytest

from practices_made import (
    FRAME,
    boat,
    done,
    refused,
    tree,
    write,
)
from tally_made import (
    SHORT,
    boat_of,
    evening_of,
    rows,
    tell,
)


@pytest.fixture(scope="module")
def _evening(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return evening_of(_begun, tmp_path_factory.mktemp("evening"))


@pytest.fixture
def evening(_evening: Path, tmp_path: Path) -> Path:
    """Return that day's practice, before anybody told anything."""
    return Path(shutil.copytree(_evening, tmp_path / "pool"))


def test_the_same_file_twice_changes_nothing(evening: Path, tmp_path: Path) -> None:
    text = (
        "Pair;Drift;Rod;Told;Follow;Boated;sink_in_s;Weather;Day\r\n"
        "heron;4;bow;;2;1;2,5;wet;08/06/2027\r\n"
        "heron;5;;blank;;;;wet;8.6.2027\r\n"
        "heron;9;bow;blank;;;;wet;8.6.2027\r\n"
        "heron;3;bow;;1,5;;;wet;8.6.2027\r\n"
        "heron;2;bow;;;;;wet;8.6.2027\r\n"
    )
    file = write(tmp_path / "heron.csv", "\ufeff" + text)
    found = tell(evening, file)
    assert [(line["drift"], line["rod"]) for line in found["lines"]] == [
        (4, "bow"),
        (5, "bow"),
        (5, "stern"),
    ]
    assert found["lines"][0]["sink_in_s"] == 2.5
    assert found["passed_over"] == ["column weather"]
    missing, unread = found["not_read"]
    assert missing.startswith("heron.csv, row 4: it is of a drift of Heron 9 on Tue 8")
    assert unread.startswith("heron.csv, row 5: '1,5' is not how many (follow); write")
    kept = rows(evening, "tally-not-read.csv")
    assert [row["reason"] for row in kept] == [missing, unread]
    assert kept[1]["weather"] == "wet"
    assert list(kept[0])[-1] == "reason"
    before = tree(evening)
    again = tell(evening, file)
    assert (again["lines"], again["known"]) == ([], 3)
    assert tree(evening) == before


def test_a_table_that_pandas_writes(evening: Path, tmp_path: Path) -> None:
    """Pandas is the reference for what other programs write."""
    frame = pd.read_csv(evening / "tally.csv", dtype=object)
    frame.loc[frame.pair == "Heron", "told"] = "blank"
    frame.to_csv(tmp_path / "all.csv", index=False)
    assert len(tell(evening, tmp_path / "all.csv")["lines"]) == 10
    assert boat_of(evening, "Heron")["blank"] == 5


def test_a_table_of_something_else(evening: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "shopping.csv", "what,price\nflies,3\n")
    told = refused(evening, "tally", file)
    assert "shopping.csv has no column of what was met" in told


def _gpx(*marks: tuple[str, float, float, str]) -> str:
    """Return waypoints: name, easting, northing, and the clock on 8 June."""
    points = []
    for name, x, y, clock in marks:
        lon, lat = FRAME.to_degrees(x, y)
        when = f"<time>2027-06-08T{clock}:00+01:00</time>" if clock else ""
        points.append(f'<wpt lat="{lat}" lon="{lon}">{when}<name>{name}</name></wpt>')
    return "".join(points)


def test_waypoints_that_tell_of_offers(evening: Path, tmp_path: Path) -> None:
    marks = _gpx(
        ("2 follows", -450, 0, "11:02"),
        ("boated rainbow", -400, 60, ""),
        ("pull 3ips", -400, 5, ""),
        ("blank", -400, 118, "11:25"),
        ("Car park", 0, 900, ""),
        ("Lost Bay", -400, 0, ""),
        ("boated", 9000, 0, ""),
    )
    file = write(tmp_path / "marks.gpx", f'<gpx version="1.1">{marks}</gpx>')
    assert "does not say whose waypoints these are" in refused(evening, "tally", file)
    found = tell(evening, file, "--pair", "heron", "--rod", "bow")
    assert found["passed_over"] == ["Car park", "Lost Bay", "boated"]
    heron = boat_of(evening, "Heron")
    assert (heron["follow"], heron["pull"], heron["boated"]) == (2, 1, 1)
    assert heron["rods_not_told"]["stern"] == [1, 2, 3, 4, 5]
    assert len([row for row in rows(evening) if row["lat"]]) == 3
    before = tree(evening)
    assert tell(evening, file, "--pair", "heron", "--rod", "bow")["lines"] == []
    assert tree(evening) == before


def test_upload_only_tells_of_such_waypoints(evening: Path, tmp_path: Path) -> None:
    track = boat(SHORT, begin="2027-06-09T10:00:00+01:00").decode()
    head, tag, rest = track.partition("<trk>")
    marks = _gpx(("boated", 0, 0, ""), ("Oak", 5, 5, ""))
    file = write(tmp_path / "e.gpx", head + marks + tag + rest)
    shown = done(evening, "upload", "--pair", "Heron", file).stdout
    assert "1 waypoint tells of offers, which are not counted yet" in shown
    assert f"sweptwater -C {evening} tally e.gpx --pair Heron" in shown
    assert sum(one["offers"] for one in tell(evening)["boats"]) == 0
