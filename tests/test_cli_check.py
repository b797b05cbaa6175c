"""`check`, from the outside: after every fault that a folder can have."""

import shutil
from pathlib import Path
from typing import Any

import pytest
from shapely import box

from practices_made import (
    begin,
    boat,
    done,
    geojson,
    heron,
    refused,
    report,
    run,
    tree,
    write,
)
from tracks_made import Leg


def _faults(folder: Path) -> list[dict[str, Any]]:
    """Return the faults, told alike as JSON and as sentences, one a line."""
    result = run(folder, "check")
    found = report(folder, "check", code=result.exit_code)
    assert set(found) == {"practice", "tracks", "faults"}
    faults: list[dict[str, Any]] = found["faults"]
    assert all(set(fault) == {"file", "what", "do"} for fault in faults)
    assert all(fault["what"] and fault["do"] for fault in faults)
    assert result.exit_code == (1 if faults else 0)
    assert result.stderr == ""
    if faults:
        lines = result.stdout.splitlines()
        assert len(lines) == len(faults)
        for line, fault in zip(lines, faults, strict=True):
            assert fault["file"] in line
            assert fault["what"] in line
            assert line.endswith(".")
    return faults


def _only(folder: Path) -> dict[str, Any]:
    (fault,) = _faults(folder)
    return fault


def _track(folder: Path, pair: str = "Heron") -> Path:
    return sorted((folder / "tracks" / pair).glob("*.gpx"))[0]


def test_a_clean_practice(fished: Path) -> None:
    before = tree(fished)
    assert done(fished, "check").stdout == "Ashlode Pool: 3 tracks, nothing wrong.\n"
    assert report(fished, "check") == {
        "practice": "Ashlode Pool",
        "tracks": 3,
        "faults": [],
    }
    assert tree(fished) == before


def test_after_all_reports_nothing_is_wrong(fished: Path) -> None:
    done(fished, "coverage")
    done(fished, "coverage", "--day", "2027-06-08")
    done(fished, "divide")
    done(fished, "export", fished / "reports" / "all.gpkg")
    done(fished, "unfished", "--gpx", fished / "reports" / "unfished.gpx")
    assert _faults(fished) == []


def test_water_that_is_not_divided(tmp_path: Path) -> None:
    fault = _only(begin(tmp_path / "pool", tmp_path))
    assert fault["file"] == "sectors.geojson"
    assert fault["what"] == "the water is not divided yet"


def test_sectors_that_are_out_of_date(begun: Path, tmp_path: Path) -> None:
    zone = geojson(tmp_path / "z.geojson", box(-1200, -600, -1100, -500))
    done(begun, "venue", "add", "--kind", "out-of-bounds", zone)
    fault = _only(begun)
    assert fault["file"] == "sectors.geojson"
    # 100 by 100 m are 2.47 acres of 4,840 square yards.
    assert fault["what"].startswith("2.5 acres of the sectors is not fishable water")
    assert fault["do"] == "divide the water again"
    done(begun, "divide")
    assert _faults(begun) == []


def _with_sectors(folder: Path, *lines: str) -> Path:
    body = ",\n".join(line.rstrip(",") for line in lines)
    text = f'{{"type": "FeatureCollection", "features": [\n{body}\n]}}\n'
    write(folder / "sectors.geojson", text)
    return folder


def test_sectors_that_were_edited(begun: Path) -> None:
    _, one, two, _ = (begun / "sectors.geojson").read_text().splitlines()
    half = _with_sectors(begun, one)
    assert _only(half)["what"].startswith("343 acres of water is in no sector")
    thrice = _with_sectors(
        begun, one, two, one.replace('"A"', '"C"').replace("Heron", "")
    )
    assert _only(thrice)["what"].startswith("343 acres of water is in two sectors")
    same = _with_sectors(begun, one, two.replace('"B"', '"A"'))
    assert _only(same)["what"] == "2 sectors are called A"
    small = _with_sectors(begun, one, two.replace('"B"', '"a"'))
    assert _only(small)["what"] == "2 sectors are called A"
    both = _with_sectors(begun, one, two.replace("Grebe", "Heron"))
    assert _only(both)["what"] == "Heron has 2 sectors"
    nobody = _with_sectors(begun, one.replace("Heron", "Coot"), two)
    assert _only(nobody)["what"].startswith("there is no pair Coot in practice.toml")


