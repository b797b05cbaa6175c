"""A practice packed into a zip: what leaves, and that it is the same when opened."""

import re
import shutil
from pathlib import Path
from zipfile import ZipFile

import gpxpy
import pytest

from practices_made import (
    BACK,
    DRIFT_EAST,
    done,
    heron,
    refused,
    report,
    run,
    tree,
    write,
)
from sweptwater.tracks.read import read_gpx
from test_nothing_private import HOMEWARDS, NAME, PRIVATE, near_the_water, private

NOTE = "Ann says the ranger owes us one"
TALLY = f"""day,pair,drift,start,rod,told,pull,lat,lon,note,Boat fund
2027-06-08,Heron,1,10:00,bow,tallied,2,54.95,2.3,{NOTE},12
2027-06-08,Heron,1,10:00,stern,blank,,54.99,2.1,,
"""
NOTES = f"""day,time,pair,kind,value,lat,lon,near,note
2027-06-08,09:00,,wind,SW4,,,,{NOTE}
2027-06-08,10:00,,other,,,,,{NOTE}
2027-06-08,11:00,,boats,4,,,,
"""
REMEMBERED = f"""day,pair,start,end,from,to,times,note
2027-06-09,Heron,14:00,14:30,buoy,jetty,2,{NOTE}
"""


