"""What `coverage` finds wrong, missing or doubtful, and that the rest still counts."""

import html
import re
from pathlib import Path

import pytest
from shapely import box

from practices_made import (
    BACK,
    DRIFT_EAST,
    boat,
    done,
    geojson,
    heron,
    refused,
    report,
    write,
)
from sweptwater.practice.originals import digest_of
from sweptwater.units import duration_text
from tracks_made import Leg

STILL = (Leg(1200, 0.4, 90), Leg(2400, 0.0, 90), Leg(600, 0.4, 90))


@pytest.mark.parametrize("name", ["practice.toml", "venue.geojson", "sectors.geojson"])
@pytest.mark.parametrize("what", [b"\xff\xfe", b"{", b'{"features": [3]}', b""])
def test_a_corrupt_file_is_a_sentence(fished: Path, name: str, what: bytes) -> None:
    path = fished / name
    path.write_bytes(what)
    told = refused(fished, "coverage")
    assert path.name in told


def test_a_missing_venue_is_a_sentence(fished: Path) -> None:
    (fished / "venue.geojson").unlink()
    assert "venue.geojson is missing in" in refused(fished, "coverage")


@pytest.mark.parametrize("what", [b"\xff\xfe", b"{"])
def test_a_corrupt_sidecar_stops_its_own_track_alone(fished: Path, what: bytes) -> None:
    said = sorted((fished / "tracks" / "Heron").glob("*.toml"))[0]
    said.write_bytes(what)
    for command in ("coverage", "unfished"):
        (fault,) = report(fished, command)["faults"]
        told = f"Heron: what was said of track {said.name[:8]} cannot be read"
        assert fault.startswith(told)
    assert len(report(fished, "coverage")["boats"]) == 2
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert f"Not in order: {told}" in page


def test_tracks_that_nobody_counts_are_told(fished: Path) -> None:
    """After a pair was renamed in the settings, and a track was deleted by hand."""
    settings = fished / "practice.toml"
    write(settings, settings.read_text().replace('"Grebe"', '"Teal"'))
    track = sorted((fished / "tracks" / "Heron").glob("*.gpx"))[0]
    track.unlink()
    renamed, gone = report(fished, "coverage")["faults"]
    assert gone.startswith("1 track of Heron's is not there any more: sweptwater check")
    assert renamed.startswith("1 track lies in no pair's folder, so that nobody counts")
    told = done(fished, "coverage").stderr
    typed = renamed.replace("sweptwater", f"sweptwater -C {fished}")
    assert f"Not in order: {typed}" in told
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert f"Not in order: {html.escape(renamed).replace('&#x27;', '&#39;')}" in page


def test_sectors_that_the_water_has_left_are_told(fished: Path, tmp_path: Path) -> None:
    zone = geojson(tmp_path / "z.geojson", box(-1200, -600, -1100, -500))
    done(fished, "venue", "add", "--kind", "out-of-bounds", zone)
    (fault,) = report(fished, "coverage")["faults"]
    # 100 by 100 m are 2.47 acres of 4,840 square yards.
    assert fault.startswith("2.5 acres of the sectors is not fishable water")
    assert fault.endswith("; divide the water again")
    done(fished, "divide")
    assert report(fished, "coverage")["faults"] == []


def test_absent_boats_are_one_caution_a_day(fished: Path) -> None:
    settings = fished / "practice.toml"
    write(settings, settings.read_text().replace('"Grebe"]', '"Grebe", "Teal"]'))
    done(fished, "coverage")
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "9 June: no track from Grebe and Teal." in page
    assert "8 June: no track from Teal." in page
    assert "2027-06-09: what they" not in page


