"""What is handed on tells nothing of people, their devices and their way home."""

import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import geopandas as gpd
import gpxpy
import pyogrio
import pytest
import shapely
from shapely import LineString, MultiPoint, Point

from practices_made import (
    BACK,
    DRIFT_EAST,
    DRIFT_M,
    DRIFT_M_S,
    FRAME,
    LAKE,
    boat,
    done,
    write,
)
from sweptwater.jobs.discreet import MARGIN_M, without_file_names
from sweptwater.practice.originals import Original
from sweptwater.practice.said import Said
from tracks_made import Leg

PRIVATE = (
    *("Ann Ottersley", "ottersley", "ann@", "Heronmaker 7", "SN-4471-0093"),
    *("example.invalid", "Mill Lane", "Homestead", "anns-handset", "Our boys"),
)
"""What the tracks below say of people and their devices, or their files' names do."""

NAME = "anns-handset evening.gpx"

TOLD = b"""<metadata><author><name>Ann Ottersley</name>
<email id="ann" domain="x.example"/><link href="https://example.invalid/ann"/></author><desc>ann@x.example</desc></metadata>
<wpt lat="%.6f" lon="%.6f"><name>Homestead</name><desc>3 Mill Lane</desc></wpt>
<trk><name>Our boys</name><src>Heronmaker 7, SN-4471-0093</src>"""

HOME = (-11_000, 900)
HOMEWARDS = (
    Leg(350, 2, 270, fishing=False),
    Leg(600, 0, 0, fishing=False),
    Leg(900, 11, 274, fishing=False),
    Leg(1200, 0.02, 0, fishing=False),
    Leg(600, 0.5, 200, fishing=False),
)
"""Ashore at the jetty, then ten kilometres of road, and about the house."""

ACROSS = (
    Leg(DRIFT_M / 2 / DRIFT_M_S, DRIFT_M_S, 90),
    Leg(60, 2, 0, fishing=False),
    Leg(250, 2, 270, fishing=False),
    Leg(400, DRIFT_M_S, 180),
)
"""Drifts along 70 m outside the south shore, and back over it from the water."""


COMMANDS = (
    *("divide", "divide --rotate", "coverage", "coverage --json"),
    *("coverage --day 2027-06-08", "coverage --pair Grebe --json"),
    *("export reports/practice.gpkg", "export reports/practice.gpkg --json"),
    *("unfished --gpx reports/u.gpx --geojson reports/u.geojson", "unfished --json"),
)
MORE = (
    *("rates", "next --wind SW4", "plan --day 2027-06-10 --wind SW4"),
    *("starts --day 2027-06-12 --wind SW4", "brief --day 2027-06-12 --wind SW4"),
)


def private(*legs: Leg, start: tuple[float, float] = (-500, 0), day: int = 8) -> bytes:
    """Return a track that says much of who brought it."""
    data = boat(*legs, start=start, begin=f"2027-06-{day:02}T10:00:00+01:00")
    lon, lat = FRAME.to_degrees(*HOME)
    data = data.replace(b"sweptwater demo (invented data)", b"Heronmaker 7")
    head = re.search(rb"<metadata>.*?<trk>.*?(?=<trkseg>)", data, re.DOTALL)
    assert head
    return data.replace(head[0], TOLD % (lat, lon), 1)


