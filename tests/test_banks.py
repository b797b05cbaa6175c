"""Banks: stretches of shore and the water before each."""

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point, Polygon, box

from outside import lake_parts
from shapes import ANNULUS, POND, RECTANGLE, TWO_ISLANDS, ZOO, zoo_venue
from sweptwater.practice.geojson import Feature
from sweptwater.practice.settings import BankRules
from sweptwater.water.banks import Bank, lay_banks, nearest_bank
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Venue, build_venue

RULES = BankRules(stretch_m=400, water_m=90, piece_m=25)
REAL = (
    *("caputh_wgs84", "cz_brno", "nhd_crab_lake", "nhd_little_tamarack_flowage"),
    "nhd_spring_lake_19islands",
)


def centred(name: str) -> Venue:
    """Return the venue of a shape of the zoo."""
    return zoo_venue(ZOO[name])


def real(name: str) -> Venue:
    """Return the venue of a real lake."""
    return build_venue([Feature("water", "", part) for part in lake_parts(name)])


def near_shore_m2(venue: Venue, within_m: float) -> float:
    """Return how much fishable water lies within a distance of the shore."""
    shore = venue.water.boundary
    # Arcs of 64 segments a quarter miss 1e-4 of a disc (regular polygon).
    return float(venue.fishable.intersection(shore.buffer(within_m, quad_segs=64)).area)


def assert_partition(venue: Venue, banks: tuple[Bank, ...], within_m: float) -> None:
    waters = [bank.water for bank in banks]
    assert all(water.is_valid for water in waters)
    shared = sum(
        waters[i].intersection(waters[j]).area
        for i, j in zip(*shapely.STRtree(waters).query(waters), strict=True)
        if i < j
    )
    total = sum(water.area for water in waters)
    assert shared < 1e-6 * total
    assert total == pytest.approx(near_shore_m2(venue, within_m), rel=1e-3)
    inside = shapely.union_all(waters).difference(venue.fishable).area
    assert inside < 1e-6 * total


# Known by hand


def test_a_rectangle() -> None:
    # 2000 x 800: 5600 m of shore are 14 stretches of 400 m.
    venue = zoo_venue(RECTANGLE)
    banks = lay_banks(venue, RULES)
    assert [bank.number for bank in banks] == list(range(1, 15))
    assert [bank.length_m for bank in banks] == pytest.approx([400] * 14, rel=1e-5)
    assert not any(bank.island for bank in banks)
    # A frame 90 wide: 2000 x 800 - 1820 x 620.
    total = sum(bank.water.area for bank in banks)
    assert total == pytest.approx(2000 * 800 - 1820 * 620, rel=1e-4)
    # Three of the five along each long side are far from corners: 400 x 90 before each.
    # The other eight end in a corner, and lose half a square of 90 to the neighbour.
    plain = [
        bank.water.area for bank in banks if bank.shore.distance(corners(venue)) > 90
    ]
    assert plain == pytest.approx([400 * 90] * 6, rel=1e-3)
    rest = [
        bank.water.area for bank in banks if bank.shore.distance(corners(venue)) < 1
    ]
    assert rest == pytest.approx([400 * 90 - 90 * 90 / 2] * 8, rel=1e-3)


def corners(venue: Venue) -> shapely.MultiPoint:
    return shapely.MultiPoint(shapely.get_coordinates(venue.water))


def test_an_annulus() -> None:
    # Radii 800 and 300, as polygons of 256 sides; stretches of round(2 pi r / 400).
    banks = lay_banks(zoo_venue(ANNULUS), RULES)
    outer = [bank for bank in banks if not bank.island]
    inner = [bank for bank in banks if bank.island]
    assert (len(outer), len(inner)) == (13, 5)
    assert sum(bank.length_m for bank in outer) == pytest.approx(
        2 * np.pi * 800, rel=1e-3
    )
    for group, radii in ((outer, (800, 710)), (inner, (390, 300))):
        areas = [bank.water.area for bank in group]
        each = np.pi * (radii[0] ** 2 - radii[1] ** 2) / len(group)
        # Samples 10 m apart shift the edges between stretches a little.
        assert areas == pytest.approx([each] * len(group), rel=0.01)
        assert sum(areas) == pytest.approx(each * len(group), rel=1e-3)


def test_pieces_are_parts_of_their_bank() -> None:
    for bank in lay_banks(zoo_venue(RECTANGLE), RULES):
        assert bank.piece_m.tolist() == pytest.approx([25.0] * 16, rel=1e-5)
        pieces = shapely.union_all(bank.piece_water)
        assert pieces.symmetric_difference(bank.water).area < 1e-3
        assert bank.name == f"bank {bank.number}"


