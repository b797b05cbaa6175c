"""`export`, from the outside: every layer read back by other libraries."""

import os
from collections.abc import Iterable
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import shapely
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from outside import ONE_WATER, geodesic_m2_m, lake_path
from practices_made import (
    BACK,
    CLOSED,
    DRIFT_EAST,
    FRAME,
    LAKE,
    begin,
    boat,
    done,
    geojson,
    heron,
    refused,
    report,
    run,
    write,
)
from tracks_made import Leg

LAYERS = {
    "water": "MultiPolygon",
    "out_of_bounds": "MultiPolygon",
    "bank_anglers": "Unknown",
    "sectors": "MultiPolygon",
    "banks": "MultiPolygon",
    "drifts": "LineString",
    "swept": "MultiPolygon",
    "unfished": "MultiPolygon",
    "offers": "Point",
    "planned": "LineString",
}


def _layers(file: Path) -> dict[str, gpd.GeoDataFrame]:
    names = [str(name) for name in pyogrio.list_layers(file)[:, 0]]
    return {name: gpd.read_file(file, layer=name) for name in names}


def _geodesic_m2(shapes: Iterable[BaseGeometry]) -> float:
    return sum(
        geodesic_m2_m(part)[0] for shape in shapes for part in shapely.get_parts(shape)
    )


@pytest.fixture
def exported(fished: Path, tmp_path: Path) -> dict[str, gpd.GeoDataFrame]:
    done(fished, "export", tmp_path / "all.gpkg")
    return _layers(tmp_path / "all.gpkg")


def test_the_layers_are_those_of_the_design(
    exported: dict[str, gpd.GeoDataFrame], tmp_path: Path
) -> None:
    assert list(exported) == list(LAYERS)
    kinds = dict(pyogrio.list_layers(tmp_path / "all.gpkg").tolist())
    assert kinds == LAYERS
    for table in exported.values():
        assert table.crs is not None
        assert table.crs.to_epsg() == 4326
        assert table.geometry.is_valid.all()
    assert len(exported["offers"]) == len(exported["planned"]) == 0


def test_areas_on_the_ellipsoid_are_the_ones_that_are_told(
    fished: Path, exported: dict[str, gpd.GeoDataFrame]
) -> None:
    """Against GeographicLib: C. F. F. Karney, J. Geodesy 87, 2013."""
    found = report(fished, "coverage")
    swept = exported["swept"].set_index("drifts_over").geometry
    assert _geodesic_m2(swept) == pytest.approx(found["fished_m2"], rel=1e-4)
    for band, area_m2 in found["drifts_over"].items():
        if area_m2:
            one = _geodesic_m2(swept.loc[[band]])
            assert one == pytest.approx(area_m2, rel=1e-4)
    sectors = exported["sectors"].geometry
    assert _geodesic_m2(sectors) == pytest.approx(found["water_m2"], rel=1e-4)
    assert _geodesic_m2(exported["water"].geometry) == pytest.approx(
        found["water_m2"] + _geodesic_m2(exported["out_of_bounds"].geometry), rel=1e-4
    )
    unfished = report(fished, "unfished")
    assert _geodesic_m2(exported["unfished"].geometry) == pytest.approx(
        unfished["listed_m2"], rel=1e-4
    )


def test_tables_hold_the_figures(
    fished: Path, exported: dict[str, gpd.GeoDataFrame]
) -> None:
    found = report(fished, "coverage")
    sectors = exported["sectors"].set_index("sector")
    for line in found["sectors"]:
        row = sectors.loc[line["sector"]]
        assert row["pair"] == line["pair"]
        assert row["fished_m2"] == line["fished_m2"]
        assert row["drifts_over_2"] == line["drifts_over"]["2"]
    assert len(exported["banks"]) == len(found["banks"])
    last = exported["banks"].set_index("bank")["last_day"]
    for line in found["banks"]:
        assert (None if pd.isna(last[line["bank"]]) else last[line["bank"]]) == (
            line["last_day"]
        )
    drifts = exported["drifts"]
    assert len(drifts) == found["drifts"]
    for shape, length_m in zip(drifts.geometry, drifts["length_m"], strict=True):
        assert FRAME.metres(shape).length == pytest.approx(length_m, rel=5e-3)
    assert (drifts["start"].str[:14] == drifts["day"] + "T10:").all()


