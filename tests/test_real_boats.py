"""Real boats on real lakes: a survey that swept one, and rowers who fished none.

Lake Caputh, three survey days.

The outline and the tracks are the public survey data of Lake Caputh (see the INDEX.md
beside them). The boat went at drifting speed along survey lines, so that all of its
record counts as fishing.
"""

import json
from pathlib import Path

import gpxpy
import numpy as np
import pytest
import shapely
from click.testing import CliRunner, Result
from playwright.sync_api import Browser
from shapely import LineString, MultiLineString, Polygon

from browsing import WIDTHS, opened
from outside import lake_parts, lake_path, outside
from sweptwater.frame import Frame
from sweptwater.jobs.sight import look
from sweptwater.practice.settings import Rules
from sweptwater.tracks.drifts import day_afloat
from sweptwater.tracks.read import read_gpx
from sweptwater.tracks.record import clean_record
from sweptwater.water.shapes import polygonal
from sweptwater_cli.main import cli

DAYS = {"Heron": "20250117", "Grebe": "20250122", "Teal": "20250123"}


def _run(folder: Path, *args: str) -> Result:
    result = CliRunner().invoke(cli, ["-C", str(folder), *args])
    assert result.exit_code == 0, result.output
    return result


def _json(folder: Path, *args: str) -> dict[str, object]:
    return dict(json.loads(_run(folder, *args, "--json").stdout))


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("real") / "caputh"
    outline = str(lake_path("caputh_wgs84"))
    _run(folder, "start", str(folder), "--venue", outline, "--pairs", ",".join(DAYS))
    _run(folder, "divide")
    for pair, day in DAYS.items():
        track = outside(f"tracks/caputh_{day}.gpx")
        _run(folder, "upload", "--pair", pair, str(track))
    return folder


def _raw_lines(day: str, frame: Frame) -> MultiLineString:
    """Return the record as gpxpy reads it, segment by segment, unsmoothed."""
    text = outside(f"tracks/caputh_{day}.gpx").read_text(encoding="utf-8")
    segments = [s for t in gpxpy.parse(text).tracks for s in t.segments]
    return MultiLineString(
        [
            LineString([frame.to_metres(p.longitude, p.latitude) for p in s.points])
            for s in segments
            if len(s.points) > 1
        ]
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("day", "within_10_m", "within_20_m"),
    [
        ("20250117", 7.516, 14.044),
        ("20250122", 29.057, 47.881),
        ("20250123", 22.56, 39.513),
    ],
)
def test_a_round_spread_sweeps_what_a_buffer_of_the_record_does(
    practice: Path, day: str, within_10_m: float, within_20_m: float
) -> None:
    """Per cent of the lake within 10 and 20 m of the raw lines, by plain shapely.

    The record of this receiver is smooth, so that smoothing takes little off it.
    """
    pair = next(name for name, value in DAYS.items() if value == day)
    settings = practice / "practice.toml"
    before = settings.read_text(encoding="utf-8")
    try:
        for reach_m, published in ((10, within_10_m), (20, within_20_m)):
            text = before.replace('shape = "fan"', 'shape = "round"')
            text = text.replace("reach_yd = 22", f"reach_m = {reach_m}")
            settings.write_text(text, encoding="utf-8")
            sight = look(practice, pair=pair)
            assert 100 * sight.report.fished_share == pytest.approx(published, rel=0.02)
            venue = sight.opened.venue
            buffer = _raw_lines(day, venue.frame).buffer(reach_m, quad_segs=32)
            share = buffer.intersection(venue.water).area / venue.water.area
            assert 100 * share == pytest.approx(published, rel=2e-3)
    finally:
        settings.write_text(before, encoding="utf-8")


def test_the_commands_agree_with_each_other(practice: Path, tmp_path: Path) -> None:
    covered = _json(practice, "coverage")
    assert covered["water_m2"] == pytest.approx(494_600, rel=1e-3)  # INDEX.md, geodesic
    left = _json(practice, "unfished")
    assert covered["fished_m2"] + left["unfished_m2"] == pytest.approx(  # type: ignore[operator]
        covered["water_m2"]
    )
    package = tmp_path / "caputh.gpkg"
    assert _json(practice, "export", str(package))["layers"]["sectors"] == 3  # type: ignore[index]
    assert _json(practice, "check")["faults"] == []


@pytest.mark.browser
@pytest.mark.parametrize("device", WIDTHS)
def test_the_map_opens_without_a_network(
    practice: Path, browser: Browser, device: str
) -> None:
    _run(practice, "coverage")
    file = practice / "reports" / "coverage.html"
    for page in opened(browser, file, device=device):
        drawn = page.locator("path.leaflet-interactive").count()
        assert drawn > sum(len(boat.swept) for boat in look(practice).boats)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        text = page.inner_text("body")
        for wanted in ("Caputher See", "Heron", "Grebe", "Teal", "Unfished water"):
            assert wanted in text


def test_lines_on_the_map_are_inside_the_lake(practice: Path) -> None:
    sight = look(practice)
    water = sight.opened.venue.water
    for boat in sight.boats:
        for swept in boat.swept:
            assert swept.difference(water.buffer(0.01)).area < 1e-3
        assert shapely.union_all(boat.swept).area <= water.area


@pytest.mark.parametrize(
    ("track", "lake"),
    [
        ("rowing_brno_2016-04-02", "cz_brno"),
        ("rowing_racice_2016-03-25", "cz_racice_elbe_unnamed"),
        ("dinghy_valencia_2025-06-21-ESP29375-P01", None),
        ("chiapas_tzibana_20180312", None),
    ],
)
def test_rowing_sailing_and_survey_lines_are_not_called_fishing(
    track: str, lake: str | None
) -> None:
    """Public tracks (INDEX.md beside them); the rowers rest for a minute or two."""
    fixes = read_gpx(outside(f"tracks/{track}.gpx").read_bytes()).fixes
    frame = Frame(lon=float(np.nanmean(fixes.lon)), lat=float(np.nanmean(fixes.lat)))
    sea = shapely.box(-30_000, -30_000, 30_000, 30_000)
    water = polygonal(frame.metres(lake_parts(lake)[0])) if lake else sea
    places = frame.to_metres(fixes.lon, fixes.lat)
    day = day_afloat(clean_record(fixes.time_s, *places), water, Polygon(), Rules())
    assert day.motoring_s > 0.8 * (day.end_s - day.start_s - day.unknown_s)
    assert day.fishing_s < 0.04 * (day.end_s - day.start_s)
