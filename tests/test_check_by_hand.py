"""`check` after what people do by hand: each is told once, with its way out."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas as gpd
import pytest

from practices_made import BACK, DRIFT_EAST, boat, done, heron, report, run, write
from sweptwater.practice.folder import open_practice

Change = Callable[[Path], object]


def faults(folder: Path) -> list[dict[str, str]]:
    """Return the faults of a folder."""
    result = run(folder, "check", "--json")
    found: list[dict[str, str]] = json.loads(result.stdout)["faults"]
    return found


def only(folder: Path) -> dict[str, str]:
    (fault,) = faults(folder)
    return fault


def replace(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def settings(folder: Path, old: str, new: str) -> None:
    replace(folder / "practice.toml", old, new)


def track(folder: Path, pair: str = "Heron") -> Path:
    return sorted((folder / "tracks" / pair).glob("*.gpx"))[0]


# Pairs that were renamed


def test_two_pairs_are_renamed_at_once(fished: Path) -> None:
    """Nobody can tell which is which: both new names are offered for both."""
    settings(fished, '["Heron", "Grebe"]', '["Coot", "Teal"]')
    told = {fault["file"]: fault for fault in faults(fished)}
    assert set(told) == {"tracks/Grebe", "tracks/Heron"}
    heron = told["tracks/Heron"]
    assert "2 tracks in tracks/Heron are not counted and sector A is" in heron["what"]
    assert heron["do"].startswith("if Heron is now called Coot or Teal, rename the fol")


def test_a_pair_is_renamed_and_the_water_divided_again(fished: Path) -> None:
    settings(fished, '"Grebe"', '"Teal"')
    done(fished, "divide")
    fault = only(fished)
    assert "sector" not in fault["what"]
    assert "rename the folder to tracks/Teal; or" in fault["do"]
    (fished / "tracks" / "Grebe").rename(fished / "tracks" / "Teal")
    assert faults(fished) == []


def test_a_pair_is_renamed_before_it_has_tracks(begun: Path) -> None:
    settings(begun, '"Grebe"', '"Teal"')
    fault = only(begun)
    assert fault["file"] == "sectors.geojson"
    assert fault["do"].startswith("if Grebe is now Teal, write Teal for Grebe in sect")
    replace(begun / "sectors.geojson", "Grebe", "Teal")
    assert faults(begun) == []


def test_only_capitals_are_changed(fished: Path) -> None:
    if (fished / "TRACKS").exists():
        pytest.skip("capitals do not matter here")
    settings(fished, '"Grebe"', '"GREBE"')
    fault = only(fished)
    assert fault["what"].startswith("the pair is called GREBE, with other capitals, so")
    assert fault["do"] == (
        "rename the folder to tracks/GREBE and write GREBE for Grebe in sectors.geojson"
    )
    write(fished / "tracks" / "GREBE" / "new.gpx", heron(10))
    assert "move what is in tracks/Grebe to tracks/GREBE" in only(fished)["do"]
    for path in (fished / "tracks" / "Grebe").iterdir():
        path.rename(fished / "tracks" / "GREBE" / path.name)
    replace(fished / "sectors.geojson", "Grebe", "GREBE")
    assert faults(fished) == []


def test_a_sector_of_a_stranger_when_all_pairs_have_one(begun: Path) -> None:
    done(begun, "divide", "--shares", "2,1")
    replace(begun / "sectors.geojson", '"Grebe"', '"Heron"')
    replace(begun / "sectors.geojson", '"Heron"', '"Coot"')
    settings(begun, '["Heron", "Grebe"]', '["Heron"]')
    assert (
        "write a pair's name for Coot in sectors.geojson, or div" in only(begun)["do"]
    )


# Tracks and what was said of them


def test_a_track_is_moved_without_what_was_said_of_it(fished: Path) -> None:
    """What was said goes on to matter: its clock may have been put forward."""
    moved = track(fished).rename(fished / "tracks" / "Heron" / "evening.gpx")
    fault = only(fished)
    assert fault["file"].endswith(".toml")
    assert "lies at tracks/Heron/evening.gpx, so that what was said" in fault["what"]
    assert "named evening.toml, or delete it" in fault["do"]
    (fished / fault["file"]).rename(moved.with_suffix(".toml"))
    assert faults(fished) == []


@pytest.mark.parametrize("word", ["shift", "shift_mins", "Shift_min", "sha_256"])
def test_a_misspelt_word_beside_a_track(fished: Path, word: str) -> None:
    said = track(fished).with_suffix(".toml")
    with said.open("a", encoding="utf-8") as file:
        file.write(f"{word} = 60\n")
    fault = only(fished)
    assert fault["file"] == said.relative_to(fished).as_posix()
    right = "sha256" if "sha" in word else "shift_min"
    assert fault["what"] == f"{word} means nothing there: did you mean {right}?"
    result = run(fished, "check").stdout
    assert f"did you mean {right}? Write that for it, or delete the line." in result


def test_other_words_beside_a_track_are_let_be(fished: Path) -> None:
    with track(fished).with_suffix(".toml").open("a", encoding="utf-8") as file:
        file.write('weather = "fair"\n')
    assert faults(fished) == []


def test_a_track_dropped_in_by_hand_needs_nothing_beside_it(fished: Path) -> None:
    write(fished / "tracks" / "Heron" / "hand.gpx", heron(10))
    assert faults(fished) == []
    assert report(fished, "check")["tracks"] == 4


def test_one_track_of_two_pairs(fished: Path) -> None:
    """Saved again, it has another hash; the boat was the same."""
    write(fished / "tracks" / "Grebe" / "again.gpx", heron(9) + b"\n")
    fault = only(fished)
    assert fault["file"].startswith("tracks/Heron/")
    assert "this and tracks/Grebe/again.gpx were in one and the same" in fault["what"]
    assert "on 9 June" in fault["what"]
    (fished / "tracks" / "removed").mkdir()
    (fished / "tracks" / "Grebe" / "again.gpx").rename(
        fished / "tracks" / "removed" / "again.gpx"
    )
    assert faults(fished) == []


def test_a_copy_is_told_once(fished: Path) -> None:
    """Not as the same boat too."""
    shutil.copy(track(fished), fished / "tracks" / "Grebe")
    assert "this is the same track as tracks/Heron/" in only(fished)["what"]


def test_a_track_of_another_boat(fished: Path) -> None:
    north = boat(DRIFT_EAST, *BACK, start=(-500, 450))
    write(fished / "tracks" / "Heron" / "other.gpx", north)
    fault = only(fished)
    assert fault["file"] == "tracks/Heron"
    assert "8 June" in fault["what"]
    assert "other.gpx, 1 was not in the same boat as the rest" in fault["what"]
    assert re.search(r"left out: [^:,]+\.gpx$", fault["what"])


def test_which_of_three_tracks_was_elsewhere_is_told(fished: Path) -> None:
    """Two phones in the boat, and one whose clock is 20 minutes slow."""
    tracks = fished / "tracks" / "Heron"
    write(tracks / "second.gpx", heron() + b"\n")
    late = boat(DRIFT_EAST, *BACK, begin="2027-06-08T10:20:00+01:00")
    write(tracks / "slow.gpx", late)
    fault = only(fished)
    assert fault["what"].endswith("left out: slow.gpx")
    assert "write shift_min in that .toml" in fault["do"]


def test_tracks_are_read_once(fished: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []

    def noted(path: Path) -> bytes:
        read.append(path.name)
        return path.read_bytes()

    monkeypatch.setattr("sweptwater.jobs.check_tracks.read_whole", noted)
    monkeypatch.setattr("sweptwater.practice.originals.read_whole", noted)
    assert faults(fished) == []
    tracks = [name for name in read if name.endswith(".gpx")]
    assert len(tracks) == len(set(tracks)) == 3


# Boats that stay ashore


def test_a_boat_that_stays_ashore_is_not_missing(fished: Path) -> None:
    assert report(fished, "coverage")["missing"] == ["Grebe on 2027-06-09"]
    settings(fished, "[spread]", "[rods.2027-06-09]\nGrebe = []\n[spread]")
    assert report(fished, "coverage")["missing"] == []
    assert report(fished, "coverage", "--pair", "Heron")["missing"] == []
    assert faults(fished) == []


def test_one_rod_sweeps_what_two_do(fished: Path) -> None:
    before = report(fished, "coverage")["fished_m2"]
    settings(fished, "[spread]", "[rods.2027-06-09]\nHeron = [1]\n[spread]")
    assert report(fished, "coverage")["fished_m2"] == before


def test_a_boat_that_is_told_ashore_and_has_a_track(fished: Path) -> None:
    settings(fished, "[spread]", "[rods.2027-06-08]\nGrebe = []\n[spread]")
    fault = only(fished)
    assert fault["file"] == "practice.toml"
    assert fault["what"].startswith(
        "it says that Grebe stayed ashore on 8 June, and tra"
    )
    assert "below [rods.2027-06-08]" in fault["do"]


def test_a_day_of_rods_that_is_no_practice_day(fished: Path) -> None:
    settings(fished, "days = []", "days = [2027-06-08, 2027-06-10]")
    settings(fished, "[spread]", "[rods.2026-06-08]\nGrebe = []\n[spread]")
    fault = only(fished)
    assert (
        fault["what"] == "[rods.2026-06-08] is about a day that is not among the days"
    )
    assert fault["do"].startswith("mend it to 2027-06-08 or 2027-06-10")
    settings(fished, "[rods.2026-06-08]", "[rods.2027-06-09]")
    assert faults(fished) == []  # fished, and so a day, whatever the list says


# GeoJSON that was edited


def turn(folder: Path, name: str, which: Callable[[dict[str, Any]], bool]) -> None:
    """Write the coordinates of some features latitude first."""
    told = json.loads((folder / name).read_text(encoding="utf-8"))

    def turned(where: Any) -> Any:
        if isinstance(where[0], float):
            return [where[1], where[0]]
        return [turned(item) for item in where]

    for feature in told["features"]:
        if which(feature["properties"]):
            shape = feature["geometry"]
            shape["coordinates"] = turned(shape["coordinates"])
    write(folder / name, json.dumps(told))


@pytest.mark.parametrize(
    ("name", "which", "what"),
    [
        ("venue", lambda p: p["kind"] == "jetty", "wrong way round in the jetty Jetty"),
        ("venue", lambda p: p["kind"] == "out-of-bounds", "in the out-of-bounds Tower"),
        ("venue", lambda p: p["kind"] == "water", "there, or in venue.geojson"),
        ("venue", lambda p: True, "there, or in venue.geojson"),
        ("sectors", lambda p: True, "no sector lies on the water: latitude and long"),
        ("sectors", lambda p: p["sector"] == "B", "wrong way round in sector B"),
    ],
)
def test_latitude_first(
    fished: Path, name: str, which: Callable[[dict[str, Any]], bool], what: str
) -> None:
    """One fault, not one more for each track that seems to be elsewhere."""
    turn(fished, f"{name}.geojson", which)
    assert what in only(fished)["what"]
    turn(fished, f"{name}.geojson", which)
    assert faults(fished) == []


def test_a_mark_on_another_water(fished: Path) -> None:
    """Half a degree of longitude at this latitude is 32 km, or 20 miles."""
    told = json.loads((fished / "venue.geojson").read_text(encoding="utf-8"))
    for feature in told["features"]:
        if feature["properties"]["name"] == "Oak":
            feature["geometry"]["coordinates"][0] += 0.5
    write(fished / "venue.geojson", json.dumps(told))
    assert "the mark Oak lies 19" in only(fished)["what"]


def test_a_sector_without_a_pair(fished: Path) -> None:
    replace(fished / "sectors.geojson", ', "pair": "Grebe"', "")
    fault = only(fished)
    assert fault["what"] == "sector B has no pair, and Grebe no sector"
    assert fault["do"].startswith('write "pair": "Grebe" for sector B there')


def test_broken_json_is_told_with_its_place(fished: Path) -> None:
    replace(fished / "venue.geojson", "},\n", "}\n")
    fault = only(fished)
    assert "is not as it was written from line 3, column 1 on" in fault["what"]
    assert fault["do"] == "put a saved copy back"


def test_a_kind_that_is_misspelt(fished: Path) -> None:
    replace(fished / "venue.geojson", '"jetty"', '"Jetti"')
    fault = only(fished)
    assert "has the kind 'Jetti'; it must be one of" in fault["what"]
    assert fault["do"] == "did you mean jetty?"


@pytest.mark.parametrize("name", ["venue", "sectors"])
def test_what_a_gis_saves(fished: Path, name: str) -> None:
    """GDAL's GeoJSON, in WGS 84 and in UTM zone 31 (EPSG:32631)."""
    settings(fished, "days = []", "days = [2027-06-08, 2027-06-09]")
    done(fished, "divide", "--rotate")
    before = open_practice(fished)
    path = fished / f"{name}.geojson"
    table = gpd.read_file(path)
    path.unlink()
    table.to_file(path, driver="GeoJSON")
    assert faults(fished) == []
    days = [sector.days for sector in open_practice(fished).sectors]
    assert days == [sector.days for sector in before.sectors]
    path.unlink()
    table.to_crs(32631).to_file(path, driver="GeoJSON", RFC7946="NO")
    fault = only(fished)
    assert "which are no degrees" in fault["what"]
    assert fault["do"] == "save it in WGS 84, longitude first"


