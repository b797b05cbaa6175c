"""Soundings and contours, from the outside: `venue add`, and where depths show."""

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Point, box
from shapely.geometry import mapping

from outside import lake_path, outside
from practices_made import (
    FRAME,
    PAIRS,
    done,
    geojson,
    refused,
    report,
    run,
    write,
)
from sweptwater.jobs.opened import open_folder
from sweptwater.practice.folder import open_practice
from sweptwater.practice.soundings import sounded
from sweptwater.practice.tackle import DepthRules
from sweptwater.units import FOOT_M

KEYS = {
    *("kind", "added", "known", "off_water", "refused", "depth_low_m"),
    *("depth_high_m", "soundings", "contours", "good_to_m", "quality", "units"),
    "remarks",
}
AT = (Point(0, 100), Point(40, 100), Point(0, 150))
SOUNDING, CONTOUR = (
    ("venue", "add", "--kind", kind) for kind in ("sounding", "contour")
)


def places(*points: Point) -> list[tuple[float, float]]:
    """Return longitudes and latitudes of points in metres."""
    degrees = [FRAME.degrees(point) for point in points]
    return [(point.x, point.y) for point in degrees]


def kept(folder: Path) -> list[float]:
    """Return the depths of all soundings in a venue, to a centimetre."""
    features = open_practice(folder).features
    of = [sounded(item.shape)[2] for item in features if item.kind == "sounding"]
    return [float(depth) for depth in np.concatenate(of).round(2)]


def table(path: Path, head: str, rows: Sequence[str], *, mark: str = ",") -> Path:
    """Write a CSV with the places of AT and a cell beyond."""
    lines = [head]
    for (lon, lat), row in zip(places(*AT), rows, strict=True):
        where = [f"{lat:.7f}", f"{lon:.7f}"]
        if mark == ";":
            where = [cell.replace(".", ",") for cell in where]
        lines.append(mark.join([*where, row]))
    return write(path, "\r\n".join(lines))


@pytest.mark.parametrize(
    ("head", "rows", "mark", "unit"),
    [
        ("lat,lon,depth_m", ["3.0", "4.5", "6"], ",", ()),
        ("Latitude;Longitude;Depth (m)", ["3,0", "4,5", "6"], ";", ()),
        ("y\tx\tz", ["-3.0", "-4.5", "-6"], "\t", ("--unit", "m")),
        ("lat,lon,elevation_m", ["-3.0", "-4.5", "-6"], ",", ()),
        ("\ufefflat,lng,Water depth m", ["3.0", "4.5", "6"], ",", ("--unit", "m")),
        ("lat,lon,depth_ft", ["9.8425", "14.7638", "19.685"], ",", ()),
        ("lat,lon,depth", ["9.8425", "14.7638", "19.685"], ",", ("--unit", "ft")),
        ("lat,lon,Depth_yards", ["3.2808", "4.9213", "6.5617"], ",", ()),
    ],
)
def test_soundings_of_any_table(
    *,
    begun: Path,
    tmp_path: Path,
    head: str,
    rows: list[str],
    mark: str,
    unit: tuple[str, ...],
) -> None:
    """A foot is 0.3048 m exactly, a yard three of them (units.py has the source)."""
    file = table(tmp_path / "s.csv", head, rows, mark=mark)
    found = report(begun, *SOUNDING, file, *unit)
    assert set(found) == KEYS
    assert (found["added"], found["known"], found["refused"]) == (3, 0, 0)
    assert kept(begun) == [3.0, 4.5, 6.0]
    assert report(begun, "check")["faults"] == []