def test_every_piece_is_of_the_stretch_whose_shore_it_is() -> None:
    # Ends of stretches and of pieces are computed apart and differ in the last bit.
    rules = BankRules(stretch_m=402.336, water_m=91.44, piece_m=22.86)
    for radius in (411.0, 523.7, 777.7, 1033.1):
        banks = lay_banks(zoo_venue(polygonal(Point(0, 0).buffer(radius))), rules)
        counts = {len(bank.piece_m) for bank in banks}
        assert len(counts) == 1
        lengths = [bank.length_m for bank in banks]
        assert lengths == pytest.approx([bank.shore.length for bank in banks], rel=1e-9)


# Where they begin, and which way they run


def clockwise_from(venue: Venue) -> tuple[list[Bank], LinearRing]:
    outer = [bank for bank in lay_banks(venue, RULES) if not bank.island]
    places = [c for bank in outer for c in bank.shore.coords[:-1]]
    return outer, LinearRing(places)


@pytest.mark.parametrize("jetty", [(-1000, 150), (0, 410), (1300, -900), (200, 0)])
@pytest.mark.parametrize("turned", [False, True])
def test_banks_run_clockwise_from_the_jetty(
    jetty: tuple[float, float], turned: bool
) -> None:
    water = RECTANGLE.reverse() if turned else RECTANGLE
    venue = zoo_venue(water, ("jetty", "Lodge", Point(jetty)))
    outer, ring = clockwise_from(venue)
    lodge = venue.of_kind("jetty")[0]
    nearest = venue.water.exterior.interpolate(  # type: ignore[union-attr]
        venue.water.exterior.project(Point(lodge.easting, lodge.northing))  # type: ignore[union-attr]
    )
    assert Point(outer[0].shore.coords[0]).distance(nearest) < 1e-6
    assert Point(outer[-1].shore.coords[-1]).distance(nearest) < 1e-6
    # Clockwise on a map with north up is a negative signed area.
    assert not ring.is_ccw


def test_without_a_jetty_they_begin_in_the_north() -> None:
    venue = zoo_venue(Polygon([(0, 0), (400, 700), (800, 0)]))
    outer, ring = clockwise_from(venue)
    assert outer[0].shore.coords[0][1] == pytest.approx(venue.water.bounds[3])
    assert outer[0].shore.coords[-1][0] > outer[0].shore.coords[0][0]
    assert not ring.is_ccw


@pytest.mark.parametrize("name", ["annulus", "two islands", "winding"])
def test_water_lies_to_the_right_of_every_shore(name: str) -> None:
    for bank in lay_banks(centred(name), RULES):
        ahead = np.diff(bank.shore.coords, axis=0)[0]
        middle = np.array(bank.shore.coords[:2]).mean(axis=0)
        right = middle + 0.5 * np.array([ahead[1], -ahead[0]]) / np.hypot(*ahead)
        assert centred(name).water.contains(Point(right))


def test_islands_come_after_the_shore_largest_first() -> None:
    water = Polygon(
        box(0, 0, 2000, 2000).exterior,
        [box(300, 300, 400, 400).exterior, box(900, 900, 1500, 1500).exterior],
    )
    banks = lay_banks(zoo_venue(water), RULES)
    kinds = [bank.island for bank in banks]
    assert kinds == sorted(kinds)
    islands = [bank for bank in banks if bank.island]
    assert islands[-1].length_m == pytest.approx(400, rel=1e-4)
    assert len(islands) == 7


def test_of_two_parts_the_larger_comes_first() -> None:
    first, *_, last = lay_banks(centred("two parts"), RULES)
    # 500 to 900 and 0 to 300 east; the frame's centre lies between.
    assert first.shore.centroid.x > 0 > last.shore.centroid.x


# The water before them


@pytest.mark.parametrize("name", sorted(ZOO))
def test_banks_part_the_near_water(name: str) -> None:
    assert_partition(centred(name), lay_banks(centred(name), RULES), RULES.water_m)


@pytest.mark.parametrize("name", REAL)
def test_banks_part_the_near_water_of_real_lakes(name: str) -> None:
    # Origins in the data's INDEX.md.
    rules = BankRules()
    assert_partition(real(name), lay_banks(real(name), rules), rules.water_m)


def assert_nearest(venue: Venue, banks: tuple[Bank, ...], count: int) -> None:
    """Check places picked at random against plain distances to the shores."""
    shores = [bank.shore for bank in banks]
    rng = np.random.default_rng(7)
    west, south, east, north = venue.water.bounds
    places = np.asarray(
        shapely.points(rng.uniform(west, east, count), rng.uniform(south, north, count))
    )
    owner = shapely.STRtree([bank.water for bank in banks]).query(places, "within")
    assert len(owner[0]) > count / 50
    for place, bank in zip(*owner, strict=True):
        away = shapely.distance(shores, places[place])
        # Shore is sampled each 10 m or less; a place is nearer to a sample of its own
        # than to any other, so its shore is no more than half a step further off.
        assert away[bank] <= away.min() + 5.0 + 1e-6