@pytest.fixture(scope="module", params=[(), pytest.param(MORE, marks=pytest.mark.slow)])
def handed_on(
    request: pytest.FixtureRequest,
    _begun: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[tuple[Path, str]]:
    """Yield a practice after every command that writes, and all that they printed."""
    scratch = tmp_path_factory.mktemp("private")
    folder = Path(shutil.copytree(_begun, scratch / "pool"))
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for name in ("USER", "LOGNAME", "USERNAME"):
            patch.setenv(name, "ottersley")
        _fill(folder, scratch)
        printed = "".join(
            done(Path(), *words.split()).output for words in (*COMMANDS, *request.param)
        )
        yield folder, printed


def _fill(folder: Path, scratch: Path) -> None:
    """Add tracks that say much, and some of everything that can be wrong."""
    settings = folder / "practice.toml"
    text = settings.read_text().replace("days = []", "days = [2027-06-08, 2027-06-09]")
    # So far out, what is ashore by the usual settings is afloat.
    text, count = re.subn(r"\noutside_yd = \d+", "\noutside_yd = 300", text)
    assert count == 1
    write(settings, text)
    track = write(scratch / NAME, private(DRIFT_EAST, *BACK, *HOMEWARDS))
    said = done(folder, "upload", "--pair", "Heron", track).stdout
    assert NAME in said  # on the screen of the one who brought it
    outside = private(*ACROSS, start=(-800, -670), day=9)
    tracks = folder / "tracks"
    write(tracks / "Grebe" / "anns-handset-2.gpx", outside)
    write(tracks / "Heron" / "anns-handset-3.gpx", b"<html>Our boys")
    write(tracks / "anns-handset-4.gpx", outside + b"\n")
    write(folder / "anns-handset-5.gpx", outside + b"\n\n")
    write(tracks / "Grebe" / "anns-handset-6.toml", 'name = "Homestead"')
    write(tracks / "Grebe" / "anns-handset-7.gpx", outside + b"\n\n\n")
    write(tracks / "Grebe" / "anns-handset-7.toml", "Mill Lane")


def outputs(folder: Path) -> list[Path]:
    """Return the files of a practice but for its tracks and what is made of them."""
    files = [
        path
        for path in folder.rglob("*")
        if path.is_file()
        and path.relative_to(folder).parts[0] not in ("tracks", ".cache")
        and "handset" not in path.name
    ]
    assert {path.suffix for path in files} >= {".html", ".gpkg", ".gpx", ".geojson"}
    return files


def test_no_word_of_people_devices_and_machines(handed_on: tuple[Path, str]) -> None:
    folder, printed = handed_on
    places = [str(folder), tempfile.gettempdir() + os.sep, str(Path.home()) + os.sep]
    texts = {path.name: path.read_bytes() for path in outputs(folder)}
    texts["printed"] = printed.encode()
    for name, text in texts.items():
        found = [w for w in (*PRIVATE, *places) if w.lower().encode() in text.lower()]
        assert not found, name
    assert "is a web page, not GPX" in printed  # and yet all is told that is wrong
    assert "2 tracks lie in no pair's folder" in printed
    assert "what was said of track" in printed


def near_the_water(lon_lat: list[tuple[float, float]]) -> bool:
    """Tell whether all places are on the lake, or in the margin around it."""
    where = FRAME.metres(MultiPoint(lon_lat))
    return bool(LAKE.buffer(MARGIN_M + 1).covers(where))


def test_no_place_away_from_the_water(handed_on: tuple[Path, str]) -> None:
    """Read back by geopandas, gpxpy and, from the page, by its pairs of decimals."""
    folder, _ = handed_on
    reports = folder / "reports"
    tables = [
        gpd.read_file(reports / "practice.gpkg", layer=name)
        for name in pyogrio.list_layers(reports / "practice.gpkg")[:, 0]
    ]
    tables += [gpd.read_file(path) for path in folder.rglob("*.geojson")]
    for table in tables:
        where = shapely.get_coordinates(table.geometry)
        assert not len(where) or near_the_water(where.tolist())
    drifts = next(table for table in tables if "course_deg" in table)
    assert len(drifts) == 3
    assert drifts["length_m"].min() > 100  # the figures stay
    gpx = gpxpy.parse((reports / "u.gpx").read_text())
    assert near_the_water([(p.longitude, p.latitude) for p in gpx.waypoints])
    assert (gpx.author_name, gpx.link, gpx.tracks) == (None, None, [])
    assert gpx.creator == "sweptwater"
    pages = {*reports.glob("*.html"), *folder.glob("plans/*/*.afloat.html")}
    drawn = pages - {reports / "brief.html"}  # it has a static map alone
    assert len(drawn) == (8 if (reports / "next.html").exists() else 3)
    for page in drawn:
        pairs = re.findall(r"\[(-?\d+\.\d{3,}), ?(-?\d+\.\d{3,})\]", page.read_text())
        places = [(float(lon), float(lat)) for lon, lat in pairs]
        assert len(places) > 50
        assert near_the_water([p for p in places if abs(p[0] - FRAME.lon) < 10])


def test_ways_go_on_up_to_the_margin(handed_on: tuple[Path, str]) -> None:
    """What is left out is what lies beyond it, and no more."""
    folder, _ = handed_on
    drifts = gpd.read_file(folder / "reports" / "practice.gpkg", layer="drifts")
    whole, none, cut = (FRAME.metres(shape) for shape in drifts.geometry)
    assert whole.length == pytest.approx(DRIFT_M, rel=0.02)
    assert none.is_empty
    south = LineString([(-1000, -600 - MARGIN_M), (1000, -600 - MARGIN_M)])
    assert cut.distance(south) < 1.0


def test_originals_stay_as_they_are(handed_on: tuple[Path, str]) -> None:
    folder, _ = handed_on
    (kept,) = folder.glob("tracks/Heron/*-anns-handset-evening.gpx")
    assert kept.read_bytes() == private(DRIFT_EAST, *BACK, *HOMEWARDS)


def test_a_name_that_is_a_word_is_left_in_a_sentence() -> None:
    """Only at its beginning is it the file's: "is" may be what a file is called."""
    original = Original(Path("tracks/Heron/is"), "Heron", Said("is", "1f0c9a2e" * 8))
    (told,) = without_file_names(["Heron: is is empty"], [original])
    assert told == "Heron: track 1f0c9a2e is empty"
    other = ("Heron on 8 June: is it another pair's?", "Grebe: is is empty")
    assert without_file_names(other, [original]) == other


def test_the_home_is_far_off_the_lake() -> None:
    """Else the tests above could not fail."""
    assert Point(HOME).distance(LAKE) > 5_000
    data = private(DRIFT_EAST, *BACK, *HOMEWARDS)
    gpx = gpxpy.parse(data.decode())
    assert gpx.author_name == "Ann Ottersley"
    last = gpx.tracks[0].segments[-1].points[-1]
    where = Point(*(float(x) for x in FRAME.to_metres(last.longitude, last.latitude)))
    assert where.distance(LAKE) > 5_000
