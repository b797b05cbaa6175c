"""`divide`, from the outside: a rectangle makes every cut and share plain."""

import json
import re
from math import ceil
from pathlib import Path

import pytest
from shapely import LineString, Point, box

from practices_made import (
    CLOSED,
    FRAME,
    LAKE,
    begin,
    done,
    geojson,
    refused,
    remarks,
    report,
    rough,
    run,
)
from sweptwater.jobs import divide as job
from sweptwater.practice.geojson import parse_sectors
from sweptwater.water.sectors import Division

FISHABLE_M2 = LAKE.area - CLOSED.area
KEYS = {"sectors", "cuts", "days", "without", "kept", "remarks"}
SECTOR_KEYS = {
    *("sector", "pair", "water_m2", "share", "bank_m", "hours", "days_to_cover"),
}
END_KEYS = {
    *("lat", "lon", "near", "near_m", "near_bearing_deg", "bank", "shore"),
}


def _cut(x: float) -> LineString:
    return LineString([(x, -650), (x, 650)])


def test_equal_shares(begun: Path) -> None:
    found = report(begun, "divide")
    assert set(found) == KEYS
    assert all(set(sector) == SECTOR_KEYS for sector in found["sectors"])
    assert [s["sector"] for s in found["sectors"]] == ["A", "B"]
    assert [s["pair"] for s in found["sectors"]] == ["Heron", "Grebe"]
    assert sum(s["share"] for s in found["sectors"]) == pytest.approx(1)
    total_m2 = sum(s["water_m2"] for s in found["sectors"])
    assert rough(total_m2, FISHABLE_M2)
    for sector in found["sectors"]:
        assert rough(sector["water_m2"], FISHABLE_M2 / 2, 1e-4)
    (cut,) = found["cuts"]
    assert set(cut) == {"number", "between", "from", "to", "length_m"}
    assert (cut["number"], cut["between"]) == (1, ["A", "B"])
    assert cut["from"]["lat"] > cut["to"]["lat"]
    for end in (cut["from"], cut["to"]):
        assert set(end) == END_KEYS
        x, y = (float(v) for v in FRAME.to_metres(end["lon"], end["lat"]))
        assert LAKE.boundary.distance(Point(x, y)) < 0.01
    # No cut across the rectangle is shorter than its width.
    assert cut["length_m"] == pytest.approx(1200, rel=1e-3)


def test_shares_by_pair(begun: Path) -> None:
    found = report(begun, "divide", "--shares", "3,1")
    assert [s["share"] for s in found["sectors"]] == pytest.approx(
        [0.75, 0.25], abs=1e-4
    )


def test_what_is_printed(begun: Path) -> None:
    result = done(begun, "divide")
    head, first, second, _, cut, north, south = result.stdout.splitlines()
    assert head.split() == [
        *("sector", "pair", "water", "share", "bank", "to", "cover", "once", "days"),
    ]
    assert first.split()[:6] == ["A", "Heron", "343", "acres", "50.0", "%"]
    assert second.split()[:6] == ["B", "Grebe", "343", "acres", "50.0", "%"]
    assert cut == "cut 1, A | B, 1,312 yd:"  # 1,200 m
    assert re.match(r"  1a  54\.95\d{3}, -?\d\.\d{5}  bank \d+, ", north)
    assert "Oak" in north  # it stands 1 m off the middle of the north shore
    assert south.startswith("  1b  54.94")
    assert not remarks(result)  # nothing has changed


def test_what_changes_is_kept(begun: Path) -> None:
    assert remarks(done(begun, "divide", "--shares", "2,1")) == (
        "The sectors of before are kept as sectors-before-1.geojson.\n"
    )


def test_the_sectors_of_before_are_kept(begun: Path) -> None:
    before = (begun / "sectors.geojson").read_bytes()
    assert report(begun, "divide", "--shares", "2,1")["kept"] == (
        "sectors-before-1.geojson"
    )
    second = (begun / "sectors.geojson").read_bytes()
    assert report(begun, "divide")["kept"] == "sectors-before-2.geojson"
    assert (begun / "sectors-before-1.geojson").read_bytes() == before
    assert (begun / "sectors-before-2.geojson").read_bytes() == second
    # The same water and shares always give the same division.
    assert (begun / "sectors.geojson").read_bytes() == before


def test_the_first_division_keeps_nothing(tmp_path: Path) -> None:
    folder = begin(tmp_path / "pool", tmp_path)
    assert report(folder, "divide")["kept"] is None
    names = sorted(path.name for path in folder.glob("*.geojson"))
    assert names == ["sectors.geojson", "venue.geojson"]