@pytest.mark.parametrize("name", sorted(ZOO))
def test_water_belongs_to_the_nearest_shore(name: str) -> None:
    assert_nearest(centred(name), lay_banks(centred(name), RULES), 400)


@pytest.mark.parametrize("name", REAL[:3])
def test_water_belongs_to_the_nearest_shore_of_real_lakes(name: str) -> None:
    assert_nearest(real(name), lay_banks(real(name), BankRules()), 800)


def test_zones_take_their_water_from_the_banks() -> None:
    zone = box(-1000, -400, -600, 0)
    venue = zoo_venue(RECTANGLE, ("out-of-bounds", "Dam", zone))
    banks = lay_banks(venue, RULES)
    assert_partition(venue, banks, RULES.water_m)
    whole = sum(bank.length_m for bank in lay_banks(zoo_venue(RECTANGLE), RULES))
    # 800 m of shore lie in the zone.
    assert sum(bank.length_m for bank in banks) == pytest.approx(whole - 800, abs=30)


def test_a_stretch_all_out_of_bounds_is_no_bank() -> None:
    zone = box(-1100, 300, 1100, 500)
    banks = lay_banks(zoo_venue(RECTANGLE, ("out-of-bounds", "", zone)), RULES)
    # The five along the north shore are gone; the others count from 1 all the same.
    assert [bank.number for bank in banks] == list(range(1, 10))
    assert all(bank.water.area > 1000 for bank in banks)


def test_no_near_water_no_banks() -> None:
    ring = RECTANGLE.buffer(10) - RECTANGLE.buffer(-95)
    banks = lay_banks(zoo_venue(RECTANGLE, ("out-of-bounds", "", ring)), RULES)
    assert banks == ()
    assert nearest_bank(banks, 0, 0) is None


def test_a_pond_narrower_than_the_band_is_one_bank() -> None:
    (bank,) = lay_banks(zoo_venue(POND), BankRules())
    assert bank.water.area == pytest.approx(POND.area, rel=1e-4)
    assert bank.length_m == pytest.approx(POND.length, rel=1e-4)


def test_a_puddle_with_one_piece_is_all_its_water() -> None:
    (bank,) = lay_banks(zoo_venue(box(0, 0, 6, 6)), BankRules())
    assert bank.water.area == pytest.approx(36, rel=1e-3)


def test_islands_closer_than_the_band_share_the_water_half_way() -> None:
    banks = lay_banks(zoo_venue(TWO_ISLANDS), RULES)
    islands = [bank for bank in banks if bank.island]
    assert len(islands) == 2
    west, east = sorted(islands, key=lambda bank: bank.shore.centroid.x)
    between = box(
        west.shore.bounds[2],
        west.shore.bounds[1],
        east.shore.bounds[0],
        east.shore.bounds[3],
    )
    # 20 x 100 of water between them, half to each.
    for bank in (west, east):
        assert bank.water.intersection(between).area == pytest.approx(1000, rel=0.02)


@given(
    st.floats(0, 360),
    st.integers(150, 900),
    st.integers(3, 9),
    st.sampled_from([30.0, 90.0, 400.0]),
)
@example(0.0, 150, 3, 400.0)
@settings(max_examples=25, deadline=None)
def test_any_polygon_is_parted(
    turn_deg: float, radius: int, sides: int, water_m: float
) -> None:
    angle = np.radians(turn_deg) + np.linspace(0, 2 * np.pi, sides, endpoint=False)
    water = Polygon(radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    venue = zoo_venue(water)
    rules = BankRules(stretch_m=300, water_m=water_m, piece_m=25)
    banks = lay_banks(venue, rules)
    assert sum(bank.length_m for bank in banks) == pytest.approx(water.length, rel=0.02)
    assert_partition(venue, banks, water_m)


def test_the_nearest_bank() -> None:
    banks = lay_banks(zoo_venue(RECTANGLE), RULES)
    for bank in banks:
        middle = bank.shore.interpolate(0.5, normalized=True)
        found = nearest_bank(banks, middle.x, middle.y, 1.0)
        assert found is bank
    assert nearest_bank(banks, 0, 0, 399.0) is None
    assert nearest_bank(banks, 0, 0) is not None
    ends = [LineString(bank.shore).boundary for bank in banks]
    assert all(
        one.distance(two) < 1e-6
        for one, two in zip(ends, [*ends[1:], ends[0]], strict=True)
    )
    assert not any(one.shore.crosses(two.shore) for one, two in combinations(banks, 2))
