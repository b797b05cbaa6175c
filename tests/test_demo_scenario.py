"""The invented water and the made-up days, checked against what is known of such."""

import math
import re
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import gpxpy
import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Bools, Floats
from sweptwater.frame import frame_around
from sweptwater.units import ACRE_M2, MILE_M, YARD_M
from sweptwater_demo import ashlode
from sweptwater_demo.gpx import CREATOR, gpx_bytes
from sweptwater_demo.motoring import run
from sweptwater_demo.routes import length_m, routes
from sweptwater_demo.scenario import (
    PHONE_DIES,
    SUMMER_TIME,
    BoatDay,
    boat_days,
    story_ladder,
)
from sweptwater_demo.simulate import (
    ASHORE,
    FISHING,
    MOTORING,
    GpsError,
    Style,
    Truth,
    Wind,
    observe,
    simulate_day,
)
from sweptwater_demo.truth import fan_along
from sweptwater_demo.weather import blow, headings, wander

LAKES = Path(__file__).parents[2] / "shared" / "data" / "lakes"
DRIFTS = {"long": (8, 14), "ladder": (25, 40), "mixed": (12, 30)}
START_S = datetime(2027, 6, 8, 9, tzinfo=SUMMER_TIME).timestamp()
CAST_M, BOAT_M = 22 * YARD_M, 5 * YARD_M


def ashlode_day(style: Style, wind: Wind, seed: int = 7) -> Truth:
    return simulate_day(
        ashlode.fishable(),
        ashlode.jetties()["Boathouse Jetty"],
        water=ashlode.water(),
        wind=wind,
        style=style,
        start_s=START_S,
        seed=seed,
    )


@pytest.fixture(scope="module", params=["long", "ladder", "mixed"])
def styled(request: pytest.FixtureRequest) -> tuple[Style, Truth]:
    winds = {"long": Wind(225, 7), "ladder": Wind(270, 5.2), "mixed": Wind(45, 3.2)}
    return request.param, ashlode_day(request.param, winds[request.param])


@pytest.fixture(scope="module")
def long_day() -> Truth:
    return ashlode_day("long", Wind(225, 7))


# The water


def geodesic_m2(polygon: Polygon) -> float:
    """Return a polygon's area on the ellipsoid by GeographicLib (C. Karney)."""
    rings_m2 = []
    for ring in (polygon.exterior, *polygon.interiors):
        line = Geodesic.WGS84.Polygon()
        for lon, lat in ring.coords[:-1]:
            line.AddPoint(lat, lon)
        rings_m2.append(abs(line.Compute()[2]))
    return float(rings_m2[0] - sum(rings_m2[1:]))


def only_shapes(collection: ashlode.Json) -> dict[str, BaseGeometry]:
    assert collection["type"] == "FeatureCollection"
    assert collection["invented"] is True
    assert "Invented" in collection["note"]
    features = collection["features"]
    assert all(f["properties"]["invented"] for f in features)
    return {f["properties"]["name"]: shape(f["geometry"]) for f in features}


def test_the_outline_is_one_valid_water_of_eleven_hundred_acres() -> None:
    (outline,) = only_shapes(ashlode.outline_geojson()).values()
    assert isinstance(outline, Polygon)
    assert outline.is_valid
    assert 400 <= len(outline.exterior.coords) <= 900
    assert geodesic_m2(outline) == pytest.approx(1100 * ACRE_M2, rel=0.03)
    islands = [geodesic_m2(Polygon(ring)) / ACRE_M2 for ring in outline.interiors]
    assert islands == [pytest.approx(6, abs=1), pytest.approx(1, abs=0.2)]
    assert outline.distance(Point(2.30, 54.85)) < 0.05  # at sea