def test_a_sector_without_water(begun: Path, tmp_path: Path) -> None:
    zone = geojson(tmp_path / "z.geojson", box(-60, -600, 1200, 600))
    done(begun, "venue", "add", "--kind", "out-of-bounds", zone)
    told = [fault["what"] for fault in _faults(begun)]
    assert told[-1] == "there is no water to fish in sector B"


def test_a_track_whose_bytes_changed(fished: Path) -> None:
    track = _track(fished)
    track.write_bytes(track.read_bytes().replace(b"2027-06-0", b"2027-07-0"))
    fault = _only(fished)
    assert fault["file"] == track.relative_to(fished).as_posix()
    assert "its bytes have changed" in fault["what"]
    track.with_suffix(".toml").unlink()  # as it says: take it as it is
    assert _faults(fished) == []


def test_a_track_in_a_wrong_folder(fished: Path) -> None:
    told = {
        "tracks/a.gpx": "in no pair's folder, so that nobody counts it",
        "tracks/Heron/old/A.GPX": "in a folder below a pair's, so that nobody counts",
        "tracks/Heron/old/older/a.gpx": "in a folder below a pair's",
        "a.gpx": "outside the tracks' folder, so that nobody counts it",
        "reports/a b.gpx": "outside the tracks' folder",
        "Heron/a.gpx": "outside the tracks' folder",
    }
    for place, what in told.items():
        write(fished / place, heron(10))
        fault = _only(fished)
        assert fault["file"] == place
        assert what in fault["what"]
        (fished / place).unlink()
    assert fault["do"].startswith("upload it for the pair it belongs to, like sweptw")
    write(fished / "tracks" / "Coot" / "a.gpx", heron(10))
    fault = _only(fished)
    assert fault["file"] == "tracks/Coot"
    assert "1 track in tracks/Coot is not counted" in fault["what"]
    assert fault["do"].startswith("move its tracks to the folder of the pair they bel")


def test_copies_of_what_is_known_are_no_faults(fished: Path, tmp_path: Path) -> None:
    """Uploaded or removed, and then left lying about; what was written here too."""
    write(fished / "from phones" / "heron.gpx", _track(fished).read_bytes())
    write(fished / "tracks" / "removed" / "old.gpx", heron(11))
    write(fished / "old.gpx", heron(11))
    done(fished, "unfished", "--gpx", fished / "reports" / "unfished.gpx")
    shutil.copytree(fished, tmp_path / "copy")
    shutil.move(tmp_path / "copy", fished / "saved")  # another practice
    write(fished / "saved" / "new.gpx", heron(12))
    assert _faults(fished) == []


def test_a_track_that_was_removed_is_no_fault(fished: Path) -> None:
    track = _track(fished)
    for path in (track, track.with_suffix(".toml")):
        write(fished / "tracks" / "removed" / path.name, path.read_bytes())
        path.unlink()
    assert _faults(fished) == []
    assert report(fished, "check")["tracks"] == 2


def test_twice_the_same_track(fished: Path) -> None:
    track = _track(fished)
    write(fished / "tracks" / "Grebe" / "copy.gpx", track.read_bytes())
    fault = _only(fished)
    assert fault["file"] == "tracks/Grebe/copy.gpx" or "copy" in fault["what"]
    assert "this is the same track as" in fault["what"]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"<html><body>Sign in</body></html>", "is a web page, not GPX"),
        (b"", "is empty"),
        (boat(Leg(60, 0.4, 0), start=(90_000, 0)), "is from elsewhere"),
    ],
    ids=["page", "empty", "elsewhere"],
)
def test_a_broken_track_dropped_in_by_hand(
    fished: Path, data: bytes, told: str
) -> None:
    write(fished / "tracks" / "Heron" / "hand.gpx", data)
    fault = _only(fished)
    assert fault["file"] == "tracks/Heron/hand.gpx"
    assert told in fault["what"]
    again = "run sweptwater remove --pair Heron hand.gpx"
    assert fault["do"] == f"mend it, or {again}"


def test_files_that_are_no_tracks(fished: Path) -> None:
    write(fished / "tracks" / "Heron" / "day.fit", b"\x0e")
    fault = _only(fished)
    assert fault["file"] == "tracks/Heron/day.fit"
    assert "is not GPX, FIT, TCX, KML or KMZ" in fault["what"]