def test_soundings_of_a_map_file(begun: Path, tmp_path: Path) -> None:
    """By an attribute, or by heights below the water: GeoJSON's third coordinate."""
    by_name, by_height = (
        [
            {
                "type": "Feature",
                "properties": {} if high else {"DEPTH_FT": 10 * n},
                "geometry": {
                    "type": "Point",
                    "coordinates": [*at, -10 * n] if high else list(at),
                },
            }
            for n, at in enumerate(places(*AT), 1)
        ]
        for high in (False, True)
    )
    for features, unit in ((by_name, ()), (by_height, ("--unit", "ft"))):
        file = write(
            tmp_path / "s.geojson",
            json.dumps({"type": "FeatureCollection", "features": features}),
        )
        found = report(begun, *SOUNDING, file, *unit)
        assert found["added"] + found["known"] == 3
        assert found["depth_high_m"] == pytest.approx(30 * FOOT_M)
    assert kept(begun) == [3.05, 6.1, 9.14]
    assert "does not say the unit of its heights" in refused(begun, *SOUNDING, file)


def test_the_same_soundings_again_change_nothing(begun: Path, tmp_path: Path) -> None:
    file = table(tmp_path / "s.csv", "lat,lon,depth_m", ["3", "4", "5"])
    done(begun, *SOUNDING, file)
    before = (begun / "venue.geojson").read_bytes()
    told = done(begun, *SOUNDING, file).stdout
    assert "Added 0 soundings.\n3 were there already and change nothing.\n" in told
    assert (begun / "venue.geojson").read_bytes() == before
    more = table(tmp_path / "t.csv", "lat,lon,depth_m", ["3", "4", "7"])
    assert report(begun, *SOUNDING, more)["known"] == 2
    assert kept(begun) == [3, 4, 5, 7]


def test_rows_that_cannot_be_are_told_and_the_rest_is_taken(
    begun: Path, tmp_path: Path
) -> None:
    (lon, lat), far = places(Point(0, 0), Point(0, 5000))
    rows = [
        f"{lat},{lon},4",
        f"{lat},{lon},-4",
        f"{lat},{lon},301",
        f"{lat},{lon},deep",
        f"{lat},{lon},",
        f"95,{lon},4",
        f"{far[1]},{far[0]},4",
        *[f"{lat},{lon},999"] * 3,
    ]
    file = write(tmp_path / "s.csv", "\n".join(["lat,lon,depth_m", *rows]))
    found = report(begun, *SOUNDING, file)
    assert (found["added"], found["off_water"], found["refused"]) == (1, 1, 8)
    assert found["remarks"][0].startswith("s.csv, row 3: depth_m -4 is below 0")
    assert "deeper than any such water" in found["remarks"][1]
    assert "'deep' is no depth" in found["remarks"][2]
    assert "there is no depth_m" in found["remarks"][3]
    assert "no latitude and longitude" in found["remarks"][4]
    assert found["remarks"][5] == "and 3 rows more"
    told = run(begun, *SOUNDING, file)
    assert "1 lies off the water: passed over." in told.stdout
    assert "too few to say how good they are" in told.stdout
    assert told.stderr.startswith("Not taken: s.csv, row 3:")


@pytest.mark.parametrize(
    ("head", "cell", "options", "told"),
    [
        ("lat,lon,depth", "3", (), "does not say the unit of its depth"),
        ("lat,lon,deep", "3", (), "does not say how deep it is"),
        ("lat,lon,tiefe_m", "3", (), "does not say how deep it is"),
        ("lat,east,depth_m", "3", (), "has no column lon"),
        ("lat,lon,depth_ft", "3", ("--unit", "m"), "leave --unit out"),
        ("lat,lon,depth_m", "3", ("--depth", "3m"), "leave --depth out"),
        ("lat,lon,depth_m", "3", ("--crs", "EPSG:27700"), "leave --crs out"),
        ("lat,lon,z_m", "3", (), "nothing of it can be used"),
        ("lon,lat,depth_m", "3", (), "nothing in s.csv lies on the water"),
    ],
)
def test_tables_that_are_refused(
    *,
    begun: Path,
    tmp_path: Path,
    head: str,
    cell: str,
    options: tuple[str, ...],
    told: str,
) -> None:
    file = table(tmp_path / "s.csv", head, [cell] * 3)
    assert told in refused(begun, *SOUNDING, file, *options)