@pytest.fixture(scope="module")
def _told(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    scratch = tmp_path_factory.mktemp("told")
    begun = Path(shutil.copytree(_begun, scratch / "pool"))
    track = write(scratch / NAME, private(DRIFT_EAST, *BACK, *HOMEWARDS))
    words = ("upload", "--pair", "Heron", "--shift", "2.5")
    done(begun, *words, track)
    done(begun, "upload", "--pair", "Grebe", write(scratch / "g.gpx", heron(9)))
    done(begun, "drifts", "strike", "1", "--pair", "Grebe")
    done(begun, "plan", "--day", "2027-06-10", "--wind", "SW4", "--pair", "Heron")
    write(begun / "tally.csv", TALLY)
    write(begun / "notes.csv", NOTES)
    write(begun / "remembered.csv", REMEMBERED)
    return begun


@pytest.fixture
def told(_told: Path, tmp_path: Path) -> Path:
    """Return a practice that says much of who is in it."""
    return Path(shutil.copytree(_told, tmp_path / "pool"))


def members(file: Path) -> dict[str, bytes]:
    with ZipFile(file) as zipped:
        return {name: zipped.read(name) for name in zipped.namelist()}


def packed(folder: Path, *words: str) -> dict[str, bytes]:
    done(folder, "pack", folder.parent / "pool.zip", *words)
    return members(folder.parent / "pool.zip")


def opened(folder: Path, *words: str) -> Path:
    """Return the practice that was packed, and opened again."""
    packed(folder, *words)
    place = folder.parent / "next year"
    done(None, "start", place, "--from", folder.parent / "pool.zip")
    return place


@pytest.mark.parametrize(
    "words", [(), ("--with-notes",), ("--as-recorded",)], ids=" ".join
)
def test_opened_again_it_counts_the_same(told: Path, words: tuple[str, ...]) -> None:
    before, after = (
        report(folder, "coverage") for folder in (told, opened(told, *words))
    )
    assert before["fished_m2"] > 30_000
    for one, other in zip(before["boats"], after["boats"], strict=True):
        for key in ("day", "pair", "drifts"):
            assert one[key] == other[key]
        for key in ("fishing_s", "drift_m", "swept_m2", "new_m2"):
            assert other[key] == pytest.approx(one[key], rel=1e-3)
    assert after["fished_m2"] == pytest.approx(before["fished_m2"], rel=1e-4)
    assert after["remembered_m2"] == pytest.approx(before["remembered_m2"], rel=1e-4)
    assert before["remembered_m2"] > 1_000
    found = run(told.parent / "next year", "check").output
    assert ("not on this water" in found) == (words == ("--with-notes",))
    assert "nothing wrong" in found or "--with-notes" in words


def test_the_tally_is_the_same(told: Path) -> None:
    before, after = (report(folder, "rates") for folder in (told, opened(told)))
    assert before["offers"] == 2
    for key in ("offers", "rod_hours", "rate"):
        assert after[key] == pytest.approx(before[key], rel=1e-3)


def test_nothing_private_leaves(told: Path) -> None:
    for name, data in packed(told).items():
        text = data.lower()
        words = (*PRIVATE, NOTE, "owes us", "Boat fund", str(told))
        found = [word for word in words if word.lower().encode() in text]
        assert not found, name
        assert "handset" not in name


def test_places_read_by_a_reader_of_gpx_are_on_the_water(told: Path) -> None:
    """Read by gpxpy: all fixes on the water are there, and no other."""
    for name, data in packed(told).items():
        if not (name.startswith("tracks/") and name.endswith(".gpx")):
            continue
        gpx = gpxpy.parse(data.decode())
        assert (gpx.waypoints, gpx.author_name, gpx.name) == ([], None, None)
        fixes = [
            (p.longitude, p.latitude)
            for track in gpx.tracks
            for segment in track.segments
            for p in segment.points
        ]
        assert len(fixes) > 2000
        assert near_the_water(fixes)
    assert not near_the_water([(2.1, 54.99)])  # else this could not fail


def test_positions_off_the_water_are_emptied(told: Path) -> None:
    table = packed(told)["tally.csv"].decode()
    assert table.splitlines()[0].endswith("lat,lon,note")
    assert "54.95,2.3" in table
    assert "54.99" not in table


def test_what_is_asked_for_leaves_byte_for_byte(told: Path) -> None:
    files = packed(told, "--with-notes", "--as-recorded")
    tables = ("tally.csv", "notes.csv", "remembered.csv", "practice.toml")
    assert {"venue.geojson", "sectors.geojson", *tables} <= files.keys()
    for name, data in files.items():
        assert data == (told / name).read_bytes(), name
    tracks = {p.relative_to(told).as_posix() for p in told.glob("tracks/*/*.*")}
    assert tracks == {name for name in files if name.startswith("tracks/")}
    assert len(tracks) == 4


def test_nothing_that_can_be_made_again_or_was_set_aside(told: Path) -> None:
    done(told, "remove", "--pair", "Grebe", "g.gpx")
    write(told / "tally-before.csv", "day\n")
    rooms = {name.split("/")[0] for name in packed(told, "--as-recorded")}
    assert rooms == {
        *("practice.toml", "venue.geojson", "sectors.geojson", "tally.csv"),
        *("notes.csv", "remembered.csv", "tracks", "plans"),
    }
    assert not any("removed" in name for name in packed(told, "--as-recorded"))


def test_it_says_what_it_left_out(told: Path, tmp_path: Path) -> None:
    write(told / "tracks" / "Grebe" / "page.gpx", b"<html>")
    write(told / "plans" / "2027-06-10" / "Ann.html", "mine")
    lines = told / "notes.csv"
    result = done(told, "pack", tmp_path / "p.zip")
    assert "2 tracks among them" in result.stdout
    assert "places away from the water" in result.stdout
    assert "4 notes in your own words" in result.stdout
    faults = result.stderr.splitlines()
    assert [line for line in faults if "web page" in line]
    assert [line for line in faults if "Ann.html is no pair's plan" in line]
    assert [line for line in faults if "tally.csv: 1 column of your own" in line]
    write(lines, b"\xff\xfe\x00")
    assert "notes.csv is not UTF-8" in done(told, "pack", tmp_path / "p.zip").stderr
    told_json = report(told, "pack", tmp_path / "p.zip")
    assert told_json["fixes_left_out"] > 1000
    assert told_json["days"] == ["2027-06-08", "2027-06-09"]
    assert told_json["bytes"] == (tmp_path / "p.zip").stat().st_size


def test_the_same_practice_is_the_same_zip(told: Path, tmp_path: Path) -> None:
    done(told, "pack", tmp_path / "one.zip")
    shutil.copytree(told, tmp_path / "other")  # all files are younger there
    done(tmp_path / "other", "pack", tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_packed_again_it_is_the_same_zip(told: Path, tmp_path: Path) -> None:
    """What was made plain once stays as it is."""
    again = opened(told)
    done(again, "pack", tmp_path / "again.zip")
    one, two = members(told.parent / "pool.zip"), members(tmp_path / "again.zip")
    assert one == two


def test_without_a_file_it_goes_among_the_reports(told: Path) -> None:
    before = tree(told)
    printed = done(told, "pack").stdout
    assert "pool.zip" in printed
    assert tree(told).keys() - before.keys() == {"reports", "reports/pool.zip"}


def test_an_older_pack_is_replaced_and_nothing_else(told: Path, tmp_path: Path) -> None:
    file = tmp_path / "x.zip"
    done(told, "pack", file)
    done(told, "pack", file)
    with ZipFile(file, "w") as zipped:
        zipped.writestr("practice.toml", "theirs")
    assert "was not written by sweptwater" in refused(told, "pack", file)
    write(file, b"not a zip")
    assert "was not written by sweptwater" in refused(told, "pack", file)
    assert file.read_bytes() == b"not a zip"


@pytest.mark.parametrize(
    ("place", "why"),
    [
        ("p.gpkg", "no zip's name"),
        ("nowhere/p.zip", "no folder"),
        ("pool/p.zip", "among the files of the practice"),
        ("pool/tracks/Heron/p.zip", "among the files of the practice"),
    ],
)
def test_places_where_nothing_is_written(told: Path, place: str, why: str) -> None:
    assert why in refused(told, "pack", told.parent / place)


def test_times_without_a_zone_stay_without(begun: Path, tmp_path: Path) -> None:
    """So that the doubt whether they are UTC goes along with them."""
    data = re.sub(rb"(<time>[^<]*)Z", rb"\1", heron(8))
    assert read_gpx(data).loose_times
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "h.gpx", data))
    (plain,) = (d for n, d in packed(begun).items() if re.search(r"tracks/.*gpx", n))
    one, other = read_gpx(data), read_gpx(plain)
    assert other.loose_times
    assert other.fixes.time_s == pytest.approx(one.fixes.time_s, abs=1e-3)
    assert other.fixes.lon == pytest.approx(one.fixes.lon, abs=1e-7)
    assert other.fixes.lat == pytest.approx(one.fixes.lat, abs=1e-7)


