"""The boat band, and the part of it before each bank."""

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from outside import lake_parts
from shapes import ZOO, zoo_venue
from sweptwater.arrays import Area
from sweptwater.practice.geojson import Feature
from sweptwater.practice.settings import BankRules
from sweptwater.units import YARD_M
from sweptwater.water.banks import boat_band, lay_banks, near_water
from sweptwater.water.venue import Venue, build_venue

RULES = BankRules()
NEAR_M, FAR_M = 20 * YARD_M, 80 * YARD_M
MILE_M = 1760 * YARD_M
REAL = (
    *("nhd_spring_lake_19islands", "nhd_little_tamarack_flowage"),
    *("nhd_pokegama_lake", "nhd_crab_lake", "cz_slapy"),
)


def real(name: str) -> Venue:
    """Return the venue of a real lake; origins in the data's INDEX.md."""
    return build_venue([Feature("water", "", part) for part in lake_parts(name)])


# Known by hand


def test_a_straight_mile() -> None:
    # One stretch of 440 yards, 60 wide, far from any corner: 26,400 square yards.
    banks = lay_banks(zoo_venue(box(0, 0, 3 * MILE_M, MILE_M)), RULES)
    west, south, east, north = shapely.union_all([b.shore for b in banks]).bounds
    corners = shapely.MultiPoint(
        [(west, south), (east, south), (east, north), (west, north)]
    )
    inner = [bank for bank in banks if bank.shore.distance(corners) > FAR_M]
    assert len(inner) > 20
    areas = [bank.band.area for bank in inner]
    assert areas == pytest.approx([440 * 60 * YARD_M**2] * len(inner), rel=1e-3)


def test_a_square_with_an_island() -> None:
    water = Polygon(
        box(0, 0, 1000, 1000).exterior, [box(400, 400, 600, 600).exterior.coords]
    )
    venue = zoo_venue(water)
    frame = (1000 - 2 * NEAR_M) ** 2 - (1000 - 2 * FAR_M) ** 2
    # Four sides and four quarter rings about the island.
    ring = 4 * 200 * (FAR_M - NEAR_M) + np.pi * (FAR_M**2 - NEAR_M**2)
    assert boat_band(venue, RULES).area == pytest.approx(frame + ring, rel=1e-4)
    banks = lay_banks(venue, RULES)
    island = sum(bank.band.area for bank in banks if bank.island)
    assert island == pytest.approx(ring, rel=5e-4)  # arcs are drawn with corners


@pytest.mark.parametrize("wide_yd", [30, 39])
def test_a_creek_narrower_than_the_near_distance_twice_is_all_band(
    wide_yd: int,
) -> None:
    # 600 m of creek; its mouth opens on the lake, where the band begins anyhow.
    half_m = wide_yd * YARD_M / 2
    creek = box(1000, 500 - half_m, 1600, 500 + half_m)
    venue = zoo_venue(_whole(box(0, 0, 1000, 1000), creek))
    placed = boat_band(venue, RULES)
    east = venue.water.bounds[2]
    inner = placed.intersection(box(east - 580, -9e3, east, 9e3))
    assert inner.area == pytest.approx(580 * 2 * half_m, rel=1e-3)
    lake = placed.intersection(box(-9e3, -9e3, east - 600 - FAR_M - 1, 9e3))
    assert lake.area < (1000 - 2 * NEAR_M) ** 2 - (1000 - 2 * FAR_M) ** 2


def test_a_creek_a_little_wider_has_its_middle() -> None:
    half_m = 25 * YARD_M
    creek = box(1000, 500 - half_m, 1600, 500 + half_m)
    venue = zoo_venue(_whole(box(0, 0, 1000, 1000), creek))
    east = venue.water.bounds[2]
    inner = boat_band(venue, RULES).intersection(box(east - 500, -9e3, east - 100, 9e3))
    assert inner.area == pytest.approx(400 * 10 * YARD_M, rel=1e-3)


def test_corners_of_the_shore_are_no_creeks() -> None:
    venue = zoo_venue(box(0, 0, 800, 500))
    assert shapely.get_num_geometries(boat_band(venue, RULES)) == 1
    assert venue.water.boundary.distance(boat_band(venue, RULES)) == pytest.approx(
        NEAR_M, abs=1e-3
    )