def test_the_dam_is_straight_and_the_zones_lie_on_the_water() -> None:
    (outline,) = only_shapes(ashlode.outline_geojson()).values()
    zones = only_shapes(ashlode.out_of_bounds_geojson())
    acres = {}
    for name, zone in zones.items():
        assert isinstance(zone, Polygon)
        acres[name] = geodesic_m2(zone) / ACRE_M2
    assert acres["Dam and valve tower"] == pytest.approx(25, abs=3)
    assert 3 < acres["Bird reserve"] < 20
    for zone in zones.values():
        assert shapely.covers(outline.buffer(1e-6), zone)
        assert zone.is_valid
    vertices = shapely.get_coordinates(ashlode.water().exterior)
    sides_m = np.hypot(*np.diff(vertices, axis=0).T)
    dam = int(np.argmax(sides_m))
    assert sides_m[dam] > 400  # no other side is a tenth of that
    assert np.delete(sides_m, dam).max() < 80
    middle = Point(vertices[dam : dam + 2].mean(axis=0))
    assert ashlode.out_of_bounds()["Dam and valve tower"].distance(middle) < 0.01


def test_jetties_are_at_the_shore_and_marks_have_names() -> None:
    fishable, water = ashlode.fishable(), ashlode.water()
    assert len(only_shapes(ashlode.jetties_geojson())) == 2
    for jetty in ashlode.jetties().values():
        assert fishable.contains(jetty)
        assert water.boundary.distance(jetty) < 10
    marks = only_shapes(ashlode.marks_geojson())
    assert len(marks) >= 10
    near = ashlode.FRAME.degrees(water.buffer(60))
    assert all(shapely.covers(near, place) for place in marks.values())


# Ways and engines


def test_a_way_goes_round_an_island_by_its_corners() -> None:
    # From memory: the shortest line round an obstacle is taut round its corners.
    water = shapely.box(0, 0, 2000, 1000) - shapely.box(900, 0, 1100, 700)
    ways = routes(water, Point(5, 500))
    way = ways.way(np.array([200.0, 500.0]), np.array([1800.0, 500.0]))
    taut_m = 2 * math.hypot(700, 200) + 200
    assert taut_m < length_m(way) < taut_m + 25  # a boat's clearance wide of them
    assert shapely.LineString(way).distance(shapely.box(900, 0, 1100, 700)) > 13


@pytest.mark.parametrize("cruise_m_s", [1.2, 2.2])
def test_a_run_starts_with_the_drift_and_never_lurches(cruise_m_s: float) -> None:
    way = np.array([[0.0, 0], [400, 0], [400, 300], [430, -200]])
    drift = np.array([-0.3, 0.1])
    places = np.vstack([[0.0, 0], run(way, cruise_m_s=cruise_m_s, drift_m_s=drift)])
    velocity = np.diff(places, axis=0)
    assert np.hypot(*(velocity[0] - drift)) < 0.3
    assert np.hypot(*np.diff(velocity, axis=0).T).max() <= 0.32  # hairpin included
    assert np.hypot(*velocity.T).max() == pytest.approx(cruise_m_s, rel=0.02)
    assert places[-1] == pytest.approx(way[-1], abs=0.01)


# The truth of a day


def off_the_water(truth: Truth) -> Bools:
    within = ashlode.fishable().buffer(0.01)
    shapely.prepare(within)
    return ~shapely.contains_xy(within, truth.easting, truth.northing)


def course_deg(truth: Truth, rows: slice) -> float:
    east, north = truth.path[rows.stop - 1] - truth.path[rows.start]
    return math.degrees(math.atan2(east, north))


def turn_deg(a: float, b: float) -> float:
    return abs((a - b + 180) % 360 - 180)


def mean_deg(bearings: Floats) -> float:
    east, north = headings(bearings).mean(axis=0)
    return math.degrees(math.atan2(east, north))