def test_a_track_without_times_stays_so(begun: Path, tmp_path: Path) -> None:
    data = re.sub(rb"<time>[^<]*</time>", b"", heron(8))
    file = write(tmp_path / "h.gpx", data)
    words = ("--pair", "Heron", "--all-fishing", "--day", "2027-06-08")
    done(begun, "upload", *words, file)
    before, after = (report(f, "coverage") for f in (begun, opened(begun)))
    assert before["fished_m2"] > 30_000
    assert after["fished_m2"] == pytest.approx(before["fished_m2"], rel=1e-3)


def test_start_takes_an_outline_or_a_pack(told: Path, tmp_path: Path) -> None:
    packed(told)
    file = told.parent / "pool.zip"
    neither = run(None, "start", tmp_path / "n")
    both = run(None, "start", tmp_path / "n", "--from", file, "--pairs", "A,B")
    assert (neither.exit_code, both.exit_code) == (2, 2)
    assert "--venue" in neither.stderr
    assert "leave --pairs out" in both.stderr
    assert not (tmp_path / "n").exists()
    found = report(None, "start", tmp_path / "n", "--from", file)
    assert found["pairs"] == ["Heron", "Grebe"]
    assert (found["tracks"], found["told"]) == (2, 2)
    assert found["not_taken"] == []
