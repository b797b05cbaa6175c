"""`start`, from the outside."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from shapely import LineString, Point, box

from practices_made import (
    FRAME,
    ISLAND,
    LAKE,
    done,
    geojson,
    refused,
    report,
    rough,
    run,
    write,
)
from sweptwater_demo.build import files_of_ashlode

KEYS = {
    *("practice", "folder", "water_m2", "shore_m", "islands", "lat", "lon"),
    *("time_zone", "units", "pairs", "repairs"),
}


@pytest.fixture
def outline(tmp_path: Path) -> Path:
    return geojson(tmp_path / "outline.geojson", LAKE, names=["Ashlode Pool"])


def test_a_practice_begins_with_what_the_outline_says(
    tmp_path: Path, outline: Path
) -> None:
    found = report(None, "start", tmp_path / "pool", "--venue", outline)
    assert set(found) == KEYS
    assert found["practice"] == "Ashlode Pool"
    assert rough(found["water_m2"], LAKE.area)
    assert rough(found["shore_m"], LAKE.length)
    assert found["islands"] == 1
    assert found["lon"] == pytest.approx(FRAME.lon, abs=1e-3)
    assert found["lat"] == pytest.approx(FRAME.lat, abs=1e-3)
    assert found["pairs"] == ["A", "B", "C"]
    assert found["repairs"] == []


def test_what_is_printed_is_what_is_so(tmp_path: Path, outline: Path) -> None:
    words = ("--venue", outline, "--pairs", "Heron, Grebe", "--zone", "Europe/London")
    result = done(None, "start", tmp_path / "pool", *words)
    (first, second), (third,) = result.stdout.splitlines(), result.stderr.splitlines()
    # 2,400 by 1,200 m less 200 by 100 m; an acre is 4,840 square yards of 0.9144 m.
    assert first == (
        "Ashlode Pool: 707 acres of water, 4.8 miles of shore, 1 island, at "
        "54.9500 N 2.3000 E (Europe/London)."
    )
    assert second == f"The practice is in {tmp_path / 'pool'}, for Heron, Grebe."
    assert third.startswith("Next: ")
    assert "venue add" in third
    assert "divide" in third
    settings = tomllib.loads((tmp_path / "pool" / "practice.toml").read_text())
    assert settings["pairs"] == ["Heron", "Grebe"]
    assert settings["time_zone"] == "Europe/London"


def test_metric_and_a_name(tmp_path: Path, outline: Path) -> None:
    words = ("--venue", outline, "--name", "Long Pool", "--units", "metric")
    result = done(None, "start", tmp_path / "pool", *words)
    assert result.stdout.startswith("Long Pool: 286 ha of water, 7.8 km of shore")


def test_the_water_comes_in_another_coordinate_system(tmp_path: Path) -> None:
    """An outline in a projected system that the file does not say needs --crs."""
    utm = geojson(tmp_path / "a.geojson", LAKE)
    shapes = json.loads(utm.read_text())
    where = [[31_000.0 + 500_000, 6e6], [532_000.0, 6e6], [532_000.0, 6.001e6]]
    shapes["features"][0]["geometry"] = {
        "type": "Polygon",
        "coordinates": [[*where, where[0]]],
    }
    shapes["crs"] = {
        "type": "name",
        "properties": {"name": "urn:ogc:def:crs:EPSG::32631"},
    }
    utm.write_text(json.dumps(shapes))
    found = report(None, "start", tmp_path / "pool", "--venue", utm)
    # A right triangle of 1 by 1 km near UTM's central meridian, where the scale is
    # 0.9996 (Snyder, Map Projections, 1987, from memory).
    assert found["water_m2"] == pytest.approx(5e5 / 0.9996**2, rel=1e-4)


def test_a_repair_is_told_on_stderr_and_in_json(tmp_path: Path) -> None:
    ring = [FRAME.degrees(Point(*xy)).coords[0] for xy in LAKE.exterior.coords[:-1]]
    feature = {"type": "Polygon", "coordinates": [ring]}
    text = {"type": "Feature", "properties": {}, "geometry": feature}
    file = write(tmp_path / "open.geojson", json.dumps(text))
    result = done(None, "start", tmp_path / "one", "--venue", file)
    assert "closed" in result.stderr
    assert "closed" not in result.stdout
    found = report(None, "start", tmp_path / "two", "--venue", file)
    assert ["closed" in repair for repair in found["repairs"]] == [True]


def test_a_place_out_at_sea_is_asked_about(tmp_path: Path) -> None:
    """Swapped, 54.95 N 2.3 E lies in the Indian Ocean."""
    swapped = {
        "type": "Polygon",
        "coordinates": [
            [
                (lat, lon)
                for lon, lat in (
                    FRAME.degrees(Point(*xy)).coords[0] for xy in LAKE.exterior.coords
                )
            ]
        ],
    }
    file = write(tmp_path / "swapped.geojson", json.dumps(swapped))
    for extra in ((), ("--json",)):
        folder = tmp_path / f"pool{len(extra)}"
        result = done(None, "start", folder, "--venue", file, *extra)
        assert "out at sea" in result.stderr
        assert "out at sea" not in result.stdout


@pytest.mark.parametrize(
    ("file", "told"),
    [
        ("line.geojson", "not an area"),
        ("point.geojson", "not an area"),
        ("several.geojson", "several waters"),
        ("swapped.geojson", "swapped"),
        ("metres.geojson", "--crs"),
        ("page.html", "cannot be read as a map file"),
        ("empty.geojson", "cannot be read as a map file"),
        ("nothing.geojson", "no shapes"),
    ],
)
def test_a_bad_outline_is_refused(tmp_path: Path, file: str, told: str) -> None:
    geojson(tmp_path / "line.geojson", LineString([(0, 0), (100, 0), (100, 100)]))
    geojson(tmp_path / "point.geojson", Point(0, 0))
    geojson(tmp_path / "several.geojson", LAKE, box(5000, 0, 6000, 900))
    ring = [[2.3, 100], [2.3, 100.01], [2.31, 100.01], [2.3, 100]]
    swapped = {"type": "Polygon", "coordinates": [ring]}
    write(tmp_path / "swapped.geojson", json.dumps(swapped))
    metres = {"type": "Polygon", "coordinates": [list(LAKE.exterior.coords)]}
    write(tmp_path / "metres.geojson", json.dumps(metres))
    write(tmp_path / "page.html", "<!DOCTYPE html><html><p>Sign in</p></html>")
    write(tmp_path / "empty.geojson", "")
    write(tmp_path / "nothing.geojson", '{"type":"FeatureCollection","features":[]}')
    words = ("start", tmp_path / "pool", "--venue", tmp_path / file)
    assert told in refused(None, *words, kept=tmp_path)
    assert not (tmp_path / "pool").exists()


def test_one_of_several_waters_is_chosen_by_number(tmp_path: Path) -> None:
    shapes = (LAKE, box(5000, 0, 6000, 900))
    file = geojson(tmp_path / "several.geojson", *shapes, names=["Pool", "Other"])
    words = ("--venue", file, "--only", "2")
    found = report(None, "start", tmp_path / "pool", *words)
    assert rough(found["water_m2"], 900_000, 1e-4)
    assert found["practice"] == "Other"
    told = refused(None, "start", tmp_path / "x", *words[:3], "7", kept=tmp_path)
    assert "no shape with the number 7" in told


def test_an_island_drawn_as_a_second_shape_stays_an_island(tmp_path: Path) -> None:
    file = geojson(tmp_path / "hole.geojson", LAKE)
    found = report(None, "start", tmp_path / "pool", "--venue", file)
    assert rough(found["water_m2"], 2400 * 1200 - ISLAND.area)


def test_a_practice_is_never_begun_twice(begun: Path, outline: Path) -> None:
    told = refused(None, "start", begun, "--venue", outline, kept=begun)
    assert "is a practice already" in told


def test_what_is_left_of_a_practice_is_kept(begun: Path, outline: Path) -> None:
    (begun / "practice.toml").unlink()
    told = refused(None, "start", begun, "--venue", outline, kept=begun)
    assert "practice.toml is missing there: put it back, or choose another" in told
    told = refused(begun, "coverage")
    assert told.startswith("Error: practice.toml is missing in")
    assert "start" not in told


def test_the_next_step_can_be_pasted(tmp_path: Path, outline: Path) -> None:
    place = tmp_path / "my pool"
    shown = done(None, "start", place, "--venue", outline).stderr
    assert f"sweptwater -C '{place}' divide" in shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--pairs", "Heron,heron"), "all different"),
        (("--pairs", "He/ron"), "He/ron"),
        (("--pairs", ","), "no pairs"),
        (("--zone", "Europe/Nowhere"), "no time zone"),
        (("--crs", "EPSG:999999"), "EPSG:999999"),
    ],
)
def test_bad_words_are_refused(
    tmp_path: Path, outline: Path, words: tuple[str, ...], told: str
) -> None:
    call = ("start", tmp_path / "pool", "--venue", outline, *words)
    assert told in refused(None, *call, kept=tmp_path)


@pytest.mark.parametrize(
    "words",
    [
        ("start",),
        ("start", "pool"),
        ("start", "pool", "--venue", "nowhere.geojson"),
        ("start", "pool", "--venue", ".", "--units", "furlongs"),
        ("fly",),
    ],
)
def test_wrong_usage_is_exit_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(None, *words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("Usage: ")
    assert not any(tmp_path.iterdir())


def test_numbers_that_are_none_are_wrong_usage(tmp_path: Path, outline: Path) -> None:
    words = ("start", tmp_path / "pool", "--venue", outline, "--only", "two")
    assert run(None, *words).exit_code == 2


def test_a_folder_that_cannot_be_is_refused(tmp_path: Path, outline: Path) -> None:
    write(tmp_path / "file", "x")
    words = ("start", tmp_path / "file" / "pool", "--venue", outline)
    assert "cannot be made" in refused(None, *words, kept=tmp_path)


def test_as_a_program(tmp_path: Path) -> None:
    """A real process: its streams are apart, and a fault is a sentence, not a trace."""
    script = [sys.executable, "-c", "from sweptwater_cli.main import cli; cli()"]
    outline = files_of_ashlode()["outline"]
    words = ["start", "pool", "--venue", str(outline), "--json"]
    first, again = (
        subprocess.run(
            [*script, *words],
            capture_output=True,
            text=True,
            check=False,
            cwd=tmp_path,
        )
        for _ in range(2)
    )
    assert (first.returncode, again.returncode) == (0, 1)
    assert json.loads(first.stdout)["practice"] == "Ashlode Water"
    assert again.stdout == ""
    assert again.stderr.startswith("Error: pool is a practice already")
