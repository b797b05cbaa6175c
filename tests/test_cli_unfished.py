"""`unfished`, from the outside."""

from pathlib import Path

import geopandas as gpd
import gpxpy
import pytest
from geographiclib.geodesic import Geodesic
from pyproj import Geod
from shapely import LineString, Point, box

from practices_made import (
    CLOSED,
    FRAME,
    LAKE,
    begin,
    boat,
    done,
    geojson,
    heron,
    numbers_of,
    refused,
    report,
    rough,
    run,
    write,
)
from sweptwater.jobs.opened import open_folder
from sweptwater.practice.folder import open_practice
from sweptwater.units import ACRE_M2
from tracks_made import Leg

KEYS = {
    *("practice", "pairs_day", "unfished_m2", "listed_m2", "at_least_m2", "pieces"),
    *("remembered_m2", "faults"),
}
PIECE_KEYS = {
    *("number", "area_m2", "lat", "lon", "diameter_m", "sector", "pair", "bank"),
    *("bank_m", "mark", "mark_m", "mark_bearing_deg"),
    "near",
}


def test_unfished_and_fished_are_all_the_water(fished: Path) -> None:
    found = report(fished, "unfished")
    covered = report(fished, "coverage")
    assert set(found) == KEYS
    assert rough(found["unfished_m2"] + covered["fished_m2"], covered["water_m2"])
    assert rough(found["listed_m2"], sum(p["area_m2"] for p in found["pieces"]))
    assert found["listed_m2"] <= found["unfished_m2"]
    assert rough(found["at_least_m2"], ACRE_M2 / 4)


def test_each_piece_says_where_to_go(fished: Path) -> None:
    found = report(fished, "unfished")
    pieces = found["pieces"]
    assert all(set(piece) == PIECE_KEYS for piece in pieces)
    assert [p["number"] for p in pieces] == list(range(1, len(pieces) + 1))
    areas = [p["area_m2"] for p in pieces]
    assert areas == sorted(areas, reverse=True)
    sectors = {s.name: s for s in open_practice(fished).sectors}
    for piece in pieces:
        middle = Point(piece["lon"], piece["lat"])
        x, y = (float(v) for v in FRAME.to_metres(piece["lon"], piece["lat"]))
        here = Point(x, y)
        assert LAKE.contains(here)
        assert not CLOSED.contains(here)
        assert sectors[piece["sector"]].shape.contains(middle)
        assert piece["pair"] == sectors[piece["sector"]].pair
        # A circle of that width fits, to the metre that the search stops at.
        assert LAKE.boundary.distance(here) > piece["diameter_m"] / 2 - 2


def test_before_anyone_was_out_all_is_unfished(begun: Path) -> None:
    found = report(begun, "unfished")
    assert rough(found["unfished_m2"], LAKE.area - CLOSED.area)
    assert [p["sector"] for p in found["pieces"]] in (["A", "B"], ["B", "A"])
    text = done(begun, "unfished").stdout
    assert text.startswith("Ashlode Pool: 687 acres that nobody has fished")


def test_without_sectors(tmp_path: Path) -> None:
    folder = begin(tmp_path / "pool", tmp_path)
    (piece,) = report(folder, "unfished")["pieces"]
    assert (piece["sector"], piece["pair"]) == (None, "")
    assert isinstance(piece["bank"], int)


def test_a_rectangle_cut_off_by_a_drift_is_a_piece(begun: Path, tmp_path: Path) -> None:
    """A drift right across the lake at x = -900 leaves 300 m less half a strip."""
    across = boat(
        Leg(3100, 0.4, 0), Leg(300, 2, 180, fishing=False), start=(-900, -620)
    )
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", across))
    line = geojson(tmp_path / "l.geojson", LineString([(0, -650), (0, 650)]))
    done(begun, "divide", "--lines", line)
    pieces = report(begun, "unfished")["pieces"]
    west = min(pieces, key=lambda piece: piece["lon"])
    width = 300 - 30.43 / 2  # test_spread.py has the strip's width in closed form
    assert west["area_m2"] == pytest.approx(width * 1200, rel=5e-3)
    assert west["diameter_m"] == pytest.approx(width, abs=3)


def test_small_pieces_are_left_out(fished: Path) -> None:
    everything = report(fished, "unfished", "--at-least", "0")
    most = report(fished, "unfished", "--at-least", "335")
    none = report(fished, "unfished", "--at-least", "9999")
    assert len(everything["pieces"]) >= 2
    assert [p["area_m2"] > 335 * ACRE_M2 for p in most["pieces"]] == [True]
    assert none["pieces"] == []
    assert none["listed_m2"] == 0
    assert everything["unfished_m2"] == none["unfished_m2"]
    text = done(fished, "unfished", "--at-least", "335").stdout
    assert "in strips narrower than 15 yd and pieces under 335 acres" in text
    assert len(text.splitlines()) == 4


