"""The water as squares: areas by hand, patches, layers by the bed; any shape at all."""

from math import sqrt

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from search_made import HALVES, LAYERS, POOL, bank, pool, slope
from shapes import ZOO
from sweptwater.search.squares import LEAST_SQUARES, SIDE_M, Squares

WEST_BANK = bank(7, box(0, 0, 100, 1000))


def area_of(squares: Squares, **told: object) -> float:
    """Return the area of the patches with such a sector or bank."""
    return sum(
        patch.area_m2
        for patch in squares.patches
        if all(getattr(patch, key) == value for key, value in told.items())
    )


@pytest.mark.parametrize("name", ZOO)
def test_squares_make_up_the_water(name: str) -> None:
    water = ZOO[name]
    squares = pool(water, layers=("all",))
    assert squares.area_m2 * len(squares) == pytest.approx(water.area, rel=1e-12)
    assert area_of(squares) == pytest.approx(water.area, rel=1e-12)
    assert squares.side_m == pytest.approx(min(SIDE_M, sqrt(water.area / 400)))
    assert shapely.covers(water, squares.points).all()
    # The water's edge makes as many squares as it takes away, about.
    assert squares.area_m2 == pytest.approx(squares.side_m**2, rel=0.15)
    assert len(squares) > 0.85 * LEAST_SQUARES


sides = st.floats(30, 3000)


@given(sides, sides, st.floats(-1e6, 1e6), st.floats(0.1, 0.8))
def test_any_rectangle_with_an_island(
    wide_m: float, high_m: float, west_m: float, part: float
) -> None:
    water = box(west_m, 0, west_m + wide_m, high_m)
    middle = water.centroid
    island = box(
        middle.x - part * wide_m / 2,
        middle.y - part * high_m / 2,
        middle.x + part * wide_m / 2,
        middle.y + part * high_m / 2,
    )
    lake = Polygon(water.exterior, [island.exterior])
    squares = pool(lake, layers=("all",))
    assert squares.area_m2 * len(squares) == pytest.approx(lake.area, rel=1e-9)
    assert area_of(squares) == pytest.approx(lake.area, rel=1e-9)
    assert not shapely.intersects(island.buffer(-1e-6), squares.points).any()
    assert set(squares.patch.tolist()) == set(range(len(squares.patches)))
    for number, patch in enumerate(squares.patches):
        mine = squares.patch == number
        assert patch.area_m2 == pytest.approx(mine.sum() * squares.area_m2)
        at = np.hypot(
            squares.easting[mine] - patch.easting,
            squares.northing[mine] - patch.northing,
        )
        assert at.min() == 0


def test_a_patch_is_a_banks_or_a_piece_of_the_open() -> None:
    # 1,000 x 1,000 m in two halves; the west 100 m are a bank's, all in A.
    squares = pool(POOL, HALVES, (WEST_BANK,))
    assert len(squares) == 1600
    assert squares.area_m2 == 625
    assert area_of(squares, sector="A") == area_of(squares, sector="B") == 500_000
    assert area_of(squares, bank=7) == area_of(squares, sector="A", bank=7) == 100_000
    assert area_of(squares, bank=None) == 900_000
    assert squares.by_bank.sum() == 160
    assert (squares.easting[squares.by_bank] < 100).all()
    # Open water in pieces of about 400 m: A's 400 x 1,000 m in two, B's 500 in two.
    open_a = [p for p in squares.patches if (p.sector, p.bank) == ("A", None)]
    assert sorted(p.area_m2 for p in open_a) == [200_000, 200_000]


def test_a_bank_in_two_sectors_is_two_patches() -> None:
    squares = pool(POOL, HALVES, (bank(2, box(400, 0, 600, 100)),))
    both = [(p.sector, p.area_m2) for p in squares.patches if p.bank == 2]
    assert both == [("A", 10_000), ("B", 10_000)]


def test_water_outside_all_sectors_is_nobodys() -> None:
    squares = pool(POOL, {"A": HALVES["A"]})
    assert area_of(squares, sector=None) == 500_000


def test_the_first_of_two_sectors_has_what_both_claim() -> None:
    squares = pool(POOL, {"A": box(0, 0, 600, 1000), "B": box(400, 0, 1000, 1000)})
    assert area_of(squares, sector="A") == 600_000
    assert area_of(squares, sector="B") == 400_000


def test_layers_are_there_down_to_the_bed() -> None:
    # The bed falls by 1 in 100: 1 m deep at 100 m, 3 m at 300 m.
    squares = pool(POOL, depths=slope())
    assert squares.layers == LAYERS
    assert squares.depth_m == pytest.approx(squares.easting / 100)
    assert squares.there[:, 0].all()
    assert (squares.there[:, 1] == (squares.easting > 100)).all()
    assert (squares.there[:, 2] == (squares.easting > 300)).all()


def test_where_nobody_knows_the_depth_any_layer_may_be() -> None:
    assert pool().there.all()
    squares = pool(POOL, depths=slope(known_to_m=200))
    unknown = squares.easting > 200
    assert np.isnan(squares.depth_m[unknown]).all()
    assert squares.there[unknown].all()
    assert not squares.there[~unknown, 2].any()


def test_dry_ground_has_the_top_layer_alone() -> None:
    squares = pool(POOL, depths=slope(fall=0.0))
    assert squares.there.sum(axis=0).tolist() == [1600, 0, 0]


def test_between_which_depths_a_patch_lies() -> None:
    # Within 100 m the bed falls from 0 to 1 m: squares at 0.125, 0.375, 0.625, 0.875.
    squares = pool(POOL, banks=(WEST_BANK,), depths=slope())
    (number,) = (n for n, p in enumerate(squares.patches) if p.bank == 7)
    assert squares.bed_m(number) == pytest.approx((0.125, 0.875))
    assert pool().bed_m(0) is None
    half = pool(POOL, banks=(WEST_BANK,), depths=slope(known_to_m=30))
    (number,) = (n for n, p in enumerate(half.patches) if p.bank == 7)
    assert half.bed_m(number) is None  # one column of four is known


@pytest.mark.parametrize("patch", [0, 1, 2])
def test_some_squares_as_one_area(patch: int) -> None:
    squares = pool(POOL, HALVES, (WEST_BANK,))
    mine = squares.patch == patch
    whole = squares.water_of(mine)
    assert whole.is_valid
    assert whole.area == pytest.approx(mine.sum() * 625)
    half = squares.side_m / 2
    east, north = squares.easting[mine], squares.northing[mine]
    edges = (east - half, north - half, east + half, north + half)
    union = shapely.union_all(shapely.box(*edges))
    assert whole.symmetric_difference(union).area == pytest.approx(0, abs=1e-6)


def test_no_squares_are_no_area() -> None:
    squares = pool()
    assert squares.water_of(np.zeros(len(squares), dtype=bool)).is_empty
