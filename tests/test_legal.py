"""The longest drift that a match allows, and the way home: against hand geometry."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from outside import ONE_WATER
from plan_made import real_water
from sweptwater.arrays import Area, Floats
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.offers.wind import Wind
from sweptwater.plan.homeward import homewards, leave_by
from sweptwater.plan.lay import Lay
from sweptwater.plan.leeway import Leeway
from sweptwater.plan.legal import (
    MOST_ASIDE_M,
    Cut,
    LegalDrift,
    longest_drift,
    match_lay,
    shut_water,
)
from sweptwater.practice.match import MatchRules
from sweptwater.practice.outing import PlanRules
from sweptwater.practice.settings import Settings, Spread
from sweptwater.units import MILE_M, MPH_M_S
from sweptwater.water.shapes import polygonal
from sweptwater.water.ways import Ways

NOTHING = Polygon()
SETTINGS = Settings(
    "Pool",
    ("Heron",),
    spread=Spread(cast_m=20),
    plan=PlanRules(margin_m=10, keep_off_m=15, shortest_m=30),
)
POOL = box(0, 0, 2000, 800)
UP = datetime(2027, 6, 12, 18, 0, tzinfo=ZoneInfo("Europe/London"))


def lay_on(
    water: Area,
    from_deg: float,
    *,
    zone: Area = NOTHING,
    anglers: Area = NOTHING,
    keep_off_m: float = 50.0,
    off_deg: float = 0.0,
    speed_m_s: float = 6.0,
) -> tuple[Lay, dict[Cut, shapely.geometry.base.BaseGeometry]]:
    fishable = polygonal(shapely.difference(water, zone))
    lay = Lay(
        water,
        fishable,
        shapely.union(zone, anglers),
        SETTINGS,
        Wind(from_deg, speed_m_s),
        Leeway(0.045, 0.015, off_deg, 10.0),
    )
    return match_lay(lay, keep_off_m), shut_water(zone, anglers)


def drift_at(place: tuple[float, float], *args: float, **rest: object) -> LegalDrift:
    lay, shut = lay_on(POOL, *args, **rest)  # type: ignore[arg-type]
    found = longest_drift(lay, shut, np.array(place))
    assert found is not None
    return found


@pytest.mark.parametrize("keep_off_m", [50.0, 100.0, 45.72])
def test_a_drift_ends_the_rules_distance_before_buoys(keep_off_m: float) -> None:
    """From 10 m off the shore to so far before 1500 m, by hand."""
    zone = box(1500, 0, 2000, 800)
    found = drift_at((1300, 400), 270, zone=zone, keep_off_m=keep_off_m)
    assert found.start == pytest.approx([10, 400])
    assert found.end == pytest.approx([1500 - keep_off_m, 400])
    assert found.length_m == pytest.approx(1490 - keep_off_m)
    assert (found.up_m, found.down_m) == pytest.approx((1290, 200 - keep_off_m))
    assert (found.cut_by, found.aside_m) == ("out of bounds", 0)
    assert found.short_m == pytest.approx(keep_off_m)
    # 150 m upwind of the place, and downwind what there is.
    assert found.passing_m == pytest.approx(min(150, 200 - keep_off_m) + 150)


def test_without_a_rule_it_ends_a_cast_before_them() -> None:
    found = drift_at((1300, 400), 270, zone=box(1500, 0, 2000, 800), keep_off_m=0)
    assert found.end == pytest.approx([1480, 400])
    assert found.cut_by == "out of bounds"
    assert found.short_m == pytest.approx(20)


def test_land_cuts_a_drift_a_cast_short_and_bank_anglers_further() -> None:
    found = drift_at((1000, 100), 0)
    assert found.end == pytest.approx([1000, 20])
    assert found.cut_by == "land"
    assert found.short_m == pytest.approx(20)
    anglers = LineString([(0, 0), (2000, 0)]).buffer(30)
    found = drift_at((1000, 100), 0, anglers=anglers)
    assert found.end[1] == pytest.approx(80, abs=0.1)
    assert found.cut_by == "bank-anglers"
    assert found.short_m == pytest.approx(50, abs=0.1)


def test_a_boat_off_straight_downwind_takes_its_own_course() -> None:
    """10 degrees right of east: the tangent gives the offset over the drift."""
    found = drift_at((1000, 400), 270, off_deg=10)
    east, north = found.end - found.start
    assert north / east == pytest.approx(-np.tan(np.radians(10)))
    # From the margin in the west to a cast short, down that course, in the east.
    assert found.start[0] == pytest.approx(10)
    assert found.end[0] == pytest.approx(2000 - 20 * np.cos(np.radians(10)))


def test_where_the_place_itself_is_shut_it_passes_as_near_as_may_be() -> None:
    """25 m off a zone to its north that asks for 50: 30 m further south, by tens."""
    found = drift_at((1000, 425), 270, zone=box(0, 450, 2000, 800))
    assert found.aside_m == 30
    assert found.start == pytest.approx([10, 395])
    half_m = np.sqrt(BANDWIDTH_M**2 - 30**2)
    assert found.passing_m == pytest.approx(2 * half_m)


@pytest.mark.parametrize(
    ("place", "from_deg", "speed_m_s"),
    [((1000, 500), 270, 6.0), ((1000, 20), 270, 0.0), ((1000, 13), 90, 0.0)],
)
def test_what_cannot_be_drifted_is_none(
    place: tuple[float, float], from_deg: float, speed_m_s: float
) -> None:
    """In the midst of a zone, more than 75 m from where a boat may be; in a calm."""
    zone = box(200, 150, 2000, 800)
    lay, shut = lay_on(POOL, from_deg, zone=zone, speed_m_s=speed_m_s)
    assert longest_drift(lay, shut, np.array(place)) is None


def test_of_two_stretches_it_is_the_one_that_passes_the_place() -> None:
    """An island parts the line: the place lies beyond it."""
    water = polygonal(POOL - box(900, 300, 1000, 500))
    lay, shut = lay_on(water, 270)
    found = longest_drift(lay, shut, np.array([1100.0, 400]))
    assert found is not None
    assert found.start == pytest.approx([1010, 400])
    lay, shut = lay_on(water, 270)
    found = longest_drift(lay, shut, np.array([800.0, 400]))
    assert found is not None
    assert found.end == pytest.approx([880, 400])  # a cast before the island


@given(st.floats(0, 360), st.floats(100, 1900), st.floats(100, 700))
def test_a_drift_stays_where_it_may(from_deg: float, east: float, north: float) -> None:
    zone = box(700, 300, 900, 500)
    lay, shut = lay_on(POOL, from_deg, zone=zone)
    place = np.array([east, north])
    found = longest_drift(lay, shut, place)
    if found is None:
        assert Point(place).distance(lay.ground) > 0
        return
    assert lay.ground.buffer(1e-6).covers(found.line)
    assert found.line.distance(zone) >= 50 - 0.3  # arcs of 8 corners a quarter
    assert found.up_m + found.down_m == pytest.approx(found.length_m)
    assert found.passing_m <= min(found.length_m, 2 * BANDWIDTH_M) + 1e-6
    assert abs(found.aside_m) <= MOST_ASIDE_M
    assert found.line.distance(Point(place)) <= BANDWIDTH_M
    beyond = found.end + (found.end - found.start) / found.length_m
    assert not lay.ground.covers(Point(beyond))


@pytest.mark.parametrize("name", ["nhd_lake_mendota", "cz_vranov", "cz_brno"])
def test_on_real_lakes_drifts_stay_off_the_land(name: str) -> None:
    """Origins in the data's INDEX.md; a dozen places in eight winds each."""
    assert name in ONE_WATER
    waters = real_water(name)
    rng, water = np.random.default_rng(1), waters.venue.water
    west, south, east, north = water.bounds
    places = rng.uniform((west, south), (east, north), (400, 2))
    inside = places[shapely.contains_xy(water.buffer(-60), *places.T)][:12]
    assert len(inside)
    for from_deg in range(0, 360, 45):
        lay = match_lay(waters.lay(Wind(from_deg, 6.7)), 50.0)
        for place in inside:
            found = longest_drift(lay, shut_water(NOTHING, NOTHING), place)
            if found is None:
                continue
            assert found.cut_by == "land"
            assert found.line.distance(water.boundary) >= lay.settings.plan.margin_m - 1


