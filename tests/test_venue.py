"""The venue: water less what is out of bounds, and places."""

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPoint, MultiPolygon, Point, Polygon, box

from outside import ONE_WATER, geodesic_m2_m, lake_parts
from shapes import ANNULUS, BOW_TIE, RECTANGLE, degrees, zoo_venue
from sweptwater.errors import VenueError
from sweptwater.practice.geojson import Feature
from sweptwater.water.overlap import Overlay, cut_tiles
from sweptwater.water.shapes import polygonal, valid
from sweptwater.water.venue import build_venue, check_feature

EXACT = 1e-6
"""Shapes go to degrees and back, from one frame to another, a few metres apart."""


def test_zones_are_clipped_to_the_water() -> None:
    # 300 x 400 in the water, 300 x 100 of the zone ashore.
    venue = zoo_venue(RECTANGLE, ("out-of-bounds", "Dam", box(-1000, 0, -700, 500)))
    assert venue.out_of_bounds.area == pytest.approx(300 * 400, rel=EXACT)
    assert venue.fishable.area == pytest.approx(RECTANGLE.area - 300 * 400, rel=EXACT)


def test_zones_that_overlap_count_once() -> None:
    venue = zoo_venue(
        RECTANGLE,
        ("out-of-bounds", "A", box(0, 0, 100, 100)),
        ("out-of-bounds", "B", box(50, 0, 150, 100)),
        ("out-of-bounds", "C", box(50, 50, 150, 100)),
    )
    assert venue.out_of_bounds.area == pytest.approx(150 * 100, rel=EXACT)


def test_a_zone_of_overlapping_parts_has_no_hole() -> None:
    zone = MultiPolygon([box(0, 0, 100, 100), box(50, 0, 150, 100)])
    venue = zoo_venue(RECTANGLE, ("out-of-bounds", "Cages", zone))
    assert venue.out_of_bounds.area == pytest.approx(150 * 100, rel=EXACT)


def test_a_zone_that_crosses_itself_closes_both_lobes() -> None:
    venue = zoo_venue(RECTANGLE, ("out-of-bounds", "Cages", BOW_TIE))
    # Two triangles of base 300 and height 200.
    assert venue.out_of_bounds.area == pytest.approx(60_000, rel=EXACT)


def test_no_zones_leave_the_water_as_it_is() -> None:
    venue = zoo_venue(ANNULUS)
    assert venue.out_of_bounds.is_empty
    assert venue.fishable is venue.water


boxes = st.builds(
    lambda x, y, w, h: box(x, y, x + w, y + h),
    *(st.integers(-1200, 1200), st.integers(-600, 600)),
    *(st.integers(1, 900), st.integers(1, 900)),
)


@given(st.lists(boxes, max_size=5))
@example([box(-1200, -600, 0, 600), box(0, -600, 900, 600)])
@settings(max_examples=50, deadline=None)
def test_fishable_water_is_water_less_zones(zones: list[Polygon]) -> None:
    left = RECTANGLE - shapely.union_all(zones)
    if left.area < 1:
        return
    venue = zoo_venue(RECTANGLE, *(("out-of-bounds", "", zone) for zone in zones))
    assert venue.fishable.area == pytest.approx(left.area, rel=1e-5, abs=0.5)
    parts = venue.fishable.area + venue.out_of_bounds.area
    rounding_m2 = 1e-4 * venue.out_of_bounds.length + 1e-3  # cut on a fine grid
    assert parts == pytest.approx(venue.water.area, abs=rounding_m2)
    assert venue.fishable.intersection(venue.out_of_bounds).area <= rounding_m2


def test_all_of_it_out_of_bounds_is_refused() -> None:
    with pytest.raises(VenueError, match="all of the water is out of bounds"):
        zoo_venue(RECTANGLE, ("out-of-bounds", "", RECTANGLE.buffer(10)))


def test_no_water_is_refused() -> None:
    with pytest.raises(VenueError, match="the venue has no water"):
        build_venue([Feature("jetty", "Lodge", Point(10, 50))])
    line = Polygon([(10, 50), (10.01, 50), (10, 50), (10, 50)])
    with pytest.raises(VenueError, match="water has no area"):
        build_venue([Feature("water", "", line)])


