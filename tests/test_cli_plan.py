"""The day's plan from the command line: what it promises, and what it writes."""

import json
import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import gpxpy
import numpy as np
import pytest
import shapely
from pyogrio import read_dataframe
from shapely import LineString
from shapely.geometry import shape
from shapely.ops import substring

from practices_made import CLOSED, FAN, FRAME, LAKE, done, refused, report, run, write
from sweptwater.units import YARD_M
from sweptwater_demo.gps import Fixes
from sweptwater_demo.gpx import gpx_bytes

DAY = ("--day", "2027-06-10")
KEEP_OFF_M, CAST_M = 50 * YARD_M, FAN.cast_m
SLACK_M = 0.5

Plans = Callable[..., tuple[Path, Any]]


def planned(folder: Path, *words: str, wind: str = "SW4") -> Any:
    return report(folder, "plan", *DAY, "--wind", wind, *words)


def kept(folder: Path, pair: str, kind: str = "drift") -> list[dict[str, Any]]:
    """Return what is kept of a plan, its shapes in metres."""
    file = folder / "plans" / "2027-06-10" / f"{pair}.geojson"
    return [
        {**item["properties"], "line": FRAME.metres(shape(item["geometry"]))}
        for item in json.loads(file.read_text(encoding="utf-8"))["features"]
        if item["properties"]["kind"] == kind
    ]


@pytest.fixture(scope="module")
def plan_of(_begun: Path, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    """Return a practice with a plan for a wind, and the report; each made once."""
    made: dict[tuple[str, ...], tuple[Path, Any]] = {}

    def make(*words: str) -> tuple[Path, Any]:
        if words not in made:
            folder = tmp_path_factory.mktemp("planned") / "pool"
            shutil.copytree(_begun, folder)
            made[words] = folder, report(folder, "plan", *DAY, "--wind", *words)
        return made[words]

    return make


def off_downwind_deg(line: LineString, from_deg: float) -> float:
    step = np.diff(shapely.get_coordinates(line), axis=0)
    bearing = np.degrees(np.arctan2(step[:, 0], step[:, 1]))
    return float(np.abs((bearing - from_deg + 180 + 180) % 360 - 180).max())


@pytest.mark.parametrize(("wind", "from_deg"), [("SW4", 225), ("100@12mph", 100)])
def test_drifts_can_be_drifted(plan_of: Plans, wind: str, from_deg: float) -> None:
    """Common practice, no source: 30 degrees, 50 yd off, a cast short of the shore."""
    folder, _ = plan_of(wind)
    fishable = LAKE - CLOSED
    for pair in ("Heron", "Grebe"):
        drifts = kept(folder, pair)
        assert len(drifts) > 10
        for drift in drifts:
            line = drift["line"]
            assert off_downwind_deg(line, from_deg) <= 30.01
            assert fishable.contains(line)
            assert line.distance(LAKE.boundary) >= 10 * YARD_M - SLACK_M
            assert line.distance(CLOSED) >= KEEP_OFF_M - SLACK_M
            end = np.array(line.coords[-1])
            ahead = np.radians(from_deg + 180)
            cast = end + (CAST_M - 1) * np.array([np.sin(ahead), np.cos(ahead)])
            assert fishable.contains(LineString([end, cast]))


def test_the_figures_and_their_keys(plan_of: Plans) -> None:
    folder, found = plan_of("SW4")
    assert (found["day"], found["wind_from_deg"]) == ("2027-06-10", 225)
    assert [pair["pair"] for pair in found["pairs"]] == ["Heron", "Grebe"]
    for pair in found["pairs"]:
        keys = {"pair", "hours", "drifts", "sweeps_m2", "new_m2", "sector_share"}
        assert keys | {"left_out"} <= set(pair)
        assert pair["drifts"] == len(pair["planned"]) == len(kept(folder, pair["pair"]))
        assert 6 < pair["hours"] <= 8 - 10 / 60
        assert pair["new_m2"] == pytest.approx(pair["sweeps_m2"], rel=1e-6)
        share = pair["new_m2"] / pair["sector_m2"]
        assert pair["sector_share"] == pytest.approx(share)
        # Each line's water, overlaps counted again, is more than that of all together.
        assert sum(x["sweeps_m2"] for x in pair["planned"]) >= pair["sweeps_m2"]
        assert pair["left_out"]
        assert all(rest["drifts"] > 0 < rest["hours"] for rest in pair["left_out"])


def test_a_drift_takes_its_length_at_its_speed_and_the_next_comes_after(
    plan_of: Plans,
) -> None:
    _, found = plan_of("SW4")
    pair = found["pairs"][0]
    lunch = pair["lunch_after"]
    before = None
    for line in pair["planned"]:
        assert line["drift_s"] == pytest.approx(line["length_m"] / pair["drift_m_s"])
        assert line["drogue_out_s"] == pytest.approx(line["drift_s"])
        # With a drogue 36 to 78 % of the speed: USCG leeway table, life rafts.
        assert 1 / 0.78 < line["drogue_in_s"] / line["drogue_out_s"] < 1 / 0.36
        begins = datetime.fromisoformat(line["begins"]).timestamp()
        if before:
            idle_s = begins - before["begins"] - before["drift_s"]
            # Common practice, no source: four minutes from drift to drift.
            least_s = 240 + (40 * 60 if before["number"] == lunch else 0)
            assert idle_s >= least_s - 1
        before = {**line, "begins": begins}


def test_motoring_keeps_off_what_is_still_to_be_fished(plan_of: Plans) -> None:
    folder, _ = plan_of("SW4")
    drifts = {drift["number"]: drift["line"] for drift in kept(folder, "Heron")}
    for way in kept(folder, "Heron", "motoring"):
        assert (LAKE - CLOSED).buffer(6).covers(way["line"])
        for number, drift in drifts.items():
            # What is swept widens from the boat: after a cast it is 16 yd to each side.
            wide = substring(drift, CAST_M, drift.length)
            strip = wide.buffer(12 * YARD_M, cap_style="flat")
            if number > way["to"]:
                assert not way["line"].intersects(strip), (way["to"], number)


def test_routes_are_read_by_other_libraries(plan_of: Plans) -> None:
    """By gpxpy and by GDAL; the schema wants waypoints before routes."""
    folder, _ = plan_of("SW4")
    file = folder / "plans" / "2027-06-10" / "Heron.gpx"
    told = gpxpy.parse(file.read_text(encoding="utf-8"))
    drifts = kept(folder, "Heron")
    assert [route.name for route in told.routes] == [f"H{d['number']}" for d in drifts]
    assert len(told.waypoints) == 2 * len(drifts) + 1
    for route, drift in zip(told.routes, drifts, strict=True):
        points = [(p.longitude, p.latitude) for p in route.points]
        line = FRAME.metres(LineString(points))
        assert line.hausdorff_distance(drift["line"]) < 0.1
    assert len(read_dataframe(file, layer="routes")) == len(drifts)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("pattern", "laid"),
    [("open", {"open"}), ("ladder", {"ladder"}), ("parallel", {"parallel"})],
)
def test_a_pattern_that_is_named(begun: Path, pattern: str, laid: set[str]) -> None:
    found = planned(begun, "--pattern", pattern, wind="W4")
    for pair in found["pairs"]:
        assert {line["pattern"] for line in pair["planned"]} == laid