def test_contours_of_one_depth_and_of_several(begun: Path, tmp_path: Path) -> None:
    """Areas stand for their edges; what is there already changes nothing."""
    ring = box(-800, -400, 300, 150)
    one = geojson(tmp_path / "ten.geojson", ring)
    told = done(begun, *CONTOUR, one, "--depth", "10ft").stdout
    assert told.startswith("Added 1 contour, 10 ft deep.\n")
    assert report(begun, *CONTOUR, one, "--depth", "10 ft")["known"] == 1
    assert report(begun, *CONTOUR, one, "--depth", "3m")["added"] == 1
    lines = [LineString([(-700, 0), (0, 0)]), LineString([(0, 5000), (9, 5000)])]
    features = [
        {"type": "Feature", "properties": {"z": -20.0}, "geometry": mapping(shape)}
        for shape in map(FRAME.degrees, lines)
    ]
    several = write(
        tmp_path / "z.geojson",
        json.dumps({"type": "FeatureCollection", "features": features}),
    )
    found = report(begun, *CONTOUR, several, "--unit", "ft")
    assert (found["added"], found["off_water"], found["contours"]) == (1, 1, 3)
    kinds = [
        (item.shape.geom_type, round(item.depth_m or 0, 3))
        for item in open_practice(begun).features
        if item.kind == "contour"
    ]
    assert kinds == [("Polygon", 3.048), ("Polygon", 3.0), ("LineString", 6.096)]
    assert report(begun, "check")["faults"] == []


@pytest.mark.parametrize(
    ("depth", "told"),
    [
        ("10", "is no depth: write it like 10ft or 3m"),
        ("2000ft", "is no depth"),
        ("-3m", "is no depth"),
    ],
)
def test_depths_that_are_none(
    begun: Path, tmp_path: Path, depth: str, told: str
) -> None:
    file = geojson(tmp_path / "c.geojson", box(0, 0, 9, 9))
    assert told in refused(begun, *CONTOUR, file, f"--depth={depth}")


def test_files_without_what_is_asked_for(begun: Path, tmp_path: Path) -> None:
    point = geojson(tmp_path / "p.geojson", Point(0, 0))
    assert "holds no lines or areas" in refused(begun, *CONTOUR, point)
    ring = geojson(tmp_path / "r.geojson", box(0, 0, 9, 9))
    assert "holds no points" in refused(begun, *SOUNDING, ring)
    assert "does not say how deep it is" in refused(begun, *CONTOUR, ring)
    csv = table(tmp_path / "s.csv", "lat,lon,depth_m", ["3", "4", "5"])
    assert "contours are lines" in refused(begun, *CONTOUR, csv)
    words = ("venue", "add", "--kind", "mark", point)
    assert run(begun, *words, "--unit", "m").exit_code == 2


def test_check_tells_of_soundings_of_another_water(begun: Path, tmp_path: Path) -> None:
    file = table(tmp_path / "s.csv", "lat,lon,depth_m", ["3", "4", "5"])
    done(begun, *SOUNDING, file)
    venue = begun / "venue.geojson"
    told = json.loads(venue.read_text())
    for feature in told["features"]:
        if feature["properties"]["kind"] == "sounding":
            for place in feature["geometry"]["coordinates"]:
                place[:2] = place[1::-1]
    venue.write_text(json.dumps(told))
    (fault,) = report(begun, "check", code=1)["faults"]
    assert "the wrong way round in the sounding" in fault["what"]