def check_day(style: str, truth: Truth) -> None:
    """Check one day against common practice (no source) and against itself."""
    assert not off_the_water(truth).any()
    fewest, most = DRIFTS[style]
    assert fewest <= len(truth.drifts) <= most
    afloat = np.flatnonzero(truth.state == MOTORING)[[0, -1]]
    assert 8 <= np.ptp(afloat) / 3600 <= 9
    whole_s = truth.fishing_s + truth.motoring_s + truth.ashore_s
    assert whole_s == len(truth.time_s)
    assert truth.fishing_s == sum(d.end_s - d.start_s for d in truth.drifts)
    assert 5 <= truth.fishing_s / 3600 <= 7
    ashore = np.flatnonzero(np.diff(np.r_[0, truth.state == ASHORE, 0]))
    stays_s = np.diff(ashore.reshape(-1, 2), axis=1).ravel()
    assert len(stays_s) == 3  # tied up, lunch, tied up
    assert 25 * 60 <= stays_s[1] <= 45 * 60
    step = np.hypot(*np.diff(truth.path, axis=0).T)
    assert step[(truth.state == ASHORE)[:-1] & (truth.state == ASHORE)[1:]].max() == 0
    assert step.max() < 2.25
    jerk = np.hypot(*np.diff(truth.path, 2, axis=0).T)
    assert jerk.max() < 0.31


def check_drifts(style: str, truth: Truth) -> None:
    gaps_s = []
    for drift, rows in zip(truth.drifts, truth.drift_rows(), strict=True):
        minutes = (drift.end_s - drift.start_s) / 60
        assert 3 <= minutes <= 45
        assert minutes >= 15 or style != "long" or rows.stop > len(truth.time_s) * 0.9
        assert 0.09 <= drift.length_m / (drift.end_s - drift.start_s) <= 0.75
        wind = mean_deg(truth.downwind_deg[rows])
        assert turn_deg(course_deg(truth, rows), wind) < 30
        gaps_s.append(drift.start_s)
    between_s = np.array(gaps_s[1:]) - [d.end_s for d in truth.drifts[:-1]]
    assert 80 <= np.median(between_s) <= 540


def test_a_day_is_as_days_are(styled: tuple[Style, Truth]) -> None:
    check_day(*styled)
    check_drifts(*styled)


def test_ashore_is_at_the_shore_and_settling_is_short(long_day: Truth) -> None:
    still = np.unique(long_day.path[long_day.state == ASHORE], axis=0)
    assert shapely.distance(ashlode.water().boundary, shapely.points(still)).max() < 15
    for rows in long_day.drift_rows():
        before = long_day.path[rows.start - 40 : rows.start + 1]
        speed = np.hypot(*np.diff(before, axis=0).T)
        assert (long_day.state[rows.start - 40 : rows.start] == MOTORING).all()
        since_engine_s = 40 - np.flatnonzero(speed > 0.8)[-1]
        assert 3 <= since_engine_s <= 5 + 8  # losing way takes some seconds
        assert speed[-3:].max() < 0.5  # slow before the first cast


def test_the_same_seed_is_the_same_day(long_day: Truth) -> None:
    again = ashlode_day("long", Wind(225, 7))
    other = ashlode_day("long", Wind(225, 7), seed=8)
    assert np.array_equal(again.path, long_day.path)
    assert other.path.shape != long_day.path.shape or (other.path != again.path).any()


# The water swept


def straight_drift(length_m: float, wind_deg: float, off_deg: float) -> Floats:
    steps = int(length_m / 0.25)
    along = np.linspace(0, length_m, steps + 1)
    return along[:, None] * headings(np.array([wind_deg + off_deg]))