def test_what_is_printed(fished: Path, tmp_path: Path) -> None:
    file = tmp_path / "all.gpkg"
    found = report(fished, "export", file)
    assert set(found) == {"file", "layers", "faults"}
    assert found["file"] == str(file)
    assert list(found["layers"]) == list(LAYERS)
    assert found["layers"]["drifts"] == 4
    result = done(fished, "export", file)
    assert result.stdout == (
        f"{file}: water 1, out_of_bounds 1, bank_anglers 0, sectors 2, banks 19, "
        "drifts 4, swept 2, unfished 2, offers 0, planned 0\n"
    )
    assert result.stderr == ""


def test_a_practice_without_tracks_has_all_layers(tmp_path: Path) -> None:
    folder = begin(tmp_path / "pool", tmp_path)
    found = report(folder, "export", tmp_path / "all.gpkg")
    assert found["layers"] == {
        **dict.fromkeys(LAYERS, 0),
        **{"water": 1, "out_of_bounds": 1, "banks": 19, "unfished": 1},
    }
    assert list(_layers(tmp_path / "all.gpkg")) == list(LAYERS)


def test_nobody_is_followed_home(begun: Path, tmp_path: Path) -> None:
    """A track with the drive home: nothing lies 50 m off the water."""
    drive = (
        Leg(350, 2, 270, fishing=False),
        Leg(600, 0, 0, fishing=False),
        Leg(900, 12, 270, fishing=False),
        Leg(1200, 0.02, 0, fishing=False),
        Leg(600, 0.5, 200, fishing=False),
    )
    way = boat(DRIFT_EAST, *BACK, *drive)
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", way))
    file = tmp_path / "all.gpkg"
    assert report(begun, "export", file)["layers"]["drifts"] == 1
    near = LAKE.buffer(50)
    for name, table in _layers(file).items():
        for shape in table.geometry:
            assert near.contains(FRAME.metres(shape)), name
    swept = FRAME.metres(shapely.union_all(list(_layers(file)["swept"].geometry)))
    assert swept.intersection(CLOSED).area < 1


def test_an_old_file_is_written_over(fished: Path, tmp_path: Path) -> None:
    file = tmp_path / "all.GPKG"
    done(fished, "export", file)
    old = file.read_bytes()
    write(fished / "tracks" / "Grebe" / "hand.gpx", heron(10))
    done(fished, "export", file)
    assert file.read_bytes() != old
    assert list(_layers(file)) == list(LAYERS)
    assert [path.name for path in tmp_path.glob("*.part~")] == []


def test_what_it_did_not_write_is_not_replaced(fished: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "mine.gpkg", "mine")
    assert "was not written by sweptwater" in refused(
        fished, "export", file, kept=tmp_path
    )
    file.unlink()
    done(fished, "export", file)
    # As a GIS does that keeps a style, or another table, in the same file.
    table = gpd.GeoDataFrame(geometry=[shapely.Point(0, 50)], crs="EPSG:4326")
    pyogrio.write_dataframe(table, file, layer="mine", driver="GPKG", append=True)
    told = refused(fished, "export", file, kept=tmp_path)
    assert f"{file} is there already and was not written by sweptwater" in told


def test_no_export_among_the_files_of_the_practice(fished: Path) -> None:
    for place in ("all.gpkg", "tracks/Heron/all.gpkg"):
        told = refused(fished, "export", fished / place)
        assert f"write it to {fished / 'reports' / 'all.gpkg'}" in told
    done(fished, "export", fished / "reports" / "all.gpkg")  # no such folder before


@pytest.mark.parametrize("name", ["all.shp", "all", "all.gpkg.zip"])
def test_other_suffixes_are_refused(fished: Path, tmp_path: Path, name: str) -> None:
    told = refused(fished, "export", tmp_path / name)
    assert "give one that ends in .gpkg" in told
    assert not (tmp_path / name).exists()


def test_places_that_cannot_be_written_to(fished: Path, tmp_path: Path) -> None:
    told = refused(fished, "export", tmp_path / "missing" / "all.gpkg")
    assert told.startswith(f"Error: there is no folder {tmp_path / 'missing'}")
    assert not (tmp_path / "missing").exists()
    file = write(tmp_path / "file", "x")
    assert "there is no folder" in refused(fished, "export", file / "all.gpkg")
    (tmp_path / "folder.gpkg").mkdir()
    assert run(fished, "export", tmp_path / "folder.gpkg").exit_code == 2
    assert run(fished, "export").exit_code == 2