@pytest.mark.slow
def test_a_zigzag_turns_and_still_goes_down_the_wind(begun: Path) -> None:
    planned(begun, "--pattern", "zigzag", wind="W4")
    lines = [drift["line"] for drift in kept(begun, "Heron")]
    assert any(len(line.coords) > 3 for line in lines)
    assert all(off_downwind_deg(line, 270) <= 30.01 for line in lines)


def test_what_was_noted_is_the_wind(begun: Path) -> None:
    told = refused(begun, "plan", *DAY)
    assert "the wind of 10 June is not known: say it, like --wind SW4" in told
    done(begun, "note", "wind", "N3", *DAY, "--at", "08:00")
    assert report(begun, "plan", *DAY)["wind_from_deg"] == 0


@pytest.mark.slow
def test_too_much_wind_comes_first(begun: Path) -> None:
    found = planned(begun, wind="SW7")
    assert found["stay_ashore"]
    printed = done(begun, "plan", *DAY, "--wind", "SW7").stdout
    assert printed.startswith("Stay ashore: SW 7")
    sheet = (begun / "plans" / "2027-06-10" / "Heron.html").read_text(encoding="utf-8")
    assert "Stay ashore: SW 7" in sheet
    assert not planned(begun, wind="SW4")["stay_ashore"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--wind", "upwards"), "upwards"),
        (("--wind", "SW4", "--hours", "0.7"), "0.7 hours cannot be planned"),
        (("--wind", "SW4", "--hours", "25"), "a day has 24"),
        (("--wind", "SW4", "--pair", "Swan"), "there is no pair 'Swan'"),
    ],
)
def test_what_cannot_be_planned_is_told(
    begun: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in refused(begun, "plan", *DAY, *words)


@pytest.mark.slow
def test_a_day_must_be_known(begun: Path) -> None:
    assert "say it, like --day 2027-06-09" in refused(begun, "plan", "--wind", "SW4")
    done(begun, "divide", "--rotate", "2027-06-08,2027-06-09")
    assert report(begun, "plan", "--wind", "SW4")["day"] == "2027-06-08"


@pytest.mark.slow
def test_a_pair_that_stays_ashore_has_no_plan(begun: Path) -> None:
    settings = begun / "practice.toml"
    text = settings.read_text(encoding="utf-8")
    write(settings, text.replace("[spread]", "[rods.2027-06-10]\nGrebe = []\n[spread]"))
    found = planned(begun)
    assert [pair["pair"] for pair in found["pairs"]] == ["Heron"]
    told = refused(begun, "plan", *DAY, "--wind", "SW4", "--pair", "Grebe")
    assert "Grebe stays ashore on 10 June" in told


@pytest.mark.slow
def test_a_pair_crosses_only_when_told(begun: Path) -> None:
    sectors = json.loads((begun / "sectors.geojson").read_text(encoding="utf-8"))
    mine = {
        item["properties"]["pair"]: FRAME.metres(shape(item["geometry"]))
        for item in sectors["features"]
    }
    planned(begun)
    for pair, sector in mine.items():
        assert all(sector.buffer(0.1).covers(d["line"]) for d in kept(begun, pair))
    found = planned(begun, "--across")
    assert [pair["sectors"] for pair in found["pairs"]] == [[], []]
    one, other = (
        shapely.union_all([d["line"].buffer(10) for d in kept(begun, pair)])
        for pair in mine
    )
    assert one.intersection(other).area < 0.2 * other.area


def test_another_hands_file_is_not_replaced(begun: Path) -> None:
    write(begun / "plans" / "2027-06-10" / "Heron.gpx", "<gpx creator='a device'/>")
    told = refused(begun, "plan", *DAY, "--wind", "SW4", "--pair", "Heron")
    assert "was not written by sweptwater" in told


@pytest.mark.slow
def test_less_time_means_fewer_drifts(begun: Path) -> None:
    (short, _), (long, _) = (
        planned(begun, "--hours", hours)["pairs"] for hours in ("4", "8")
    )
    assert short["hours"] <= 4 - 10 / 60
    assert short["new_m2"] < 0.6 * long["new_m2"]


def followed(folder: Path, pair: str, count: int, speed_m_s: float) -> bytes:
    """Return the track of a boat that does just what its plan says, for some drifts."""
    ways = {way["to"]: way["line"] for way in kept(folder, pair, "motoring")}
    places, times, now_s = [], [], 0.0
    for drift in kept(folder, pair)[:count]:
        for line, speed in ((ways[drift["number"]], 2.2), (drift["line"], speed_m_s)):
            seconds = np.arange(0, line.length / speed, 2.0)
            at = shapely.line_interpolate_point(line, seconds * speed)
            places.append(shapely.get_coordinates(at))
            times.append(now_s + seconds)
            now_s += line.length / speed + 2
    begin_s = datetime.fromisoformat("2027-06-10T09:00:00+01:00").timestamp()
    way = np.concatenate(places)
    fixes = Fixes(begin_s + np.concatenate(times), way[:, 0], way[:, 1])
    return gpx_bytes(fixes, FRAME, name="a boat", note="invented")


@pytest.mark.slow
def test_planned_against_done_and_the_next_plan_knows(
    begun: Path, tmp_path: Path
) -> None:
    (heron, _) = planned(begun)["pairs"]
    half = heron["drifts"] // 2
    data = followed(begun, "Heron", half, heron["drift_m_s"])
    track = write(tmp_path / "heron.gpx", data)
    uploaded = report(begun, "upload", "--pair", "Heron", track)
    (became,) = uploaded["planned"]
    assert became["pair"] == "Heron"
    verdicts = [line["done"] for line in became["drifts"]]
    assert verdicts[:half] == ["fished"] * half
    # A cast reaches into the water of those beside it.
    assert verdicts[half:].count("not") >= len(verdicts[half:]) - 3
    assert report(begun, "coverage")["planned"] == uploaded["planned"]
    printed = done(begun, "coverage").stdout
    assert (
        f"Of {heron['drifts']} drifts planned for Heron on 10 June, {half}" in printed
    )

    swept = shapely.union_all([d["line"] for d in kept(begun, "Heron")[:half]])
    words = ("--day", "2027-06-11", "--wind", "SW4")
    (after, _) = report(begun, "plan", *words)["pairs"]
    assert after["new_m2"] > 0.9 * after["sweeps_m2"]
    for line in after["planned"]:
        ends = [(line[f"{w}_lon"], line[f"{w}_lat"]) for w in ("from", "to")]
        middle = FRAME.metres(LineString(ends)).centroid
        assert middle.distance(swept) > 8 * YARD_M


@pytest.mark.slow
def test_a_plan_that_is_not_as_it_was_written_is_passed_over(begun: Path) -> None:
    planned(begun)
    write(begun / "plans" / "2027-06-10" / "Heron.geojson", "{}")
    assert run(begun, "coverage").exit_code == 0
    assert any(
        "Heron.geojson" in x["file"] for x in report(begun, "check", code=1)["faults"]
    )