@settings(max_examples=40, deadline=None)
@given(
    cast_m=st.floats(5, 40),
    boat_m=st.floats(0, 10),
    spread_deg=st.floats(5, 90),
    length_m=st.floats(1, 400),
    wind_deg=st.floats(0, 360),
)
def test_a_straight_drift_sweeps_its_closed_form(
    cast_m: float, boat_m: float, spread_deg: float, length_m: float, wind_deg: float
) -> None:
    # Minkowski sum of a segment b across the wind and a sector (R, half-angle a): by
    # mixed areas a R^2 + b R; moved downwind by L it adds L (b + 2 R sin a).
    path = straight_drift(length_m, wind_deg, 0)
    swept = fan_along(
        path,
        np.full(len(path), wind_deg),
        cast_m=cast_m,
        boat_m=boat_m,
        spread_deg=spread_deg,
    )
    a = math.radians(spread_deg)
    fan_m2 = a * cast_m**2 + boat_m * cast_m
    strip_m2 = length_m * (boat_m + 2 * cast_m * math.sin(a))
    assert swept.area == pytest.approx(fan_m2 + strip_m2, rel=3e-3)
    assert swept.area <= (fan_m2 + strip_m2) * (1 + 1e-9)  # arcs drawn from inside


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), wind_deg=st.floats(0, 360), off=st.floats(-25, 25))
def test_swept_means_within_a_cast_of_some_part_of_the_boat(
    seed: int, wind_deg: float, off: float
) -> None:
    path = straight_drift(60, wind_deg, off)
    swept = fan_along(
        path,
        np.full(len(path), wind_deg),
        cast_m=CAST_M,
        boat_m=BOAT_M,
        spread_deg=40,
    )
    downwind, across = headings(np.array([wind_deg, wind_deg + 90]))
    rods = np.linspace(-BOAT_M / 2, BOAT_M / 2, 41)[:, None] * across
    spots = np.random.default_rng(seed).uniform(-40, 100, (60, 2))
    for spot in spots:
        off_rod = spot - (path[:, None] + rods[None])
        ahead, beside = off_rod @ downwind, np.abs(off_rod @ across)
        reach = np.hypot(ahead, beside) - CAST_M
        side = beside - np.maximum(ahead, 0) * math.tan(math.radians(40))
        excess = np.maximum(reach, side).min()  # below 0 inside, above 0 outside
        if abs(excess) > 0.35:
            assert shapely.intersects_xy(swept, *spot) == (excess < 0)


@pytest.mark.slow
def test_thinning_the_day_changes_its_swept_water_little(long_day: Truth) -> None:
    fishable = ashlode.fishable()
    thinned = long_day.swept(fishable)
    whole = [
        fan_along(
            long_day.path[rows],
            long_day.downwind_deg[rows],
            cast_m=CAST_M,
            boat_m=BOAT_M,
            spread_deg=40,
            step_m=0.02,
        )
        for rows in long_day.drift_rows()[:4]
    ]
    part = replace(long_day, drift=np.where(long_day.drift < 4, long_day.drift, -1))
    every_second = (shapely.union_all(whole) & fishable).area
    assert part.swept(fishable).area == pytest.approx(every_second, rel=5e-5)
    assert thinned.is_valid
    assert shapely.covers(fishable.buffer(0.01), thinned)
    lengths_m = sum(drift.length_m for drift in long_day.drifts)
    width_m = BOAT_M + 2 * CAST_M * math.sin(math.radians(40))
    assert thinned.area < lengths_m * width_m + len(long_day.drifts) * 700


# Wind and receiver


def test_wander_has_unit_spread_and_forgets_as_it_should() -> None:
    # From memory: an Ornstein-Uhlenbeck process has autocorrelation exp(-lag / time).
    x = wander(400_000, 20, np.random.default_rng(3))
    assert x.std() == pytest.approx(1, abs=0.03)
    for lag in (1, 20, 40):
        correlation = np.mean(x[lag:] * x[:-lag]) / x.var()
        assert correlation == pytest.approx(math.exp(-lag / 20), abs=0.03)


def test_the_wind_blows_toward_the_other_side() -> None:
    toward_deg, speed = blow(Wind(350, 5), 200_000, np.random.default_rng(1))
    off = (toward_deg - 170 + 180) % 360 - 180
    assert abs(off.mean()) < 3
    assert off.std() == pytest.approx(8, rel=0.25)
    assert speed.mean() == pytest.approx(5, rel=0.03)


def errors(truth: Truth, gps: GpsError, seed: int = 5) -> tuple[Floats, Floats]:
    fixes = observe(truth, gps=gps, seed=seed)
    rows = np.searchsorted(truth.time_s, fixes.time_s)
    off = np.column_stack([fixes.easting, fixes.northing]) - truth.path[rows]
    return fixes.time_s, off