def deep(folder: Path, scratch: Path) -> None:
    """Sound all of the lake: 2 m in the west, 1 m more for each 300 m to the east."""
    at = [
        (east, north)
        for east in range(-1190, 1200, 20)
        for north in range(-590, 600, 60)
    ]
    lon, lat = FRAME.to_degrees(*np.transpose(at))
    rows = [
        f"{y},{x},{2 + (east + 1200) / 300:.3f}"
        for x, y, (east, _) in zip(lon, lat, at, strict=True)
    ]
    file = write(scratch / "deep.csv", "\n".join(["lat,lon,depth_m", *rows]))
    done(folder, *SOUNDING, file)


def test_where_depths_show(fished: Path, tmp_path: Path) -> None:
    """Heron's drift from -500 to 500 lies over 4.33 to 7.67 m: 6 m in the mean."""
    before = report(fished, "drifts")["drifts"]
    assert {line["depth_m"] for line in before} == {None}
    assert "depth" not in done(fished, "drifts").stdout
    sectors = report(fished, "coverage")["sectors"]
    assert {line["depth_high_m"] for line in sectors} == {None}
    deep(fished, tmp_path)
    drifts = report(fished, "drifts", "--pair", "Heron")["drifts"]
    assert [line["depth_m"] for line in drifts] == pytest.approx([6.0] * 2, abs=0.1)
    table_told = done(fished, "drifts", "--pair", "Heron").stdout.splitlines()
    assert table_told[2].split()[-1] == "depth"
    assert table_told[3].endswith("20 ft")
    sectors = report(fished, "coverage")["sectors"]
    assert all(2 < s["depth_low_m"] < s["depth_high_m"] < 10 for s in sectors)
    whole = [s for s in done(fished, "coverage").stdout.splitlines() if " ft" in s]
    assert len(whole) == len(PAIRS)


def test_a_low_level_is_taken_off(begun: Path, tmp_path: Path) -> None:
    deep(begun, tmp_path)
    opened, level = open_folder(begun), DepthRules(below_full_m=5 * FOOT_M)
    settings = replace(opened.settings, depth=level)
    low = replace(opened, practice=replace(opened.practice, settings=settings))
    assert opened.depths
    assert low.depths
    there = np.array([100.0]), np.array([0.0])
    taken_m = opened.depths.depth_m(*there) - low.depths.depth_m(*there)
    assert taken_m == pytest.approx([5 * FOOT_M])


def test_planned_drifts_tell_their_depth(begun: Path, tmp_path: Path) -> None:
    words = ("plan", "--day", "2027-06-09", "--wind", "W4", "--pair", "Heron")
    short = ("--hours", "2")
    planned = report(begun, *words, *short)["pairs"][0]["planned"]
    assert {line["depth_m"] for line in planned} == {None}
    sheet = begun / "plans" / "2027-06-09" / "Heron.html"
    assert ">Depth<" not in sheet.read_text(encoding="utf-8")
    deep(begun, tmp_path)
    planned = report(begun, *words, *short)["pairs"][0]["planned"]
    for line in planned:
        ends = FRAME.to_metres(
            [line["from_lon"], line["to_lon"]], [line["from_lat"], line["to_lat"]]
        )
        middle = float(np.mean(ends[0]))
        assert line["depth_m"] == pytest.approx(2 + (middle + 1200) / 300, abs=0.6)
    page = sheet.read_text(encoding="utf-8")
    assert ">Depth<" in page
    assert " ft</td>" in page


@pytest.mark.slow
def test_a_survey_of_lake_caputh(tmp_path: Path) -> None:
    """2,365 soundings of a real lake, 23 of them on the bank by the outline."""
    survey = outside("depth/caputh_soundings.csv")
    outline = lake_path("caputh_wgs84")
    folder = tmp_path / "p"
    done(None, "start", folder, "--venue", outline)
    found = report(folder, *SOUNDING, survey)
    assert (found["added"], found["off_water"], found["refused"]) == (2342, 23, 0)
    assert found["depth_high_m"] == 9.24
    assert found["good_to_m"] < 0.4
    assert found["quality"].endswith("from 2,342 soundings")