def test_along_drawn_lines(begun: Path, tmp_path: Path) -> None:
    lines = geojson(tmp_path / "lines.geojson", _cut(-400))
    found = report(begun, "divide", "--lines", lines)
    west, east = (s["water_m2"] for s in found["sectors"])
    assert rough(west, 800 * 1200, 1e-5)
    assert rough(east, FISHABLE_M2 - 800 * 1200, 1e-5)
    assert [round(cut["length_m"]) for cut in found["cuts"]] == [1200]
    written = parse_sectors((begun / "sectors.geojson").read_text())
    assert [(s.name, s.pair) for s in written] == [("A", "Heron"), ("B", "Grebe")]
    assert rough(FRAME.metres(written[0].shape).area, west)


def test_more_sectors_than_pairs_and_fewer(begun: Path, tmp_path: Path) -> None:
    lines = geojson(tmp_path / "lines.geojson", _cut(-400), _cut(100))
    result = done(begun, "divide", "--lines", lines)
    assert "nobody" in result.stdout
    found = report(begun, "divide", "--lines", lines)
    assert [s["pair"] for s in found["sectors"]] == ["Heron", "Grebe", ""]
    assert found["without"] == []
    whole = geojson(tmp_path / "whole.geojson", LAKE.envelope)
    result = done(begun, "divide", "--sectors", whole)
    assert "No sector is left for Grebe." in result.stderr
    assert report(begun, "divide", "--sectors", whole)["without"] == ["Grebe"]


def test_ready_made_sectors_named_like_pairs_are_theirs(
    begun: Path, tmp_path: Path
) -> None:
    halves = (box(-1300, -700, -200, 700), box(-200, -700, 1300, 700))
    file = geojson(tmp_path / "s.geojson", *halves, names=["GREBE", "West"])
    found = report(begun, "divide", "--sectors", file)
    assert [(s["sector"], s["pair"]) for s in found["sectors"]] == [
        ("GREBE", "Grebe"),
        ("West", "Heron"),
    ]
    assert rough(found["sectors"][0]["water_m2"], 1000 * 1200, 1e-5)
    (cut,) = found["cuts"]
    assert cut["between"] == ["GREBE", "West"]
    assert cut["length_m"] == pytest.approx(1200, abs=0.01)
    assert report(begun, "check")["faults"] == []


def test_a_sector_without_a_name_takes_a_letter_that_is_free(
    begun: Path, tmp_path: Path
) -> None:
    halves = (box(-1300, -700, -200, 700), box(-200, -700, 1300, 700))
    file = geojson(tmp_path / "s.geojson", *halves, names=["", "a"])
    found = report(begun, "divide", "--sectors", file)
    assert [s["sector"] for s in found["sectors"]] == ["B", "a"]


@pytest.mark.parametrize(
    ("shares", "told"),
    [
        ("1,1,1", "there are 3 shares for 2 pairs (Heron, Grebe)"),
        ("1", "there are 1 shares for 2 pairs"),
        ("1,0", "share 2 is 0"),
        ("1,-2", "share 2 is -2"),
        ("1,nan", "share 2 is nan"),
        ("inf,1", "share 1 is inf"),
    ],
)
def test_shares_that_mean_nothing(begun: Path, shares: str, told: str) -> None:
    assert told in refused(begun, "divide", "--shares", shares)


@pytest.mark.parametrize("shares", ["half,half", "", "1,,1", "1;1"])
def test_shares_in_words_are_wrong_usage(begun: Path, shares: str) -> None:
    result = run(begun, "divide", "--shares", shares)
    assert result.exit_code == 2
    assert "is no list of numbers like 2,1,1" in result.stderr