def test_the_receivers_errors_have_their_size(long_day: Truth) -> None:
    off = np.concatenate([errors(long_day, GpsError(), seed)[1] for seed in range(4)])
    assert np.abs(off).max() <= 250 + 15
    far = np.hypot(*off.T)
    assert 0 < np.mean(far > 15) < 0.001  # spikes are there, and rare
    # Rayleigh's median is sigma sqrt(2 ln 2) (from memory).
    sigma = math.hypot(2.0, 0.4)
    assert np.median(far) == pytest.approx(sigma * math.sqrt(2 * math.log(2)), rel=0.15)
    step = np.diff(off, axis=0).ravel()
    robust = np.median(np.abs(step)) * 1.4826
    steps_m = math.sqrt(2 * 0.4**2 + 2 * 4 * (1 - math.exp(-1 / 180)))
    assert robust == pytest.approx(steps_m, rel=0.03)


def test_a_receiver_samples_drops_out_and_dies(long_day: Truth) -> None:
    dies_s = START_S + 3 * 3600
    time_s, _ = errors(long_day, GpsError(dies_at_s=dies_s, dropouts_a_day=30))
    assert dies_s - 45 < time_s[-1] < dies_s
    gaps = np.diff(time_s)
    assert gaps.min() == 1
    assert 5 <= np.sum(gaps > 10) <= 45
    five = np.diff(errors(long_day, GpsError(step_s=5, dropouts_a_day=0))[0])
    assert set(five) == {5.0}
    uneven = np.diff(errors(long_day, GpsError(step_s=3, uneven=True))[0])
    assert set(uneven[uneven < 9]) == {1.0, 2.0, 3.0, 4.0, 5.0, 6.0}
    silent = errors(long_day, GpsError(long_dropout_s=600, dropouts_a_day=0))[0]
    assert np.diff(silent).max() == 601


def test_gpx_says_what_it_is_and_gives_the_day_back(long_day: Truth) -> None:
    fixes = observe(long_day, gps=GpsError(step_s=5, long_dropout_s=400), seed=2)
    data = gpx_bytes(fixes, ashlode.FRAME, name="A & B", note="invented <data>")
    read = gpxpy.parse(data.decode())
    assert (read.version, read.creator) == ("1.1", CREATOR)
    assert (read.name, read.description) == ("A & B", "invented <data>")
    assert len(read.tracks) == 1
    assert len(read.tracks[0].segments) == 2
    points = list(read.walk(only_points=True))
    times = np.array([p.time.timestamp() for p in points])
    assert np.array_equal(times, fixes.time_s)
    east, north = ashlode.FRAME.to_metres(
        [p.longitude for p in points], [p.latitude for p in points]
    )
    assert np.abs(np.r_[east - fixes.easting, north - fixes.northing]).max() < 0.01
    rows = np.searchsorted(long_day.time_s, times)
    far = np.hypot(east - long_day.easting[rows], north - long_day.northing[rows])
    assert 1.5 < np.median(far) < 3.5
    # The order of elements is GPX 1.1's (schema from memory): metadata, then trk.
    assert re.findall(rb"<(\w+)", data[:600])[:8] == (
        [b"gpx", b"metadata", b"name", b"desc", b"time", b"trk", b"name", b"desc"]
    )


# The scenario


def test_the_ladder_on_the_mile_is_as_told() -> None:
    story = story_ladder()
    truth = story.truth
    assert story.bank.length == pytest.approx(MILE_M)
    assert len(truth.drifts) == 22
    starts = np.array([truth.path[rows.start] for rows in truth.drift_rows()])
    ends = np.array([truth.path[rows.stop - 1] for rows in truth.drift_rows()])
    off_yd = [
        shapely.distance(story.bank, shapely.points(p)) / YARD_M for p in (starts, ends)
    ]
    assert off_yd[0] == pytest.approx(np.full(22, 90), abs=2)
    assert off_yd[1] == pytest.approx(np.full(22, 25), abs=1)
    apart_yd = np.hypot(*np.diff(starts, axis=0).T) / YARD_M
    assert apart_yd == pytest.approx(np.full(21, 30), abs=4)
    minutes = truth.fishing_s / 60
    drifted_m = sum(drift.length_m for drift in truth.drifts)
    assert drifted_m / YARD_M / minutes == pytest.approx(20, rel=0.05)
    first, last = truth.drift_rows()[0].start, truth.drift_rows()[-1].start
    speed = np.hypot(*np.diff(truth.path[first:last], axis=0).T)
    assert speed.max() == pytest.approx(1.2, abs=0.02)
    # Dead on to the bank: the wind's mean is square to it.
    (west, south), (east, north) = story.bank.coords
    bank_deg = math.degrees(math.atan2(east - west, north - south))
    assert turn_deg(mean_deg(truth.downwind_deg), bank_deg - 90) < 3
    assert shapely.covers(story.water, shapely.LineString(truth.path))