def test_the_run_home_is_told_to_the_minute() -> None:
    """28.5 min for 1.9 miles at 4 mph, and ten in hand, is 17:21:30: leave by 17:21."""
    water = box(0, 0, 2.5 * MILE_M, 400)
    ways = Ways(water)
    rules = MatchRules()
    jetty, far = np.array([100.0, 200]), np.array([[100 + 1.9 * MILE_M, 200]])
    (home,) = homewards(ways, far, jetty, rules, UP)
    assert home.way_m == pytest.approx(1.9 * MILE_M)
    assert home.run_s == pytest.approx(28.5 * 60)
    assert home.leave_by == UP.replace(hour=17, minute=21)
    faster = replace(rules, motoring_m_s=8 * MPH_M_S, spare_s=0)
    (home,) = homewards(ways, far, jetty, faster, UP)
    assert home.leave_by == UP.replace(hour=17, minute=45)  # 14.25 min


def test_the_way_home_goes_round_the_land() -> None:
    """Round a spit that parts two bays: up to its end and down, by hand."""
    water = polygonal(box(0, 0, 1000, 600) - box(490, 0, 510, 500))
    ends = np.array([[300.0, 100]])
    (home,) = homewards(Ways(water), ends, np.array([700.0, 100]), MatchRules(), UP)
    corner = np.hypot(490 - 300, 500 - 100)
    assert home.way_m == pytest.approx(2 * corner + 20, rel=0.02)


def test_no_way_home_is_told_as_none() -> None:
    water = shapely.union(box(0, 0, 500, 500), box(900, 0, 1400, 500))
    (home,) = homewards(
        Ways(polygonal(water)),
        np.array([[100.0, 100]]),
        np.array([1000.0, 100]),
        MatchRules(),
        UP,
    )
    assert (home.way_m, home.run_s) == (np.inf, np.inf)
    assert home.leave_by is None


@given(st.integers(0, 300), st.floats(0, 59.9), st.integers(0, 60))
def test_leaving_is_never_late_and_less_than_a_minute_early(
    minutes: int, seconds: float, spare: int
) -> None:
    at = leave_by(60.0 * minutes + seconds, UP, 60.0 * spare)
    early_s = (UP - at).total_seconds() - 60 * minutes - seconds - 60 * spare
    assert -0.01 <= early_s < 60
    assert (at.second, at.microsecond) == (0, 0)


def test_no_places_have_no_way() -> None:
    none: Floats = np.zeros((0, 2))
    assert homewards(Ways(POOL), none, np.zeros(2), MatchRules(), UP) == ()