@pytest.mark.parametrize("name", ONE_WATER)
def test_real_lakes_have_their_area(name: str) -> None:
    parts = lake_parts(name)
    venue = build_venue([Feature("water", "", part) for part in parts])
    area_m2 = sum(geodesic_m2_m(part)[0] for part in parts)
    assert venue.water.area == pytest.approx(area_m2, rel=1e-5)


# Places


def test_several_points_of_one_feature_are_several_places() -> None:
    venue = zoo_venue(RECTANGLE, ("jetty", "Pontoon", MultiPoint([(0, 0), (900, 0)])))
    apart = [place.easting for place in venue.of_kind("jetty")]
    assert apart[1] - apart[0] == pytest.approx(900, rel=1e-5)


def test_jetty_ground() -> None:
    venue = zoo_venue(RECTANGLE, ("jetty", "Lodge", Point(0, 0)))
    # A disc of n = 8 segments a quarter is a regular polygon: 2 n r^2 sin(pi / 2 n).
    assert venue.jetty_ground(25).area == pytest.approx(3.121445152 * 625, rel=1e-6)
    assert zoo_venue(RECTANGLE).jetty_ground(25).is_empty


# What cannot belong to the venue


@pytest.mark.parametrize(
    ("feature", "told"),
    [
        (
            Feature("jetty", "Lodge", Point(10.1, 50)),
            r"Lodge lies 6\.2 km from the water",
        ),
        (Feature("mark", "", Point(50, 10)), r"this mark lies .* swapped\?"),
        (Feature("mark", "Buoy", Point(-170, 0)), r"Buoy lies .* km from the water"),
        (
            Feature("jetty", "Two", MultiPoint([(10, 50), (11, 50)])),
            "Two lies .* km from the water",
        ),
        (
            Feature("out-of-bounds", "Dam", LineString([(10, 50), (10.01, 50)])),
            "Dam is a LineString, and a zone out of bounds must be an area",
        ),
        (
            Feature("out-of-bounds", "", box(10.1, 50, 10.2, 50.1)),
            r"this out-of-bounds does not touch the water: is it drawn in the right",
        ),
    ],
)
def test_what_cannot_belong_is_refused(feature: Feature, told: str) -> None:
    with pytest.raises(VenueError, match=told):
        check_feature(feature, zoo_venue(RECTANGLE))


def test_what_can_belong_is_taken() -> None:
    venue = zoo_venue(RECTANGLE)
    for feature in [
        Feature("jetty", "x", degrees(Point(0, 1900))),
        Feature("mark", "x", degrees(Point(0, 0))),
        Feature("out-of-bounds", "x", degrees(BOW_TIE)),
        Feature("out-of-bounds", "x", degrees(box(999, 0, 2000, 10))),
    ]:
        check_feature(feature, venue)


# Shapes and overlays


def test_what_has_no_area_goes() -> None:
    mixed = shapely.GeometryCollection(
        [Point(0, 0), box(0, 0, 1, 1), LineString([(0, 0), (1, 1)])]
    )
    assert polygonal(mixed).equals(box(0, 0, 1, 1))
    assert polygonal(Point(0, 0)).is_empty
    assert valid(RECTANGLE) is RECTANGLE


@given(st.lists(boxes, min_size=1, max_size=6), st.sampled_from([75.0, 400.0, 5000.0]))
@settings(max_examples=40, deadline=None)
def test_an_overlay_shares_what_an_intersection_does(
    shapes: list[Polygon], side_m: float
) -> None:
    got = Overlay(ANNULUS, side_m).areas_m2(shapes)
    want = shapely.area(shapely.intersection(shapes, ANNULUS))
    assert got == pytest.approx(want, rel=1e-9, abs=1e-6)


def test_tiles_are_the_shape_again_with_no_hairline() -> None:
    odd = polygonal(shapely.affinity.translate(ANNULUS, 0.1, 1 / 3))
    tiles = cut_tiles(odd, 1 / 0.03)
    whole = shapely.union_all(tiles)
    assert len(shapely.get_rings(whole)) == 2
    assert whole.symmetric_difference(odd).area < 1e-6
    assert len(cut_tiles(Polygon(), 400)) == 0
    assert Overlay(Polygon()).areas_m2([RECTANGLE]).tolist() == [0.0]