def test_the_ladder_sweeps_what_its_lanes_add_up_to() -> None:
    story = story_ladder()
    swept = story.truth.swept(story.water)
    width_m = BOAT_M + 2 * CAST_M * math.sin(math.radians(40))
    lane_m2 = math.radians(40) * CAST_M**2 + BOAT_M * CAST_M + width_m * 65 * YARD_M
    assert 0.8 * 22 * lane_m2 < swept.area < 22 * lane_m2  # lanes overlap a little
    along = shapely.line_locate_point(
        story.bank, shapely.points(shapely.get_coordinates(swept))
    )
    assert np.ptp(along) / MILE_M == pytest.approx(0.376, abs=0.015)


@pytest.fixture(scope="module")
def nine() -> list[BoatDay]:
    return boat_days(seed=1)


@pytest.mark.slow
def test_nine_boat_days_are_days_and_leave_water_unvisited(nine: list[BoatDay]) -> None:
    assert len({boat_day.file_name for boat_day in nine}) == 9
    for boat_day in nine:
        check_day(boat_day.style, boat_day.truth)
        check_drifts(boat_day.style, boat_day.truth)
        text = boat_day.gpx[:500].decode()
        assert CREATOR in text
        assert "Invented" in text
    fishable = ashlode.fishable()
    swept = shapely.union_all([boat_day.truth.swept(fishable) for boat_day in nine])
    assert 0.1 < swept.area / fishable.area < 0.35


@pytest.mark.slow
def test_nine_boat_days_are_the_same_again_and_one_phone_dies(
    nine: list[BoatDay],
) -> None:
    again = boat_days(seed=1)
    assert [boat_day.gpx for boat_day in again] == [boat_day.gpx for boat_day in nine]
    (short,) = [d for d in nine if (d.pair, d.day) == ("Teal", PHONE_DIES.date())]
    last = gpxpy.parse(short.gpx.decode()).get_time_bounds().end_time
    assert last is not None
    assert 0 < PHONE_DIES.timestamp() - last.timestamp() < 60
    assert short.truth.time_s[-1] > PHONE_DIES.timestamp() + 4 * 3600
    assert [d.day for d in nine[::3]] == [date(2027, 6, day) for day in (8, 9, 10)]


# Real shores: United States National Hydrography Dataset (public domain), and the Czech
# reservoir of RCzechia (MIT); where the water is small, drifts may be short.


@pytest.mark.parametrize("name", ["nhd_crab_lake", "cz_brno"])
def test_a_day_keeps_to_real_water(name: str) -> None:
    file = LAKES / f"{name}.geojson"
    if not file.exists():
        pytest.skip(f"{file.name} is not here")
    outline = shapely.get_parts(shapely.from_geojson(file.read_text()))[0]
    outline = shapely.get_parts(outline)[0]
    water = frame_around(outline.bounds).metres(outline)
    jetty = Point(water.buffer(-4).exterior.coords[0])
    truth = simulate_day(
        water, jetty, wind=Wind(250, 6), style="mixed", start_s=START_S, seed=4
    )
    assert len(truth.drifts) >= 8
    within = water.buffer(0.01)
    assert shapely.contains_xy(within, truth.easting, truth.northing).all()
    assert truth.state[0] == truth.state[-1] == ASHORE
    assert FISHING in truth.state