def test_what_systems_and_crashes_leave_is_no_fault(fished: Path) -> None:
    heron_folder = fished / "tracks" / "Heron"
    write(heron_folder / ".DS_Store", b"x")
    write(heron_folder / "._1-evening.gpx", b"x")
    write(heron_folder / ".1-evening.gpx.99.part~", b"x")
    write(fished / "notes.txt", "mine")
    assert _faults(fished) == []
    done(fished, "divide")  # the next writer clears what a crash left
    assert not (heron_folder / ".1-evening.gpx.99.part~").exists()
    assert (heron_folder / ".DS_Store").exists()


def test_a_track_that_has_gone(fished: Path) -> None:
    """What was said of it is left: someone deleted the track by hand."""
    track = _track(fished)
    upper = track.rename(track.with_suffix(".GPX"))
    assert _faults(fished) == []
    upper.unlink()
    fault = _only(fished)
    assert fault["file"].endswith(".toml")
    assert fault["what"] == "the track that this tells of is not there"


@pytest.mark.parametrize("name", ["practice.toml", "venue.geojson", "sectors.geojson"])
@pytest.mark.parametrize("data", [b"{", b"\xff\xfe{", b"[]"])
def test_a_corrupt_file(fished: Path, name: str, data: bytes) -> None:
    write(fished / name, data)
    fault = _only(fished)
    assert fault["file"] == name
    assert str(fished) not in fault["file"]


def test_all_corrupt_files_are_told_at_once(fished: Path) -> None:
    for name in ("practice.toml", "venue.geojson", "sectors.geojson"):
        write(fished / name, "{")
    told = [fault["file"] for fault in _faults(fished)]
    assert told == ["practice.toml", "venue.geojson", "sectors.geojson"]


def test_a_corrupt_sidecar(fished: Path) -> None:
    said = _track(fished).with_suffix(".toml")
    write(said, 'shift_min = "late"')
    fault = _only(fished)
    assert fault["file"] == said.relative_to(fished).as_posix()
    assert "must be a number of minutes" in fault["what"]
    assert report(fished, "check", code=1)["tracks"] == 3
    write(fished / "tracks" / "Coot" / "a.gpx", heron(10))
    assert len(_faults(fished)) == 2  # and goes on
    write(fished / "venue.geojson", "{")
    told = [fault["file"] for fault in _faults(fished)]
    assert told == ["venue.geojson", said.relative_to(fished).as_posix()]


def test_a_shift_by_hand_that_no_clock_has(fished: Path) -> None:
    said = _track(fished).with_suffix(".toml")
    write(said, said.read_text().replace("shift_min = 0", "shift_min = 1e15"))
    assert "no clock is" in _only(fished)["what"]
    found = report(fished, "coverage")
    assert len(found["faults"]) == 1
    assert len(found["boats"]) == 2


def test_missing_files(fished: Path) -> None:
    (fished / "venue.geojson").unlink()
    assert _only(fished)["file"] == "venue.geojson"
    (fished / "practice.toml").unlink()
    assert "practice.toml is missing in" in refused(fished, "check")


def test_a_pair_that_is_no_more(fished: Path) -> None:
    settings = fished / "practice.toml"
    write(settings, settings.read_text().replace('"Grebe"', '"Teal"'))
    assert _only(fished) == {
        "file": "tracks/Grebe",
        "what": "there is no pair Grebe in practice.toml, so that 1 track in "
        "tracks/Grebe is not counted and sector B is nobody's",
        "do": "if Grebe is now Teal, rename the folder to tracks/Teal and write Teal "
        "for Grebe in sectors.geojson; or write Grebe among the pairs in "
        "practice.toml, if that is a pair's name",
    }
    (fished / "tracks" / "Grebe").rename(fished / "tracks" / "Teal")
    sectors = fished / "sectors.geojson"
    write(sectors, sectors.read_text().replace("Grebe", "Teal"))
    assert _faults(fished) == []


def test_a_metric_practice(begun: Path, tmp_path: Path) -> None:
    settings = begun / "practice.toml"
    write(settings, settings.read_text().replace('"imperial"', '"metric"', 1))
    zone = geojson(tmp_path / "z.geojson", box(-1200, -600, -1100, -500))
    done(begun, "venue", "add", "--kind", "out-of-bounds", zone)
    assert _only(begun)["what"].startswith("1.0 ha of the sectors")


def test_a_copy_elsewhere_is_as_good(fished: Path, tmp_path: Path) -> None:
    copy = tmp_path / "a folder with spaces [1]"
    shutil.copytree(fished, copy)
    assert _faults(copy) == []
    _track(copy).unlink()
    assert "is not there" in _only(copy)["what"]
