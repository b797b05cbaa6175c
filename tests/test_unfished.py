"""Unfished water: what is left, in places one could send a boat to."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from sweptwater.swept.unfished import sector_of, unfished_pieces, unfished_water
from sweptwater.water.shapes import polygonal

LAKE = box(0, 0, 1000, 400)


def test_without_a_drift_all_of_the_water_is_one_piece() -> None:
    """The largest circle in a rectangle is as wide as its shorter side."""
    (piece,) = unfished_pieces(LAKE, at_least_m2=1, narrowest_m=10)
    assert piece.area_m2 == pytest.approx(LAKE.area)
    assert piece.diameter_m == pytest.approx(400, rel=0.01)
    assert piece.number == 1


def test_pieces_are_numbered_from_the_largest() -> None:
    left = unfished_water(LAKE, box(300, -1, 340, 401))
    pieces = unfished_pieces(left, at_least_m2=1, narrowest_m=10)
    assert [p.number for p in pieces] == [1, 2]
    areas = [p.area_m2 for p in pieces]
    assert areas == pytest.approx([660 * 400, 300 * 400], rel=1e-3)


def test_a_sliver_between_two_drifts_is_no_place() -> None:
    left = unfished_water(
        LAKE, MultiPolygon([box(0, 0, 500, 400), box(505, 0, 1000, 400)])
    )
    assert left.area == pytest.approx(5 * 400)
    assert not unfished_pieces(left, at_least_m2=1, narrowest_m=10)


@pytest.mark.parametrize(("narrowest_m", "count"), [(4, 1), (6, 0)])
def test_how_narrow_a_place_may_be_is_told(narrowest_m: float, count: int) -> None:
    """A gap of 5 m between two drifts is a place from 5 m on."""
    left = box(500, 0, 505, 400)
    pieces = unfished_pieces(left, at_least_m2=1, narrowest_m=narrowest_m)
    assert len(pieces) == count


def test_a_sliver_does_not_join_two_places() -> None:
    strip = MultiPolygon([box(400, 0, 600, 197), box(400, 203, 600, 400)])
    pieces = unfished_pieces(unfished_water(LAKE, strip), at_least_m2=1, narrowest_m=10)
    assert len(pieces) == 2


def test_small_pieces_are_left_out() -> None:
    left = unfished_water(LAKE, box(50, -1, 950, 401))
    assert len(unfished_pieces(left, at_least_m2=19_000, narrowest_m=10)) == 2
    assert not unfished_pieces(left, at_least_m2=21_000, narrowest_m=10)


def test_sector_edges_part_pieces() -> None:
    halves = (box(0, 0, 500, 400), box(500, 0, 1000, 400))
    pieces = unfished_pieces(LAKE, halves, at_least_m2=1, narrowest_m=10)
    assert [round(p.area_m2) for p in pieces] == pytest.approx([200_000] * 2, rel=1e-3)


@given(
    st.lists(
        st.tuples(st.integers(0, 900), st.integers(0, 350), st.integers(20, 300)),
        max_size=6,
    )
)
@settings(max_examples=40, deadline=None)
def test_the_middle_lies_in_its_piece_as_far_from_its_edge_as_told(
    drifts: list[tuple[int, int, int]],
) -> None:
    swept = polygonal(
        shapely.union_all([box(x, y, x + s, y + 40) for x, y, s in drifts])
    )
    left = unfished_water(LAKE, swept)
    assert left.area + swept.intersection(LAKE).area == pytest.approx(LAKE.area)
    for piece in unfished_pieces(left, at_least_m2=100, narrowest_m=10):
        assert piece.shape.contains(piece.middle)
        radius_m = piece.middle.distance(piece.shape.boundary)
        assert 2 * radius_m == pytest.approx(piece.diameter_m, abs=2.5)
        assert not piece.middle.distance(swept) < piece.diameter_m / 2 - 2.5


def test_all_swept_leaves_nothing() -> None:
    assert unfished_water(LAKE, LAKE.buffer(5)).is_empty
    assert unfished_pieces(Polygon(), at_least_m2=0, narrowest_m=10) == ()


def test_a_place_belongs_to_its_sector_or_the_nearest() -> None:
    sectors = {"A": box(0, 0, 10, 10), "B": box(10, 0, 20, 10)}
    assert sector_of(Point(15, 5), sectors) == "B"
    assert sector_of(Point(-3, 5), sectors) == "A"
    assert sector_of(Point(0, 0), {}) is None


def test_water_in_no_sector_is_listed_too() -> None:
    pieces = unfished_pieces(
        LAKE, (box(0, 0, 500, 400),), at_least_m2=1, narrowest_m=10
    )
    assert [round(p.area_m2) for p in pieces] == pytest.approx([200_000] * 2, rel=1e-3)


def test_what_growing_reaches_beyond_a_swept_strip_is_no_place() -> None:
    """A bay of 60 m, a swept strip of 2 m, and beyond it 5 m that are no place."""
    left = MultiPolygon([box(0, 0, 60, 60), box(62, 0, 67, 60)])
    (piece,) = unfished_pieces(left, at_least_m2=0, narrowest_m=30)
    assert piece.area_m2 == pytest.approx(3600, rel=1e-3)