# Settings saved by an editor


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        (
            "utf-16",
            "save it as UTF-8, which editors offer as an encoding, instead of U",
        ),
        ("utf-16-le", "instead of UTF-16"),
        ("utf-16-be", "instead of UTF-16"),
        ("cp1252", "save it as UTF-8, which editors offer as an encoding"),
    ],
)
@pytest.mark.parametrize("name", ["practice.toml", "venue.geojson", "sectors.geojson"])
def test_another_encoding(fished: Path, name: str, encoding: str, told: str) -> None:
    path = fished / name
    text = path.read_text(encoding="utf-8")
    path.write_bytes((text + "# \u00df").encode(encoding))
    fault = only(fished)
    assert fault["file"] == name
    assert "is not UTF-8 text" in fault["what"]
    assert told in fault["do"]


def test_line_ends_and_a_mark_of_another_system(fished: Path) -> None:
    for name in ("practice.toml", "venue.geojson", "sectors.geojson"):
        data = (fished / name).read_bytes().replace(b"\n", b"\r\n")
        write(fished / name, b"\xef\xbb\xbf" + data)
    for said in fished.glob("tracks/*/*.toml"):
        write(said, b"\xef\xbb\xbf" + said.read_bytes().replace(b"\n", b"\r\n"))
    assert faults(fished) == []


def test_a_hidden_ending(fished: Path) -> None:
    (fished / "practice.toml").rename(fished / "practice.toml.txt")
    told = run(fished, "check").stderr
    assert "has a practice.toml.txt, and no practice.toml" in told
    assert "rename it" in told
