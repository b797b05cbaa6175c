"""Drifts that follow a shore: by hand on straight ones, within bounds on any."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from shapes import ZOO
from sweptwater.arrays import Area
from sweptwater.plan.ground import leg_bearings, off_course_deg
from sweptwater.plan.planned import WIDEST_DEG
from sweptwater.plan.rails import (
    LEG_DEG,
    rail_distances_m,
    rail_drifts,
    shore_rails,
    zigzag_drifts,
)
from sweptwater.water.shapes import polygonal

ROOM = box(-9e3, -9e3, 9e3, 9e3)


def bend(*places: tuple[float, float], downwind_deg: float) -> list[list[list[float]]]:
    ways = rail_drifts(
        LineString(places), ROOM, downwind_deg, longest_m=1e4, shortest_m=30
    )
    return [way.round(6).tolist() for way in ways]


# Rails by hand


@pytest.mark.parametrize(
    ("near_m", "far_m", "apart_m", "distances_m"),
    [
        (20, 80, 30, [35, 65]),
        (20, 80, 20, [30, 50, 70]),
        (20, 80, 40, [35, 65]),
        (20, 40, 60, [30]),
        (0, 100, 30, [100 / 6, 50, 500 / 6]),
    ],
)
def test_how_far_out(
    near_m: float, far_m: float, apart_m: float, distances_m: list[float]
) -> None:
    assert rail_distances_m(near_m, far_m, apart_m) == pytest.approx(distances_m)


def test_rails_round_a_pool_and_its_island() -> None:
    pool = shapely.Polygon(
        box(0, 0, 400, 400).exterior, [box(190, 190, 210, 210).exterior]
    )
    (rail,) = shore_rails(pool, np.array([50.0]))
    # A square of 300, and 20 m a side round the island with a circle of 50.
    assert rail.length == pytest.approx(1200 + 80 + 2 * np.pi * 50, rel=1e-3)
    shore = shapely.boundary(pool)
    away = shapely.distance(shore, shapely.points(shapely.get_coordinates(rail)))
    assert away == pytest.approx(np.full(np.shape(away), 50.0), rel=2e-3)


def test_no_rail_where_water_is_nowhere_so_wide() -> None:
    (rail,) = shore_rails(box(0, 0, 90, 400), np.array([50.0]))
    assert rail.is_empty


def test_it_goes_from_up_wind_to_down_wind() -> None:
    assert bend((0, 0), (100, 0), downwind_deg=90) == [[[0, 0], [100, 0]]]
    assert bend((0, 0), (100, 0), downwind_deg=270) == [[[100, 0], [0, 0]]]
    assert bend((0, 0), (100, 0), downwind_deg=0) == []


def test_up_to_thirty_degrees_off_the_wind() -> None:
    for off_deg in (-30.0, -29.9, 0.0, 29.9, 30.0):
        assert len(bend((0, 0), (100, 0), downwind_deg=90 + off_deg)) == 1
    for off_deg in (-30.1, 30.1, 60.0):
        assert bend((0, 0), (100, 0), downwind_deg=90 + off_deg) == []


def test_a_bay_is_left_where_it_turns_from_the_wind() -> None:
    shore = [(0, 0), (100, 0), (100, 80), (200, 80), (300, 40)]
    assert bend(*shore, downwind_deg=90) == [
        [[0, 0], [100, 0]],
        [[100, 80], [200, 80], [300, 40]],
    ]


def test_a_headland_is_drifted_on_both_of_its_sides() -> None:
    # Round a spit that points down the wind: out along one side, out along the other.
    spit = [(0, 0), (200, 0), (200, 40), (0, 40)]
    assert sorted(bend(*spit, downwind_deg=90)) == [
        [[0, 0], [200, 0]],
        [[0, 40], [200, 40]],
    ]


@pytest.mark.parametrize(("longest_m", "count"), [(300, 1), (299, 2), (100, 3)])
def test_long_ones_are_cut_evenly(longest_m: float, count: int) -> None:
    rail = LineString([(0, 0), (130, 0), (300, 0)])
    rail = LineString([(0, 0), (160, 0), (160 + 112, 84)])  # 160 and 140 m
    ways = rail_drifts(rail, ROOM, 80, longest_m=longest_m, shortest_m=30)
    assert [LineString(w).length for w in ways] == pytest.approx([300 / count] * count)
    for one, other in pairwise(ways):
        assert one[-1] == pytest.approx(other[0])


def test_short_ones_are_left_out() -> None:
    rail = LineString([(0, 0), (29, 0)])
    assert rail_drifts(rail, ROOM, 90, longest_m=500, shortest_m=30) == []


@pytest.mark.parametrize("region", [box(500, 500, 600, 600), box(0, 0, 100, 50)])
def test_what_only_touches_the_region_is_none(region: Area) -> None:
    rail = LineString([(100, -50), (100, 0), (100, 50), (150, 50)])
    rail = LineString([(-50, 60), (60, 60)]) if region.bounds[0] == 500 else rail
    ways = rail_drifts(rail, region, 0, longest_m=500, shortest_m=30)
    assert all(shapely.covers(region, LineString(way)) for way in ways)


# Zig-zags by hand


def test_a_zigzag_across_60_m() -> None:
    # From edge to edge 60 / tan 28 = 112.8 m along; it keeps half a metre inside.
    (way,) = zigzag_drifts(box(0, 20, 1000, 80), 90, longest_m=1e4, shortest_m=30)
    legs = np.abs(off_course_deg(leg_bearings(way), 90))
    assert legs == pytest.approx(np.full(len(legs), LEG_DEG))
    steps = np.diff(way[1:-1, 0])
    assert steps == pytest.approx(60 / np.tan(np.radians(LEG_DEG)), rel=0.02)
    assert np.ptp(way[:, 1]) == pytest.approx(60, abs=1.1)
    assert way[0, 0] < 1
    assert way[-1, 0] > 950


def test_a_zigzag_down_a_bend() -> None:
    # Two arms of a quarter ring: the wind goes along one of them only.
    ring = Point(0, 0).buffer(560).difference(Point(0, 0).buffer(500))
    band = polygonal(ring & box(0, 0, 600, 600))
    (way,) = zigzag_drifts(band, 90, longest_m=1e4, shortest_m=30)
    assert shapely.covers(band.buffer(1e-6), LineString(way))
    assert way[0, 0] < 1


def test_no_zigzag_through_nothing() -> None:
    for band in (shapely.Polygon(), box(0, 0, 0.9, 400), box(0, 0, 10, 10)):
        assert zigzag_drifts(band, 90, longest_m=1e4, shortest_m=30) == []


# On any shape, in any wind


@given(st.sampled_from(sorted(ZOO)), st.floats(0, 360), st.floats(10, 60))
@settings(max_examples=30)
def test_rails_stay_in_the_region_and_go_down_the_wind(
    name: str, downwind_deg: float, off_m: float
) -> None:
    water = ZOO[name]
    region = water.buffer(-9)
    for rail in shore_rails(water, np.array([off_m])):
        ways = rail_drifts(rail, region, downwind_deg, longest_m=400, shortest_m=30)
        for way in ways:
            line = LineString(way)
            assert 30 <= line.length <= 400 + 1e-6
            assert shapely.covers(region.buffer(0.02), line)
            off_deg = off_course_deg(leg_bearings(way), downwind_deg)
            assert np.abs(off_deg).max() <= WIDEST_DEG + 1e-6


@given(st.sampled_from(sorted(ZOO)), st.floats(0, 360))
@settings(max_examples=30)
def test_zigzags_stay_in_the_band_and_go_down_the_wind(
    name: str, downwind_deg: float
) -> None:
    water = ZOO[name]
    band = polygonal(water.buffer(-20) - water.buffer(-80))
    ways = zigzag_drifts(band, downwind_deg, longest_m=400, shortest_m=30)
    for way in ways:
        line = LineString(way)
        assert line.length <= 400 + 1e-6
        assert shapely.covers(band.buffer(0.01), line)
        off_deg = np.abs(off_course_deg(leg_bearings(way), downwind_deg))
        assert off_deg.max() <= WIDEST_DEG
