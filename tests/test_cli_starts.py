"""`starts` where something is missing: it works, and says what it supposed.

The match morning itself is told in test_story_match.py.
"""

import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import LineString

from practices_made import (
    CLOSED,
    FRAME,
    LAKE,
    begin,
    done,
    geojson,
    heron,
    refused,
    report,
    write,
)
from sweptwater.jobs.starts import AskStarts, look_at_starts
from sweptwater.units import YARD_M

DAY = ("--day", "2027-06-12", "--wind", "W4")


def starts(folder: Path, *words: str) -> Any:
    return report(folder, "starts", *DAY, *words)


def with_settings(folder: Path, *lines: str) -> Path:
    """Change lines below [match], by their keys."""
    file = folder / "practice.toml"
    text = file.read_text(encoding="utf-8")
    head, match = text.split("[match]", 1)
    for line in lines:
        key = line.split(" = ")[0]
        old = next(one for one in match.splitlines() if one.startswith(f"{key} = "))
        match = match.replace(old, line, 1)
    file.write_text(f"{head}[match]{match}", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def untold(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a practice of which nobody has told anything yet."""
    return Path(shutil.copytree(_begun, tmp_path_factory.mktemp("none") / "pool"))


@pytest.fixture(scope="module")
def found(untold: Path) -> Any:
    return starts(untold)


def test_without_finds_all_start_on_promising_water(
    untold: Path, found: dict[str, Any]
) -> None:
    assert len(found["starts"]) == 6
    assert all(row["bold"] for row in found["starts"])
    assert {row["first"]["find"] for row in found["starts"]} == {None}
    remarks = " ".join(found["remarks"])
    assert "there are no finds yet" in remarks
    assert "how fast the boats drift is supposed" in remarks
    assert "no soundings are known" in remarks
    assert "jetty" not in remarks
    assert found["most_on_bank"] == 2
    for row in found["starts"]:
        assert row["first"]["drift"]["length_m"] > 0
        assert row["first"]["sun"]["known_from"] == "reckoned"
    assert "no finds yet" in done(untold, "starts", *DAY).stdout


def test_without_a_gust_it_is_asked_for_and_without_soundings_it_is_said(
    untold: Path, found: dict[str, Any]
) -> None:
    assert found["gust_m_s"] is None
    assert found["cautions"][0].startswith("Gusts are half as strong again")
    strong = report(untold, "starts", "--day", "2027-06-12", "--wind", "W30mph")
    assert strong["stay_ashore"] is True
    assert strong["cautions"][0].startswith("Stay ashore: a wind of 30 mph")


def test_a_drift_keeps_off_the_tower_by_the_matchs_rule(
    begun: Path, found: dict[str, Any]
) -> None:
    """50 yards are asked for, or 200."""
    far = starts(with_settings(begun, "keep_off_yd = 200"))
    for report_, off_yd in ((found, 50), (far, 200)):
        drifts = [
            spot["drift"]
            for wind in report_["winds"]
            for spot in wind["finds"]
            if spot["drift"]
        ]
        assert len(drifts) >= 8
        for drift in drifts:
            ends = FRAME.to_metres(
                np.array([drift["from_lon"], drift["to_lon"]]),
                np.array([drift["from_lat"], drift["to_lat"]]),
            )
            away_m = LineString(np.column_stack(ends)).distance(CLOSED)
            # Arcs of eight corners a quarter lack half a hundredth.
            assert away_m >= 0.995 * off_yd * YARD_M
        assert report_["keep_off_m"] == pytest.approx(off_yd * YARD_M)


def test_a_bank_that_two_sectors_share_is_one_place(untold: Path) -> None:
    ask = AskStarts(day="2027-06-12", wind="W4")
    banks = [one.place.bank for one in look_at_starts(untold, ask).candidates]
    assert len(banks) == 10
    assert len(set(banks)) == 10


def test_boats_of_their_own_start_together(begun: Path) -> None:
    found = starts(with_settings(begun, 'boats = "own"', "phones = true"))
    rows = found["starts"]
    # Two pairs, and nobody said who is in them.
    assert sorted(row["rod"] for row in rows) == [
        *("Grebe bow", "Grebe stern", "Heron bow", "Heron stern")
    ]
    by_boat: dict[str, set[str]] = {}
    for row in rows:
        by_boat.setdefault(row["boat"], set()).add(row["first"]["place"])
        assert row["propose"].startswith("Both rods: ")
    assert set(by_boat) == {"Grebe", "Heron"}
    assert [len(places) for places in by_boat.values()] == [1, 1]
    assert "Phones are allowed." in found["rules"]


def test_lines_are_up_at_a_mark(begun: Path) -> None:
    """Oak stands on the north shore, 599 m up: by hand from each start."""
    found = starts(with_settings(begun, 'lines_up_at = "oak"', 'lines_up = "17:30"'))
    assert found["lines_up_at"] == "Oak"
    for row in found["starts"]:
        first = row["first"]
        east, north = (float(v) for v in FRAME.to_metres(first["lon"], first["lat"]))
        straight_m = np.hypot(east, north - 599)
        assert straight_m - 1 <= first["home_m"] < 1.2 * straight_m + 20
        assert first["leave_by"] < "2027-06-12T17:20"
    message = refused(with_settings(begun, 'lines_up_at = "nowhere"'), "starts", *DAY)
    assert "lines_up_at" in message
    assert "nowhere" in message


def test_without_a_jetty_the_way_home_is_to_the_shore(tmp_path: Path) -> None:
    outline = geojson(tmp_path / "outline.geojson", LAKE, names=["Pool"])
    folder = tmp_path / "pool"
    done(None, "start", folder, "--venue", outline, "--pairs", "Heron,Grebe")
    found = starts(folder)  # nor is it divided
    assert len(found["starts"]) == 6
    assert any("no jetty is known" in remark for remark in found["remarks"])
    assert found["lines_up_at"] == "the jetty"
    assert all(row["leave_by"] for row in found["starts"])


def test_in_a_calm_starts_are_told_without_drifts(untold: Path) -> None:
    found = report(untold, "starts", "--day", "2027-06-12", "--wind", "calm")
    assert len(found["starts"]) == 6
    assert {row["first"]["drift"] for row in found["starts"]} == {None}
    assert found["winds"][0]["wind_m_s"] > 0
    assert any(spot["drift"] for wind in found["winds"] for spot in wind["finds"])
    done(untold, "starts", "--day", "2027-06-12", "--wind", "calm")


def test_dusk_is_told_where_the_match_ends_late(begun: Path) -> None:
    """In June the sun sets at about half past nine by British summer time there."""
    late = starts(with_settings(begun, 'lines_up = "21:45"'))
    assert any(text.startswith("The sun sets at 21:") for text in late["cautions"])
    early = starts(with_settings(begun, 'lines_up = "18:00"'))
    assert not any("sun sets" in text for text in early["cautions"])


def test_a_find_that_the_wind_does_not_allow_is_no_start(tmp_path: Path) -> None:
    """305 m before the tower: at 550 yd off no drift comes within 150 m of it."""
    folder = begin(tmp_path / "pool", tmp_path)
    done(folder, "upload", "--pair", "Heron", write(tmp_path / "h.gpx", heron()))
    lon, lat = (float(v) for v in FRAME.to_degrees(495, 0))
    rows = (
        "day,pair,drift,rod,told,pull,lat,lon\n"
        f"2027-06-08,Heron,1,bow,tallied,6,{lat:.7f},{lon:.7f}\n"
    )
    done(folder, "tally", write(tmp_path / "t.csv", rows))
    near = starts(folder)
    assert any(row["first"]["find"] == 1 for row in near["starts"])
    far = starts(with_settings(folder, "keep_off_yd = 550"))
    assert {row["first"]["find"] for row in far["starts"]} == {None}
    assert any("cannot be drifted in this wind" in text for text in far["remarks"])
    west = next(wind for wind in far["winds"] if wind["wind"] == "W")
    assert west["finds"][0]["drift"] is None


def test_sky_chooses_the_line(untold: Path, found: dict[str, Any]) -> None:
    bright, dull = found, starts(untold, "--sky", "overcast")
    assert (bright["sky"], dull["sky"]) == (None, "dull")
    for report_, light in ((bright, "sun"), (dull, "cloud")):
        for row in report_["starts"]:
            assert row["line"] == row["first"][light]["line"]
            assert row["count_s"] == row["first"][light]["count_s"]