def test_no_water_is_lost_without_a_word(
    begun: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    half = Division((box(-1200, -600, 0, 600),), ())
    monkeypatch.setattr(job, "divide_by_area", lambda *_, **__: half)
    # 2.78 square kilometres less 1.44 are 331 acres.
    told = refused(begun, "divide")
    assert "the sectors would be 331 acres less than the water" in told


def test_two_ways_at_once_are_wrong_usage(begun: Path, tmp_path: Path) -> None:
    lines = geojson(tmp_path / "lines.geojson", _cut(0))
    for other in (("--shares", "1,1"), ("--sectors", lines)):
        assert run(begun, "divide", "--lines", lines, *other).exit_code == 2


@pytest.mark.parametrize(
    ("option", "shapes", "names", "told"),
    [
        (
            "--lines",
            (LineString([(0, -300), (0, 100)]),),
            (),
            "does not part the water",
        ),
        ("--lines", (LineString([(5000, 0), (5000, 9)]),), (), "does not part"),
        ("--lines", (box(0, 0, 9, 9),), (), "holds no lines"),
        ("--sectors", (_cut(0),), (), "holds no areas"),
        (
            "--sectors",
            (box(-1300, -700, 100, 700), box(-100, -700, 1300, 700)),
            (),
            # 200 by 1,200 m
            "overlap by 59.3 acres",
        ),
        (
            "--sectors",
            (box(-1300, -700, -100, 700), box(0, -700, 1300, 700)),
            (),
            # 100 by 1,200 m of 2.78 square kilometres
            "29.7 acres of the water (4.3 %) are in no sector",
        ),
        (
            "--sectors",
            (box(-1300, -700, 0, 700), box(0, -700, 1300, 700)),
            ("North", "north"),
            "two sectors are called 'North'",
        ),
        (
            "--sectors",
            (LAKE.envelope, box(3000, 0, 4000, 9)),
            (),
            "sector 2 has no fishable water",
        ),
    ],
)
def test_files_that_do_not_divide(
    begun: Path,
    tmp_path: Path,
    option: str,
    shapes: tuple[LineString, ...],
    names: tuple[str, ...],
    told: str,
) -> None:
    file = geojson(tmp_path / "drawn.geojson", *shapes, names=names)
    assert told in refused(begun, "divide", option, file)


def test_a_metric_practice_is_told_hectares(tmp_path: Path) -> None:
    outline = geojson(tmp_path / "outline.geojson", LAKE)
    folder = tmp_path / "pool"
    done(None, "start", folder, "--venue", outline, "--units", "metric")
    shapes = (box(-1300, -700, 100, 700), box(-100, -700, 1300, 700))
    file = geojson(tmp_path / "drawn.geojson", *shapes)
    assert "overlap by 24.0 ha" in refused(folder, "divide", "--sectors", file)
    assert "ha" in done(folder, "divide").stdout


def test_a_file_that_is_missing_is_wrong_usage(begun: Path) -> None:
    assert run(begun, "divide", "--lines", begun / "nowhere").exit_code == 2


def test_written_sectors_have_the_pairs_that_were_told(begun: Path) -> None:
    features = json.loads((begun / "sectors.geojson").read_text())["features"]
    assert [feature["properties"] for feature in features] == [
        {"sector": "A", "pair": "Heron"},
        {"sector": "B", "pair": "Grebe"},
    ]


def test_each_sector_tells_its_shore_and_the_hours_to_cover_it(begun: Path) -> None:
    found = report(begun, "divide")["sectors"]
    shore = {
        line["sector"]: line["bank_m"] for line in report(begun, "coverage")["sectors"]
    }
    for line in found:
        assert line["bank_m"] == pytest.approx(shore[line["sector"]])
        # A workday is 8 hours less 40 minutes for lunch and 10 in hand.
        assert line["days_to_cover"] == ceil(line["hours"] / (7 + 1 / 6))
    row = done(begun, "divide").stdout.splitlines()[1].split()
    assert row[-3:] == [f"{found[0]['hours']:.0f}", "h", str(found[0]["days_to_cover"])]


@pytest.mark.parametrize(("by", "key"), [("bank", "bank_m"), ("hours", "hours")])
@pytest.mark.parametrize("shares", ["1,1", "2,1"])
def test_by_shore_and_by_hours(begun: Path, by: str, key: str, shares: str) -> None:
    found = report(begun, "divide", "--by", by, "--shares", shares)
    assert found["remarks"] == []
    got = [line[key] for line in found["sectors"]]
    wanted = [float(part) for part in shares.split(",")]
    assert got[0] / sum(got) == pytest.approx(wanted[0] / sum(wanted), rel=0.02)
    assert sum(line["share"] for line in found["sectors"]) == pytest.approx(1)
    assert report(begun, "check")["faults"] == []


def test_hours_without_a_jetty_have_no_run_and_say_so(tmp_path: Path) -> None:
    outline = geojson(tmp_path / "outline.geojson", LAKE)
    words = ("--pairs", "Heron,Grebe", "--zone", "Europe/London")
    done(None, "start", tmp_path / "pool", "--venue", outline, *words)
    (told,) = report(tmp_path / "pool", "divide", "--by", "hours")["remarks"]
    assert told.startswith("No jetty is known, so no run out to a sector is in")
    assert report(tmp_path / "pool", "divide", "--by", "bank")["remarks"] == []


@pytest.mark.parametrize("other", [("--hold", "1"), ("--move", "1a", "Oak")])
def test_by_shore_divides_anew(begun: Path, other: tuple[str, ...]) -> None:
    result = run(begun, "divide", "--by", "bank", *other)
    assert result.exit_code == 2
    assert "--by bank divides the water anew" in result.stderr