def test_between_islands_closer_than_the_band() -> None:
    # 40 m between them: the middle is 20 m off both, and within the band.
    water = Polygon(
        box(0, 0, 1000, 600).exterior,
        [
            box(300, 250, 400, 350).exterior.coords,
            box(440, 250, 540, 350).exterior.coords,
        ],
    )
    venue = zoo_venue(water)
    x, y = (venue.water.bounds[0], venue.water.bounds[1])
    gap = box(x + 400, y + 250, x + 440, y + 350)
    inner = boat_band(venue, RULES).intersection(gap)
    assert inner.area == pytest.approx((40 - 2 * NEAR_M) * 100, rel=1e-2)


def test_no_band_over_what_is_shut() -> None:
    zone = box(-1000, -400, -600, 0)
    venue = zoo_venue(box(-1000, -400, 1000, 400), ("out-of-bounds", "", zone))
    band = boat_band(venue, RULES)
    assert band.intersection(venue.out_of_bounds).area < 1e-6
    assert sum(b.band.area for b in lay_banks(venue, RULES)) == pytest.approx(band.area)


@pytest.mark.parametrize("far_yd", [60, 160])
def test_the_band_may_end_before_the_bank_s_water_or_beyond(far_yd: int) -> None:
    rules = BankRules(boat_far_m=far_yd * YARD_M)
    venue = zoo_venue(box(0, 0, 1500, 1200))
    banks = lay_banks(venue, rules)
    frame = (1500 - 2 * NEAR_M) * (1200 - 2 * NEAR_M)
    frame -= (1500 - 2 * far_yd * YARD_M) * (1200 - 2 * far_yd * YARD_M)
    assert sum(b.band.area for b in banks) == pytest.approx(frame, rel=1e-4)


# What holds of all


def assert_parts(parts: list[Area], whole: Area) -> None:
    """Check that parts are valid, do not overlap, and add up to a whole."""
    parts = [part for part in parts if not part.is_empty]
    assert all(part.is_valid for part in parts)
    one, other = shapely.STRtree(parts).query(parts)
    chosen = one < other
    array = np.array(parts, dtype=object)
    shared = shapely.area(
        shapely.intersection(array[one[chosen]], array[other[chosen]])
    )
    assert shared.sum() <= 1e-6 * whole.area
    assert shapely.area(array).sum() == pytest.approx(whole.area, rel=1e-6)
    assert shapely.union_all(parts).difference(whole).area <= 1e-6 * whole.area


def assert_stretches(venue: Venue, rules: BankRules) -> None:
    banks = lay_banks(venue, rules)
    shore_m = venue.water.boundary.length
    assert sum(bank.shore.length for bank in banks) == pytest.approx(shore_m, rel=1e-9)
    assert all(
        bank.shore.difference(venue.water.boundary.buffer(1e-3)).length == 0
        for bank in banks
    )
    assert_parts([bank.water for bank in banks], near_water(venue, rules.water_m))
    assert_parts([bank.band for bank in banks], boat_band(venue, rules))
    land = boat_band(venue, rules).difference(venue.water)
    assert land.area < 1e-6 * venue.water.area
    # Where it is further off than the near distance, it is nearer than the far one.
    far = venue.water.buffer(-rules.boat_far_m - 0.1, quad_segs=64)
    assert boat_band(venue, rules).intersection(far).area < 1e-6 * venue.water.area


@pytest.mark.parametrize("name", sorted(set(ZOO) - {"pond"}))
def test_stretches_waters_and_bands_add_up(name: str) -> None:
    assert_stretches(zoo_venue(ZOO[name]), RULES)


@pytest.mark.slow
@pytest.mark.parametrize("name", REAL)
def test_stretches_waters_and_bands_add_up_on_real_lakes(name: str) -> None:
    assert_stretches(real(name), RULES)


@pytest.mark.parametrize("name", REAL[:2])
def test_a_band_lies_before_its_own_bank(name: str) -> None:
    venue = real(name)
    banks = lay_banks(venue, RULES)
    shores = np.array([bank.shore for bank in banks], dtype=object)
    for index, bank in enumerate(banks[::5]):
        for part in shapely.get_parts(bank.band)[:3]:
            away_m = shapely.distance(shores, part.representative_point())
            # Shore is sampled each 10 m or less.
            assert away_m[5 * index] <= away_m.min() + 5.0 + 1e-6


def _whole(*parts: Area) -> Polygon:
    whole = shapely.union_all(parts)
    assert isinstance(whole, Polygon)
    return whole


def test_a_pond_is_one_band() -> None:
    venue = zoo_venue(Point(0, 0).buffer(15))
    (bank,) = lay_banks(venue, RULES)
    assert bank.band.area == pytest.approx(venue.water.area, rel=1e-6)
