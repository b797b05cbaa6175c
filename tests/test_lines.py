"""Straight drifts side by side: counted by hand, and in any region and wind."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from shapes import ZOO
from sweptwater.plan.ground import leg_bearings, off_course_deg
from sweptwater.plan.lines import drift_lines, parted, where_new
from sweptwater.units import YARD_M
from sweptwater.water.shapes import polygonal

MILE_M = 1760 * YARD_M


@pytest.mark.parametrize(
    ("wide_m", "count"),
    [(10, 1), (30, 1), (37, 1), (38, 2), (60, 2), (67, 2), (68, 3), (600, 20)],
)
def test_as_many_as_fit(wide_m: float, count: int) -> None:
    # A quarter of a lane more is no lane of its own: the others move apart.
    ways = drift_lines(box(0, 0, wide_m, 60), 180, apart_m=30, shortest_m=30)
    assert len(ways) == count
    x = np.array([way[0, 0] for way in ways])
    # Down the wind to the south, left is east.
    assert x == pytest.approx(wide_m - (np.arange(count) + 0.5) * wide_m / count)


def test_a_mile_of_bank_has_59() -> None:
    # 1,760 yards in lanes of 30: 58.7.
    band = box(0, 20 * YARD_M, MILE_M, 80 * YARD_M)
    ways = drift_lines(band, 180, apart_m=30 * YARD_M, shortest_m=30 * YARD_M)
    lengths = [float(np.hypot(*(way[1] - way[0]))) / YARD_M for way in ways]
    assert lengths == pytest.approx([60] * 59)


def test_what_is_shorter_than_the_shortest_is_left_out() -> None:
    # A wedge: the line in lane k is 20 k + 10 long.
    wedge = shapely.Polygon([(0, 0), (100, 0), (100, 100)])
    ways = drift_lines(wedge, 0, apart_m=20, shortest_m=30)
    lengths = sorted(float(np.hypot(*(way[1] - way[0]))) for way in ways)
    assert lengths == pytest.approx([30, 50, 70, 90])


def test_a_hole_parts_a_line() -> None:
    ring = polygonal(box(0, 0, 20, 300) - box(0, 100, 20, 150))
    ways = drift_lines(ring, 0, apart_m=30, shortest_m=30)
    assert sorted(float(way[0, 1]) for way in ways) == pytest.approx([0, 150])


@given(st.sampled_from(sorted(ZOO)), st.floats(0, 360), st.floats(20, 60))
@settings(max_examples=30)
def test_in_any_region(name: str, course_deg: float, apart_m: float) -> None:
    region = ZOO[name]
    ways = drift_lines(region, course_deg, apart_m=apart_m, shortest_m=30)
    loose = region.buffer(1e-5)
    for way in ways:
        assert abs(off_course_deg(leg_bearings(way), course_deg)[0]) < 1e-6
        assert np.hypot(*(way[1] - way[0])) >= 30 - 1e-5
        assert shapely.covers(loose, LineString(way))
    # No line is further from its neighbour than a lane and a quarter.
    for part in shapely.get_parts(region):
        strips = [LineString(w).buffer(0.5, cap_style="flat") for w in ways]
        wide = part.buffer(-1.3 * apart_m).buffer(0.01)
        open_ = shapely.union_all([s.buffer(1.26 * apart_m / 2) for s in strips])
        assert wide.difference(open_).area <= 0.02 * part.area


# Cutting what is too long


@pytest.mark.parametrize(
    ("length_m", "count"), [(49, 1), (50, 1), (51, 2), (100, 2), (101, 3)]
)
def test_parted(length_m: float, count: int) -> None:
    parts = parted(np.array([[0.0, 0], [0.6 * length_m, 0.8 * length_m]]), 50)
    assert len(parts) == count
    assert [float(np.hypot(*(p[1] - p[0]))) for p in parts] == pytest.approx(
        [length_m / count] * count
    )
    for one, other in pairwise(parts):
        assert one[1].tolist() == other[0].tolist()


# Only over what is unfished


def new(*spans: tuple[float, float], gap_m: float = 20) -> list[tuple[float, float]]:
    left = polygonal(shapely.union_all([box(-5, a, 5, b) for a, b in spans]))
    way = np.array([[0.0, 0], [0, 500]])
    ways = where_new([way], left, gap_m=gap_m, shortest_m=30)
    return [(round(float(w[0, 1]), 6), round(float(w[1, 1]), 6)) for w in ways]


def test_gaps_are_drifted_over_and_scraps_are_not() -> None:
    assert new((0, 500)) == [(0, 500)]
    assert new((10, 100), (119, 200)) == [(10, 200)]
    assert new((10, 100), (121, 200)) == [(10, 100), (121, 200)]
    assert new((10, 39)) == []
    assert new((10, 25), (40, 60), (75, 90)) == [(10, 90)]
    assert new() == []


def test_a_way_keeps_its_direction() -> None:
    way = np.array([[300.0, 400], [0, 0]])
    found = where_new([way], box(-9, -9, 150, 200), gap_m=9, shortest_m=9)
    assert found[0] == pytest.approx(np.array([[150, 200], [0, 0]]))


def test_touching_water_is_no_water_over_it() -> None:
    way = np.array([[0.0, 0], [0, 500]])
    parts = [box(0, 90, 9, 200), shapely.Point(0, 300).buffer(2)]
    touched = polygonal(shapely.union_all(parts))
    (found,) = where_new([way], touched, gap_m=9, shortest_m=30)
    assert found[:, 1].tolist() == pytest.approx([90, 200])
    assert where_new([], touched, gap_m=9, shortest_m=30) == []
