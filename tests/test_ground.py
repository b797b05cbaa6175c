"""Where a boat may drift: by hand, and by walking a cast ahead from places in it."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from outside import lake_parts
from shapes import FRAME, ZOO
from sweptwater.arrays import Area, Floats
from sweptwater.plan.ground import (
    LEAST_M2,
    bearing_vector,
    drift_ground,
    leg_bearings,
    off_course_deg,
    turned,
    turned_back,
)
from sweptwater.practice.outing import PlanRules
from sweptwater.water.shapes import polygonal

CAST_M = 20.0
RULES = PlanRules(margin_m=9.0, keep_off_m=45.0)
NOTHING = Polygon()


def ground_of(
    water: Area, course_deg: float, *, shut: Area = NOTHING, rules: PlanRules = RULES
) -> Area:
    fishable = polygonal(shapely.difference(water, shut))
    return drift_ground(fishable, shut, rules, cast_m=CAST_M, course_deg=course_deg)


def places_in(area: Area, count: int) -> Floats:
    """Return places spread over an area, and its own corners."""
    rng = np.random.default_rng(5)
    west, south, east, north = area.bounds
    places = rng.uniform((west, south), (east, north), (60 * count, 2))
    shapely.prepare(area)
    inner = places[shapely.contains_xy(area, places)][:count]
    return np.vstack([inner, shapely.get_coordinates(area)[::3]])


# Known by hand


@pytest.mark.parametrize(
    ("course_deg", "bounds"),
    [
        (0, (9, 9, 391, 280)),
        (90, (9, 9, 380, 291)),
        (180, (9, 20, 391, 291)),
        (270, (20, 9, 391, 291)),
    ],
)
def test_a_pool(course_deg: float, bounds: tuple[float, float, float, float]) -> None:
    ground = ground_of(box(0, 0, 400, 300), course_deg)
    assert ground.bounds == pytest.approx(bounds, abs=1e-6)
    assert ground.area == pytest.approx(box(*bounds).area, rel=1e-9)


def test_aslant_the_cast_is_shorter_across() -> None:
    # To the north east a cast of 20 m goes 14.142 m north, and as far east.
    ground = ground_of(box(0, 0, 400, 300), 45)
    short_m = CAST_M / np.sqrt(2)
    assert ground.bounds == pytest.approx((9, 9, 400 - short_m, 300 - short_m))


def test_an_island_keeps_a_cast_before_it_and_a_margin_behind() -> None:
    water = Polygon(box(0, 0, 400, 300).exterior, [box(190, 140, 210, 160).exterior])
    ground = ground_of(water, 0)
    for y, free in [(119.9, True), (120.1, False), (168.9, False), (169.1, True)]:
        assert ground.covers(Point(200, y)) is free


def test_a_dam_thinner_than_a_cast_is_not_cast_over() -> None:
    # Water on both sides: where the cast falls would be water again.
    water = Polygon(box(0, 0, 400, 300).exterior, [box(1, 150, 399, 152).exterior])
    ground = ground_of(water, 0)
    assert not ground.intersects(box(20, 130.1, 380, 160.9))
    assert ground.covers(LineString([(20, 129), (380, 129)]))


def test_what_is_shut_is_kept_off_by_its_distance_on_every_side() -> None:
    shut = box(150, 120, 250, 180)
    ground = ground_of(box(0, 0, 400, 300), 0, shut=shut)
    assert ground.distance(shut) == pytest.approx(45, rel=0.005)
    assert not ground.intersects(Point(200, 190))


def test_a_strip_may_be_fished_yet_not_come_near() -> None:
    # Bank-anglers' strips are no part of what is shut: boats keep off all the same.
    strip = LineString([(100, 0), (300, 0)])
    water = box(0, 0, 400, 300)
    ground = drift_ground(water, strip, RULES, cast_m=CAST_M, course_deg=0)
    assert ground.distance(strip) == pytest.approx(45, rel=0.005)
    assert ground.covers(Point(20, 10))


def test_a_keep_off_distance_below_the_margin_is_the_margin() -> None:
    rules = PlanRules(margin_m=9.0, keep_off_m=1.0)
    strip, pool = LineString([(200, 100), (200, 200)]), box(0, 0, 400, 300)
    ground = drift_ground(pool, strip, rules, cast_m=CAST_M, course_deg=0)
    assert ground.distance(strip) == pytest.approx(9, rel=0.005)


@pytest.mark.parametrize(
    "water",
    [box(0, 0, 17, 400), box(0, 0, 400, 28), Point(0, 0).buffer(8), Polygon()],
    ids=["narrow", "short", "puddle", "none"],
)
def test_too_little_water_is_no_ground(water: Polygon) -> None:
    if not water.is_empty:
        assert ground_of(water, 0).is_empty


def test_a_scrap_is_left_out() -> None:
    # 2 m wide between the margins, and 29 m shorter than the creek.
    creek = box(0, 0, 20, 29 + 0.9 * LEAST_M2 / 2)
    assert ground_of(creek, 0).is_empty
    assert not ground_of(box(0, 0, 20, 29 + 1.1 * LEAST_M2 / 2), 0).is_empty


# In any wind, on any shape


@given(st.sampled_from(sorted(ZOO)), st.floats(0, 360), st.booleans())
@settings(max_examples=30)
def test_a_cast_ahead_of_every_place_is_on_the_water(
    name: str, course_deg: float, partly_shut: bool
) -> None:
    water = ZOO[name]
    west, south, east, north = water.bounds
    middle = Point((west + east) / 2, (south + north) / 2)
    shut = polygonal(water & middle.buffer(60)) if partly_shut else NOTHING
    fishable = polygonal(shapely.difference(water, shut))
    ground = ground_of(water, course_deg, shut=shut)
    if ground.is_empty:
        return
    places = places_in(ground, 60)
    ahead = places + CAST_M * bearing_vector(course_deg)
    casts = shapely.linestrings(np.stack([places, ahead], axis=1))
    loose = fishable.buffer(1e-3, join_style="mitre")
    assert shapely.covers(loose, casts).all()
    off_m = shapely.distance(shapely.boundary(fishable), shapely.points(places))
    # Arcs of eight corners a quarter cut 0.5 % off a margin.
    assert off_m.min() >= 0.995 * RULES.margin_m - 1e-6
    if partly_shut and not shut.is_empty:
        assert shapely.distance(shut, shapely.points(places)).min() >= 0.995 * 45


@given(st.sampled_from(sorted(ZOO)), st.floats(0, 360))
@settings(max_examples=25)
def test_no_place_is_left_out_that_could_be_drifted_over(
    name: str, course_deg: float
) -> None:
    water = ZOO[name]
    inner = water.buffer(-1.01 * RULES.margin_m)
    if inner.area < LEAST_M2:
        return
    ground = ground_of(water, course_deg)
    places = places_in(inner, 80)
    ahead = places + 1.001 * CAST_M * bearing_vector(course_deg)
    casts = shapely.linestrings(np.stack([places, ahead], axis=1))
    good = np.array(shapely.points(places[shapely.contains_properly(water, casts)]))
    out = good[~shapely.covers(ground.buffer(0.01), good)]
    # But for scraps, each too small to be drifted over.
    scraps = shapely.get_parts(inner.difference(ground.buffer(0.01)))
    small = scraps[shapely.area(scraps) < 4 * LEAST_M2]
    held = shapely.union_all(small).buffer(0.1)
    assert shapely.covers(held, out).all()


@pytest.mark.parametrize("name", ["nhd_spring_lake_19islands", "cz_slapy"])
def test_real_shores(name: str) -> None:
    part = max(lake_parts(name), key=lambda p: p.area)
    frame = type(FRAME)(*part.centroid.coords[0])
    water = polygonal(frame.metres(part))
    ground = ground_of(water, 200.0)
    places = places_in(ground, 300)
    ahead = places + CAST_M * bearing_vector(200.0)
    casts = shapely.linestrings(np.stack([places, ahead], axis=1))
    assert shapely.covers(water.buffer(1e-3, join_style="mitre"), casts).all()


# Bearings and turning


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4), st.floats(0, 360))
def test_turning_and_turning_back(x: float, y: float, course_deg: float) -> None:
    along = turned(Point(x, y), course_deg)
    back = turned_back(np.array(along.coords), course_deg)
    assert back[0] == pytest.approx([x, y], abs=1e-6)
    assert float(along.distance(Point(0, 0))) == pytest.approx(np.hypot(x, y))


@given(st.floats(0, 360), st.floats(0, 360))
def test_off_course_by_vectors(bearing_deg: float, course_deg: float) -> None:
    off = float(off_course_deg(bearing_deg, course_deg))
    assert -180 <= off < 180
    dot = bearing_vector(bearing_deg) @ bearing_vector(course_deg)
    assert np.cos(np.radians(off)) == pytest.approx(dot, abs=1e-9)


def test_bearings_of_legs() -> None:
    way = np.array([[0.0, 0], [0, 10], [10, 10], [10, 0], [0, 0], [-5, 5]])
    assert leg_bearings(way).tolist() == pytest.approx([0, 90, 180, 270, 315])
