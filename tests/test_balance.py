"""Dividing by what water weighs."""

import numpy as np
import pytest
import shapely
from shapely import Point, box

from outside import lake_parts
from practices_made import LAKE
from shapes import ANNULUS, RECTANGLE, WINDING
from sweptwater.arrays import Area
from sweptwater.errors import SectorError
from sweptwater.practice.geojson import Feature
from sweptwater.practice.settings import BankRules
from sweptwater.water.balance import NEAR, Weigh, divide_by_weight
from sweptwater.water.banks import lay_banks
from sweptwater.water.grains import area_grains, piece_grains
from sweptwater.water.venue import Venue, build_venue
from sweptwater_demo import ashlode


def shore_of(venue: Venue) -> Weigh:
    """Return what weighs water by the shore before which it lies."""
    banks = lay_banks(venue, BankRules())
    pieces = [piece for bank in banks for piece in bank.piece_water]
    return piece_grains(pieces, np.concatenate([b.piece_m for b in banks])).within


def assert_balanced(
    water: Area, shares: list[float], weigh: Weigh, near: float
) -> None:
    found = divide_by_weight(water, shares, weigh)
    sectors = found.division.sectors
    got = np.array([weigh(sector) for sector in sectors])
    wanted = np.array(shares) / sum(shares)
    assert np.abs(got / got.sum() / wanted - 1).max() <= near
    assert sum(s.area for s in sectors) == pytest.approx(water.area, rel=1e-6)
    assert shapely.union_all(list(sectors)).area == pytest.approx(water.area, rel=1e-6)
    assert all(sector.is_valid for sector in sectors)
    assert len(found.division.cuts) >= len(shares) - 1


def test_a_pool_whose_east_weighs_three_times_as_much() -> None:
    # 400 by 100: 200 x 1 + 200 x 3 = 800 a metre of depth; half of it is 400, reached
    # 200 + 200 / 3 from the west.
    east = box(200, 0, 400, 100)
    found = divide_by_weight(
        box(0, 0, 400, 100), [1, 1], lambda part: part.area + 2 * (part & east).area
    )
    assert found.division.sectors[0].bounds[2] == pytest.approx(266.7, abs=2)
    assert found.weights == pytest.approx([40_000, 40_000], rel=0.02)


@pytest.mark.parametrize("shares", [[1, 1], [1, 1, 1], [3, 1, 2]])
@pytest.mark.parametrize("water", [RECTANGLE, WINDING, ANNULUS, LAKE])
def test_heavier_to_one_side(water: Area, shares: list[float]) -> None:
    west, _, east, _ = water.bounds
    grains = area_grains(water)
    grains._weights *= 1 + 3 * (grains._places[:, 0] - west) / (east - west)
    assert_balanced(water, shares, grains.within, NEAR)


def test_weight_in_one_spot_cannot_be_shared_out() -> None:
    spot = Point(700, 100).buffer(5)
    found = divide_by_weight(RECTANGLE, [1, 1], lambda part: (part & spot).area)
    assert sum(s.area for s in found.division.sectors) == pytest.approx(RECTANGLE.area)


def test_what_weighs_nothing_is_refused() -> None:
    with pytest.raises(SectorError, match="nothing to share out that way"):
        divide_by_weight(RECTANGLE, [1, 1], lambda part: 0.0)


def test_one_share_is_all_the_water() -> None:
    found = divide_by_weight(RECTANGLE, [1], lambda part: part.area)
    assert found.division.sectors[0].area == pytest.approx(RECTANGLE.area)
    assert found.division.cuts == ()


@pytest.mark.slow
@pytest.mark.parametrize("shares", [[1, 1, 1], [2, 1, 1]])
@pytest.mark.parametrize(
    "name", ["caputh_wgs84", "nhd_lake_mendota", "nhd_pokegama_lake", "cz_brno"]
)
def test_real_lakes_are_shared_out_by_shore(name: str, shares: list[float]) -> None:
    # Origins in the data's INDEX.md.
    venue = build_venue([Feature("water", "", part) for part in lake_parts(name)])
    assert_balanced(venue.fishable, shares, shore_of(venue), NEAR)


@pytest.mark.slow
def test_the_demo_is_shared_out_by_shore() -> None:
    degrees = ashlode.FRAME.degrees
    zones = ashlode.out_of_bounds().values()
    venue = build_venue(
        [
            Feature("water", "", degrees(ashlode.water())),
            *(Feature("out-of-bounds", "", degrees(zone)) for zone in zones),
        ]
    )
    assert_balanced(venue.fishable, [1, 1, 1], shore_of(venue), NEAR)


def test_grains_weigh_as_areas_do() -> None:
    grains = area_grains(WINDING)
    for part in (box(0, -900, 2500, 900), box(1000, -900, 1300, 900)):
        assert grains.within(part) == pytest.approx((WINDING & part).area, rel=0.01)
    assert grains.within(WINDING) == pytest.approx(WINDING.area)
    assert area_grains(shapely.Polygon()).within(WINDING) == 0
    thin = box(0, 0, 3000, 0.01)
    assert area_grains(thin).within(thin.buffer(1)) == pytest.approx(thin.area)