@pytest.mark.parametrize("least", ["-1", "nan", "inf", "some"])
def test_no_size_is_wrong_usage(fished: Path, least: str) -> None:
    result = run(fished, "unfished", "--at-least", least)
    assert result.exit_code == 2
    assert result.stdout == ""


def test_hectares_in_a_metric_practice(fished: Path) -> None:
    settings = fished / "practice.toml"
    text = settings.read_text().replace('units = "imperial"', 'units = "metric"')
    settings.write_text(text)
    found = report(fished, "unfished", "--at-least", "2")
    assert found["at_least_m2"] == 20_000
    assert "ha that nobody has fished" in done(fished, "unfished").stdout


def test_what_is_printed(fished: Path) -> None:
    found = report(fished, "unfished")
    lines = done(fished, "unfished").stdout.splitlines()
    head = ["area", "width", "middle", "bank", "mark", "sector", "pair"]
    assert lines[2].split() == head
    for text, piece in zip(lines[3:], found["pieces"], strict=True):
        number, area, _, lat, lon, *_ = numbers_of(text)
        assert number == piece["number"]
        assert area == round(piece["area_m2"] / ACRE_M2)
        assert lat == round(piece["lat"], 5)
        assert lon == round(piece["lon"], 5)
        assert text.split()[-2:] == [piece["sector"], piece["pair"]]


def test_waypoints_are_where_the_pieces_are(fished: Path, tmp_path: Path) -> None:
    """Read back by another library."""
    file = tmp_path / "way.gpx"
    result = done(fished, "unfished", "--gpx", file)
    assert result.stderr.startswith(f"Waypoints: {file}\nBefore anyone goes out: ")
    pieces = report(fished, "unfished", "--gpx", file)["pieces"]
    gpx = gpxpy.parse(file.read_text(encoding="utf-8"))
    assert gpx.name == "Ashlode Pool: unfished water"
    assert [point.name for point in gpx.waypoints] == [
        f"U{piece['number']}" for piece in pieces
    ]
    for point, piece in zip(gpx.waypoints, pieces, strict=True):
        assert point.latitude == pytest.approx(piece["lat"], abs=1e-6)
        assert point.longitude == pytest.approx(piece["lon"], abs=1e-6)
        assert piece["near"] in str(point.description)
    assert gpx.tracks == []


def test_names_in_waypoints_are_escaped(fished: Path, tmp_path: Path) -> None:
    bad = "<b>&\"'</b>"
    marks = geojson(tmp_path / "m.geojson", Point(-700, 300), names=[bad])
    done(fished, "venue", "add", "--kind", "mark", marks)
    file = tmp_path / "way.gpx"
    pieces = report(fished, "unfished", "--gpx", file)["pieces"]
    notes = [str(w.description) for w in gpxpy.parse(file.read_text()).waypoints]
    for note, piece in zip(notes, pieces, strict=True):
        assert piece["near"] in note
    assert any(bad in piece["near"] for piece in pieces)


def test_each_piece_has_its_bank_and_its_mark(fished: Path) -> None:
    """Distances and bearings by another library, from the mark to the middle."""
    opened = open_folder(fished)
    places = {p.name: p for p in opened.venue.places}
    for piece in report(fished, "unfished")["pieces"]:
        mark = places[piece["mark"]]
        lon, lat = opened.venue.frame.to_degrees(mark.easting, mark.northing)
        found = Geodesic.WGS84.Inverse(
            float(lat), float(lon), piece["lat"], piece["lon"]
        )
        assert piece["mark_m"] == pytest.approx(found["s12"], abs=0.01)
        turn_deg = (piece["mark_bearing_deg"] - found["azi1"]) % 360
        assert min(turn_deg, 360 - turn_deg) < 0.1
        x, y = opened.venue.frame.to_metres(piece["lon"], piece["lat"])
        middle = Point(float(x), float(y))
        away_m = {bank.number: bank.shore.distance(middle) for bank in opened.banks}
        assert piece["bank_m"] == pytest.approx(min(away_m.values()), abs=0.01)
        assert away_m[piece["bank"]] == min(away_m.values())