@pytest.mark.skipif(
    os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere"
)
def test_a_read_only_folder(fished: Path, tmp_path: Path) -> None:
    locked = tmp_path / "locked"
    locked.mkdir()
    locked.chmod(0o500)
    assert "read-only" in refused(fished, "export", locked / "all.gpkg")


def test_a_disk_that_fails(
    fished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What happens on a full disk, and as root too: the old file stays."""
    file = tmp_path / "all.gpkg"
    done(fished, "export", file)
    old = file.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    told = refused(fished, "export", file)
    assert "could not be written (No space left on device)" in told
    assert file.read_bytes() == old
    assert [path.name for path in tmp_path.iterdir() if "part" in path.name] == []


def test_a_track_that_is_left_out_is_told(fished: Path, tmp_path: Path) -> None:
    write(fished / "tracks" / "Heron" / "dropped.gpx", b"<html>")
    result = done(fished, "export", tmp_path / "all.gpkg")
    assert result.stderr.startswith("Not in order: Heron: track b7d082ee is a web")


@pytest.mark.slow
@pytest.mark.parametrize("name", ONE_WATER)
def test_real_lakes_go_all_the_way(tmp_path: Path, name: str) -> None:
    """Every command on outlines that nobody here drew, and a zone closed too late.

    The lakes' origin is in the INDEX.md beside them; see `outside`.
    """
    folder, file = tmp_path / "lake", tmp_path / "all.gpkg"
    done(None, "start", folder, "--venue", lake_path(name))
    done(folder, "divide")
    assert report(folder, "check")["faults"] == []
    water = _layers_of(folder, file)["water"].geometry
    west, south, east, north = water.total_bounds
    zone = shapely.box((west + east) / 2, (south + north) / 2, east, north)
    text = shapely.to_geojson(zone)
    done(
        *(folder, "venue", "add", "--kind", "out-of-bounds"),
        write(tmp_path / "zone.geojson", text),
    )
    found = report(folder, "coverage")
    sectors_m2 = sum(line["water_m2"] for line in found["sectors"])
    assert sectors_m2 == pytest.approx(found["water_m2"], rel=1e-5)
    assert report(folder, "check", code=1)["faults"]
    done(folder, "divide")
    assert report(folder, "check")["faults"] == []
    for table in _layers_of(folder, file).values():
        assert table.geometry.is_valid.all()


def _layers_of(folder: Path, file: Path) -> dict[str, gpd.GeoDataFrame]:
    done(folder, "export", file)
    return _layers(file)


def test_banks_have_their_names_and_anglers_their_strips(
    fished: Path, tmp_path: Path
) -> None:
    banks = geojson(tmp_path / "b.geojson", Point(-500, -590), names=["Dam wall"])
    done(fished, "venue", "add", "--kind", "bank", banks)
    strips = geojson(
        tmp_path / "s.geojson",
        LineString([(-900, 605), (-100, 605)]),
        box(1190, -100, 1210, 100),
        names=["North", "East"],
    )
    done(fished, "venue", "add", "--kind", "bank-anglers", strips)
    file = tmp_path / "all.gpkg"
    done(fished, "export", file)
    layers = _layers(file)
    assert list(layers["banks"]["name"]).count("Dam wall") == 1
    assert list(layers["bank_anglers"]["name"]) == ["North", "East"]
    shapes = layers["bank_anglers"].geometry
    assert FRAME.metres(shapes[0]).length == pytest.approx(800, rel=1e-4)
    assert shapes[1].geom_type == "Polygon"


def test_an_older_file_of_ours_is_replaced(fished: Path, tmp_path: Path) -> None:
    file = tmp_path / "all.gpkg"
    kept = [name for name in LAYERS if name != "bank_anglers"]
    for name in kept:
        pyogrio.write_dataframe(
            gpd.GeoDataFrame(geometry=[Point(0, 0)], crs="EPSG:4326"),
            *(file, name),
            driver="GPKG",
            append=file.exists(),
        )
    done(fished, "export", file)
    assert list(_layers(file)) == list(LAYERS)