def test_a_boat_that_lay_still_is_asked_about(begun: Path, tmp_path: Path) -> None:
    data = boat(*STILL)
    done(begun, "upload", "--pair", "Heron", write(tmp_path / "a.gpx", data))
    (line,) = report(begun, "coverage")["boats"]
    assert line["anchored_s"] == pytest.approx(2400, abs=240)
    page = (begun / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert f"Heron on 8 June: lay still {duration_text(line['anchored_s'])} in" in page


def test_a_broken_track_is_left_out_and_told(fished: Path) -> None:
    whole = report(fished, "coverage")
    write(fished / "tracks" / "Heron" / "dropped.gpx", b"<html>")
    found = report(fished, "coverage")
    assert found["fished_m2"] == whole["fished_m2"]
    (fault,) = found["faults"]
    what = f"Heron: track {digest_of(b'<html>')[:8]} is a web page"
    assert fault.startswith(what)
    result = done(fished, "coverage")
    assert f"Not in order: {what}" in result.stderr
    assert "Not in order" not in result.stdout
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert f"Not in order: {what}" in page


def test_one_track_for_two_pairs_is_told(fished: Path) -> None:
    """Saved again, the same record has other bytes, so that its hash tells nothing."""
    write(fished / "tracks" / "Grebe" / "again.gpx", heron(9) + b"\n")
    (fault,) = report(fished, "coverage")["faults"]
    assert "on 9 June have tracks of one and the same boat" in fault
    assert "Heron" in fault
    assert "Grebe" in fault


def test_uploading_tells_that_a_track_is_another_boats(
    fished: Path, tmp_path: Path
) -> None:
    north = write(tmp_path / "n.gpx", boat(DRIFT_EAST, *BACK, start=(-500, 450)))
    told = done(fished, "upload", "--pair", "Heron", north).stdout
    assert "on 8 June one of Heron's tracks was not in the same boat" in told
    assert f"sweptwater -C {fished} check tells which" in told
    again = done(fished, "upload", "--pair", "Heron", north).stdout
    assert "not in the same boat" not in again
    anew = done(fished, "upload", "--pair", "Heron", "--shift", 1, north).stdout
    assert "on 8 June one of Heron's tracks was not in the same boat" in anew


def test_boats_that_lie_at_one_jetty_are_two(begun: Path) -> None:
    """One phone dies there; the other boat goes out after it."""
    lie = Leg(600, 0, 90)
    for pair, legs in (("Heron", (lie,)), ("Grebe", (lie, DRIFT_EAST, *BACK))):
        write(begun / "tracks" / pair / "a.gpx", boat(*legs, start=(-500, 0)))
    assert report(begun, "coverage")["faults"] == []
    assert report(begun, "check")["faults"] == []


def test_a_track_of_another_boat_is_left_out_and_told(fished: Path) -> None:
    before = report(fished, "coverage")["fished_m2"]
    north = boat(DRIFT_EAST, *BACK, start=(-500, 450))
    write(fished / "tracks" / "Heron" / "other.gpx", north)
    found = report(fished, "coverage")
    assert found["fished_m2"] == pytest.approx(before)
    assert "Heron on 8 June: 1 track was not in the same boat" in found["faults"][0]


def test_drifting_out_of_bounds_is_told(begun: Path, tmp_path: Path) -> None:
    """The zone is 200 m wide, from 800 m east on; 15 m of each edge are left open."""
    track = write(tmp_path / "in.gpx", boat(DRIFT_EAST, *BACK, start=(0, 0)))
    done(begun, "upload", "--pair", "Heron", track)
    (fault,) = report(begun, "coverage")["faults"]
    told = re.search(r"Heron on 8 June drifted (\d+) yd inside a zone", fault)
    assert told is not None
    assert float(told[1]) == pytest.approx(170 / 0.9144, rel=0.02)


def test_a_practice_day_without_any_track_is_missed(fished: Path) -> None:
    days = "2027-06-07,2027-06-08,2027-06-09,2027-06-10"
    done(fished, "divide", "--rotate", days)
    missing = report(fished, "coverage")["missing"]
    # 10 June is yet to come.
    assert missing == [
        "Heron on 2027-06-07",
        "Grebe on 2027-06-07",
        "Grebe on 2027-06-09",
    ]
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "7 June: no track from Heron and Grebe." in page


def test_a_record_that_ends_hours_early_is_missed(fished: Path) -> None:
    """Heron's phone died; Grebe's went on for three hours more."""
    track = write(
        fished.parent / "late.gpx",
        boat(Leg(3600, 0.4, 90), begin="2027-06-12T13:00:00+01:00"),
    )
    done(fished, "upload", "--pair", "Grebe", track)
    track = write(
        fished.parent / "early.gpx",
        boat(Leg(3600, 0.4, 90), begin="2027-06-12T10:00:00+01:00"),
    )
    done(fished, "upload", "--pair", "Heron", track)
    done(fished, "coverage")
    page = (fished / "reports" / "coverage.html").read_text(encoding="utf-8")
    assert "Heron on 12 June: the record ends 3 h 00 before the last boat" in page