def test_an_old_file_is_written_over_and_a_folder_is_not(
    fished: Path, tmp_path: Path
) -> None:
    file = tmp_path / "way.gpx"
    done(fished, "unfished", "--gpx", file, "--at-least", "9999")
    assert b"<wpt" not in file.read_bytes()
    done(fished, "unfished", "--gpx", file)
    assert b"<wpt" in file.read_bytes()
    assert run(fished, "unfished", "--gpx", tmp_path).exit_code == 2
    told = refused(fished, "unfished", "--gpx", tmp_path / "missing" / "way.gpx")
    assert "there is no folder" in told
    assert not (tmp_path / "missing").exists()
    told = refused(fished, "unfished", "--gpx", file / "way.gpx")
    assert "there is no folder" in told


def test_a_track_that_is_left_out_is_told(fished: Path) -> None:
    write(fished / "tracks" / "Heron" / "dropped.gpx", b"<html>")
    result = done(fished, "unfished")
    assert result.stderr.startswith("Not in order: Heron: track b7d082ee is a web")
    assert len(report(fished, "unfished")["faults"]) == 1


@pytest.mark.parametrize(
    "data",
    [heron(), b"mine", b"", b'<notes creator="sweptwater"/>'],
    ids=["track", "text", "empty", "other"],
)
def test_what_it_did_not_write_is_not_replaced(
    fished: Path, tmp_path: Path, data: bytes
) -> None:
    file = write(tmp_path / "heron.gpx", data)
    told = refused(fished, "unfished", "--gpx", file, kept=tmp_path)
    assert f"{file} is there already and was not written by sweptwater" in told


def test_no_waypoints_among_the_files_of_the_practice(fished: Path) -> None:
    track = next((fished / "tracks" / "Heron").glob("*.gpx"))
    for file in (fished / "way.gpx", fished / "tracks" / "Heron" / "w.gpx", track):
        told = refused(fished, "unfished", "--gpx", file)
        assert "among the files of the practice: write it to" in told
    done(fished, "unfished", "--gpx", fished / "reports" / "way.gpx")
    around = fished / "reports" / ".." / "w.gpx"
    told = refused(fished, "unfished", "--gpx", around)
    assert "among the files" in told


def test_what_check_knows_is_told(fished: Path, tmp_path: Path) -> None:
    write(fished / "tracks" / "Coot" / "a.gpx", heron(10))
    zone = geojson(tmp_path / "z.geojson", box(-1200, -600, -1100, -500))
    done(fished, "venue", "add", "--kind", "out-of-bounds", zone)
    stray, sectors = report(fished, "unfished")["faults"]
    assert stray.startswith("1 track lies in no pair's folder, so that nobody counts")
    assert sectors.startswith("2.5 acres of the sectors is not fishable water")


def test_the_pieces_as_areas(fished: Path, tmp_path: Path) -> None:
    """RFC 7946, read by GDAL: figures as in the list, and shapes that fit them."""
    file = tmp_path / "unfished.geojson"
    result = done(fished, "unfished", "--geojson", file)
    assert f"Areas: {file}" in " ".join(result.stderr.split())
    pieces = report(fished, "unfished", "--geojson", file)["pieces"]
    frame = gpd.read_file(file, engine="pyogrio")
    assert frame.crs == "EPSG:4326"
    assert list(frame["number"]) == [piece["number"] for piece in pieces]
    assert list(frame["near"]) == [piece["near"] for piece in pieces]
    geod = Geod(ellps="WGS84")
    for shape, piece in zip(frame.geometry, pieces, strict=True):
        area_m2, _ = geod.geometry_area_perimeter(shape)
        assert rough(area_m2, piece["area_m2"], 1e-4)


@pytest.mark.parametrize("text", ["{}", "not json", '{"type": "FeatureCollection"}'])
def test_no_file_of_others_is_replaced(fished: Path, tmp_path: Path, text: str) -> None:
    file = tmp_path / "drawn.geojson"
    file.write_text(text)
    assert "was not written by sweptwater" in refused(
        fished, "unfished", "--geojson", file
    )
    assert file.read_text() == text


def test_a_wider_least_width_lists_less(fished: Path) -> None:
    before = report(fished, "unfished", "--at-least", "0")
    settings = fished / "practice.toml"
    text = settings.read_text()
    assert "narrowest_yd = 15 " in text
    settings.write_text(text.replace("narrowest_yd = 15 ", "narrowest_yd = 150 "))
    after = report(fished, "unfished", "--at-least", "0")
    assert after["unfished_m2"] == before["unfished_m2"]
    assert after["listed_m2"] < before["listed_m2"]
    # What is listed is as wide as asked; 150 yd are 137.16 m, the search stops at 1 m.
    assert all(piece["diameter_m"] > 136 for piece in after["pieces"])
