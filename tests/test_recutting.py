"""Changing a division by hand: one end of a cut moved, some cuts held.

Areas are against closed forms; that sectors are the water is against shapely's own
overlay of them.
"""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box

from sweptwater.arrays import Area
from sweptwater.errors import SectorError
from sweptwater.water.holding import redo_around
from sweptwater.water.recutting import ASHORE_M, move_end
from sweptwater.water.sectors import (
    Division,
    adopt_sectors,
    divide_by_area,
    divide_by_lines,
    find_cuts,
)
from sweptwater.water.shapes import polygonal

LONG = box(0, 0, 300, 100)
RING = polygonal(Point(0, 0).buffer(500) - Point(0, 0).buffer(300))
BAYS = polygonal(
    box(0, 0, 600, 100) | box(0, 90, 50, 400) | box(300, 90, 350, 400),
)


def lined(water: Area, *lines: Sequence[tuple[float, float]]) -> Division:
    return divide_by_lines(water, [LineString(line) for line in lines])


def across(*x: float) -> Division:
    return lined(LONG, *([(at, -1), (at, 101)] for at in x))


def end_at(cut: LineString, xy: tuple[float, float]) -> int:
    """Return which end of a cut is the nearer to a place."""
    first, last = (Point(cut.coords[end]).distance(Point(xy)) for end in (0, -1))
    return int(last < first)


def areas(division: Division) -> list[float]:
    return [sector.area for sector in division.sectors]


def assert_partition(water: Area, division: Division) -> None:
    assert all(sector.is_valid for sector in division.sectors)
    assert sum(areas(division)) == pytest.approx(water.area, rel=1e-9)
    for one, two in combinations(division.sectors, 2):
        assert one.intersection(two).area < 1e-9 * water.area
    whole = shapely.union_all(division.sectors)
    assert whole.symmetric_difference(water).area < 1e-9 * water.area
    assert shapely.coverage_is_valid(list(division.sectors))
    # A sliver left between two sectors would show as one more ring.
    assert len(shapely.get_rings(whole)) == len(shapely.get_rings(water))


def assert_cuts_are_edges(water: Area, division: Division) -> None:
    """Check that the cuts are just what lies between the sectors."""
    edges = shapely.union_all([s.boundary for s in division.sectors])
    inner = edges - water.boundary.buffer(1e-3)
    lines = shapely.union_all(division.cuts)
    assert inner.length == pytest.approx(lines.length, abs=0.2 * len(division.cuts))
    assert (lines - edges.buffer(1e-3)).length < 1e-3


# One end moved


def test_an_end_goes_to_the_nearest_shore_and_areas_follow() -> None:
    division = across(100, 200)
    cut = division.cuts[1]
    moved = move_end(LONG, division, 2, end_at(cut, (200, 100)), (240, 150))
    # Trapezia: the cut now runs from (200, 0) to (240, 100).
    assert areas(moved) == pytest.approx([10_000, 12_000, 8_000])
    assert moved.cuts[0] == division.cuts[0]
    ends = sorted(moved.cuts[1].coords)
    assert ends[0] == pytest.approx((200, 0))
    assert ends[1] == pytest.approx((240, 100))
    assert_partition(LONG, moved)


def test_sectors_keep_their_places_however_far_a_cut_goes() -> None:
    division = across(100, 200)
    for y in (0.0, 100.0):
        end = end_at(division.cuts[0], (100, y))
        division = move_end(LONG, division, 1, end, (190, y))
    assert areas(division) == pytest.approx([19_000, 1_000, 10_000])
    for y in (0.0, 100.0):
        end = end_at(division.cuts[0], (190, y))
        division = move_end(LONG, division, 1, end, (10, y))
    assert areas(division) == pytest.approx([1_000, 19_000, 10_000])


def test_a_bend_of_a_drawn_cut_stays() -> None:
    division = lined(LONG, [(100, -1), (120, 50), (100, 101)])
    end = end_at(division.cuts[0], (100, 100))
    moved = move_end(LONG, division, 1, end, (150, 100))
    assert (120.0, 50.0) in moved.cuts[0].coords
    assert moved.sectors[0].area == pytest.approx(110 * 50 + 135 * 50, rel=1e-3)


def test_a_cut_at_an_island_moves_along_the_island() -> None:
    division = divide_by_area(RING, [1, 1])
    cut = division.cuts[0]
    end = end_at(cut, (0, 0))
    at = np.array(cut.coords[-end])
    turned = at + 60 * np.array([-at[1], at[0]]) / np.hypot(*at)
    moved = move_end(RING, division, 1, end, (float(turned[0]), float(turned[1])))
    assert Point(moved.cuts[0].coords[-end]).distance(Point(turned)) < 7
    assert moved.cuts[1] == division.cuts[1]
    assert abs(areas(moved)[0] - areas(division)[0]) > 5_000
    assert_partition(RING, moved)


def test_the_end_on_an_island_goes_round_to_be_seen() -> None:
    """From the northern side of an island one does not see the southern bank."""
    water = Polygon(LONG.exterior, [box(130, 40, 150, 60).exterior])
    division = divide_by_lines(water, [LineString([(140, -1), (140, 101)])])
    number = 1 + [cut.distance(Point(140, 80)) < 1 for cut in division.cuts].index(True)
    cut = division.cuts[number - 1]
    moved = move_end(water, division, number, end_at(cut, (140, 100)), (290, 50))
    assert_partition(water, moved)
    (east,) = [cut for cut in moved.cuts if cut.distance(Point(290, 50)) < 11]
    assert east.length == pytest.approx(150)  # from (150, y) to (300, y)


def test_a_cut_that_reaches_the_bank_needs_the_island_no_more() -> None:
    """The island's end of one cut is moved across to the other bank."""
    water = Polygon(LONG.exterior, [box(130, 40, 150, 60).exterior])
    division = Division(
        tuple(
            shapely.get_parts(
                shapely.ops.split(water, LineString([(140, -1), (140, 101)]))
            )
        ),
        (LineString([(140, 0), (140, 40)]), LineString([(140, 60), (140, 100)])),
    )
    moved = move_end(water, division, 1, 1, (100, 100))
    assert len(moved.cuts) == 1
    assert moved.cuts[0].length == pytest.approx(np.hypot(40, 100))
    assert_partition(water, moved)
    # West of a straight line from (140, 0) to (100, 100), less no island.
    assert min(areas(moved)) == pytest.approx(12_000, rel=1e-6)


def test_a_cut_that_ends_on_the_moved_one_follows() -> None:
    division = lined(LONG, [(100, -1), (100, 101)], [(100, 50), (301, 50)])
    assert len(division.sectors) == 3
    whole = Division(
        division.sectors,
        (LineString([(100, 0), (100, 100)]), LineString([(100, 50), (300, 50)])),
    )
    moved = move_end(LONG, whole, 1, 1, (140, 100))
    assert_partition(LONG, moved)
    assert moved.cuts[1].coords[0] == pytest.approx((120, 50))
    assert sorted(areas(moved)) == pytest.approx([8500, 9500, 12000])


def test_unconnected_water_stays_with_its_sector() -> None:
    water = MultiPolygon([LONG, box(0, 110, 40, 150), box(290, 110, 300, 120)])
    division = divide_by_area(water, [1, 1])
    cut = division.cuts[0]
    end = end_at(cut, (150, 0))
    moved = move_end(water, division, 1, end, (100, 0))
    assert_partition(water, moved)
    assert moved.sectors[0].covers(box(0, 110, 40, 150))
    assert moved.sectors[1].covers(box(290, 110, 300, 120))


@pytest.mark.parametrize(
    ("division", "number", "to_xy", "message"),
    [
        (across(100, 200), 3, (0, 0), "no cut 3: the division has cuts 1 and 2"),
        (across(100), 2, (0, 0), "no cut 2: the division has cut 1 only"),
        (across(100), 0, (0, 0), "no cut 0"),
        (adopt_sectors(LONG, [LONG]), 1, (0, 0), "the division has no cut"),
        (across(100, 200), 1, (250, 120), "cut 1 would cross cut 2: move that end"),
        (across(100), 1, (200, 0), "cut 1 would run over land"),
        (across(100), 1, (100, 0), "cut 1 would run over land"),
        (across(100), 1, (np.nan, 0), "no position"),
    ],
)
def test_a_move_that_cannot_be(
    division: Division, number: int, to_xy: tuple[float, float], message: str
) -> None:
    cut = division.cuts[0] if division.cuts else None
    end = end_at(cut, (100, 100)) if cut else 0
    with pytest.raises(SectorError, match=message):
        move_end(LONG, division, number, end, to_xy)


def test_a_third_end() -> None:
    with pytest.raises(SectorError, match="no end 2"):
        move_end(LONG, across(100), 1, 2, (0, 0))


def test_a_cut_may_not_run_over_land() -> None:
    division = lined(BAYS, [(-1, 200), (51, 200)])
    end = end_at(division.cuts[0], (50, 200))
    with pytest.raises(SectorError, match="cut 1 would run over land"):
        move_end(BAYS, division, 1, end, (360, 200))


def test_a_cut_moved_away_from_the_island_parts_alone() -> None:
    division = divide_by_area(RING, [1, 1])
    cut = division.cuts[0]
    inner = end_at(cut, (0, 0))
    # Away from the island and back to the outer shore: only one side of it is cut.
    at = np.array(cut.coords[-(1 - inner)])
    near = at + 150 * np.array([-at[1], at[0]]) / np.hypot(*at)
    beyond = 2 * near
    moved = move_end(RING, division, 1, inner, (float(beyond[0]), float(beyond[1])))
    assert len(moved.cuts) == 1
    assert_partition(RING, moved)


# Some cuts held


def test_the_rest_is_divided_anew_around_a_held_cut() -> None:
    division = across(60, 170)
    held = division.cuts[0]
    redone = redo_around(LONG, division, [1], [1, 1, 1])
    assert areas(redone) == pytest.approx([6_000, 12_000, 12_000], rel=1e-5)
    assert redone.cuts[0] == held
    assert_partition(LONG, redone)


def test_shares_are_kept_in_proportion_within_a_piece() -> None:
    redone = redo_around(LONG, across(60, 170), [1], [5, 3, 1])
    assert areas(redone) == pytest.approx([6_000, 18_000, 6_000], rel=1e-5)


def test_all_cuts_held_changes_nothing() -> None:
    division = across(60, 170)
    redone = redo_around(LONG, division, [2, 1, 2], [1, 1, 1])
    assert redone.cuts == division.cuts
    assert areas(redone) == pytest.approx(areas(division))


def test_none_held_is_a_division_by_area() -> None:
    redone = redo_around(LONG, across(60, 170), [], [1, 1, 1])
    assert areas(redone) == pytest.approx([10_000] * 3, rel=1e-5)


def test_equal_shares_stay_where_they_were() -> None:
    west, middle, east = across(60, 170).sectors
    division = Division((east, west, middle), across(60, 170).cuts)
    redone = redo_around(LONG, division, [], [1, 1, 1])
    x = [sector.centroid.x for sector in redone.sectors]
    assert x == pytest.approx([250, 50, 150], abs=1)


def test_new_cuts_do_not_end_on_a_held_one() -> None:
    # East of it 180 by 190 are left: 190 from bank to bank, or 180 from the held cut.
    water = box(0, 0, 280, 190)
    division = lined(water, [(100, -1), (100, 191)], [(270, -1), (270, 191)])
    redone = redo_around(water, division, [1], [1, 1, 1])
    (new,) = (cut for cut in redone.cuts if cut != division.cuts[0])
    assert new.distance(division.cuts[0]) > 50


def test_a_cut_at_an_island_is_held_as_a_wall() -> None:
    division = divide_by_area(RING, [1, 1, 1])
    cut = division.cuts[0]
    end = end_at(cut, (0, 0))
    at = np.array(cut.coords[-end])
    turned = at + 80 * np.array([-at[1], at[0]]) / np.hypot(*at)
    moved = move_end(RING, division, 1, end, (float(turned[0]), float(turned[1])))
    redone = redo_around(RING, moved, [1], [1, 1, 1])
    assert moved.cuts[0] in redone.cuts
    assert areas(redone) == pytest.approx([RING.area / 3] * 3, rel=1e-4)
    assert_partition(RING, redone)
    assert_cuts_are_edges(RING, redone)


@pytest.mark.parametrize(
    ("held", "shares", "message"),
    [
        ([3], [1, 1, 1], "there is no cut 3: the division has cuts 1 and 2"),
        ([1, 0], [1, 1, 1], "there is no cut 0"),
        ([1], [1, 1], "there are 2 shares for 3 sectors: give one for each"),
        ([1], [1, 0, 1], "share 2 is 0"),
    ],
)
def test_what_cannot_be_held(
    held: list[int], shares: list[float], message: str
) -> None:
    with pytest.raises(SectorError, match=message):
        redo_around(LONG, across(60, 170), held, shares)


def test_a_cut_that_ends_on_another_is_not_held_alone() -> None:
    sectors = lined(LONG, [(100, -1), (100, 101)], [(100, 50), (301, 50)]).sectors
    cuts = (LineString([(100, 0), (100, 100)]), LineString([(100, 50), (300, 50)]))
    with pytest.raises(SectorError, match="cut 2 ends on cut 1: hold cut 1 as well"):
        redo_around(LONG, Division(sectors, cuts), [2], [1, 1, 1])


# The cuts of sectors that were kept


@pytest.mark.parametrize("water", [LONG, RING, BAYS])
def test_the_cuts_are_found_again(water: Area) -> None:
    division = divide_by_area(water, [2, 1, 1])
    found = find_cuts(division.sectors)
    assert [cut.length for cut in found] == pytest.approx(
        [cut.length for cut in division.cuts], abs=0.05
    )


# Properties


@st.composite
def waters(draw: st.DrawFn) -> Polygon:
    """Irregular and convex lakes, some with an island."""
    count = draw(st.integers(4, 16))
    least = draw(st.sampled_from([150.0, 600.0, 1000.0]))
    reach = draw(st.lists(st.floats(least, 1000), min_size=count, max_size=count))
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False) + draw(st.floats(0, 1))
    out = np.column_stack([np.cos(turn), np.sin(turn)])
    water = Polygon(np.array(reach)[:, None] * out)
    isle = Point(draw(st.tuples(st.floats(-400, 400), st.floats(-400, 400)))).buffer(
        draw(st.floats(20, 150)), quad_segs=3
    )
    if draw(st.booleans()) and water.buffer(-2).contains(isle):
        left = water - isle
        assert isinstance(left, Polygon)
        return left
    return water


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(
    waters(),
    st.integers(1, 3),
    st.integers(0, 1),
    st.tuples(st.floats(-1200, 1200), st.floats(-1200, 1200)),
)
def test_a_moved_end_keeps_the_water_whole(
    water: Polygon, number: int, end: int, to_xy: tuple[float, float]
) -> None:
    division = divide_by_area(water, [1, 2, 1])
    assume(number <= len(division.cuts))
    try:
        moved = move_end(water, division, number, end, to_xy)
    except SectorError as error:
        told = (f"cut {number} would ", "ends there on another one")
        if not any(text in str(error) for text in told):
            raise
        return
    assert_partition(water, moved)
    assert_cuts_are_edges(water, moved)
    if len(moved.cuts) < len(division.cuts):
        return  # one that went on from an island for the moved cut has gone
    # It comes ashore where it was wanted, or a little off, where land lies before that.
    new, to = Point(moved.cuts[number - 1].coords[-end]), Point(to_xy)
    assert water.boundary.distance(new) < 1e-6
    convex = water.convex_hull.area - water.area < 1e-6
    before_m = 1e-6 if convex else ASHORE_M
    assert new.distance(to) <= water.boundary.distance(to) + before_m
    for index, cut in enumerate(division.cuts):
        same = shapely.boundary(cut).distance(division.cuts[number - 1]) > 1
        if index != number - 1 and same:
            assert moved.cuts[index] == cut
    # And back to where it was, unless that was on another cut, or the far end went
    # round an island to the near side, where it stays.
    ends, now = division.cuts[number - 1].coords, moved.cuts[number - 1].coords
    was = ends[-end]
    stayed = Point(ends[end - 1]).distance(Point(now[end - 1])) < 1e-6
    if Point(was).distance(water.boundary) < 1e-6 and stayed:
        again = move_end(water, moved, number, end, (was[0], was[1]))
        assert areas(again) == pytest.approx(areas(division), rel=1e-5)


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(waters(), st.integers(0, 3), st.permutations([1.0, 1.0, 2.0]))
def test_held_cuts_stay_and_pieces_are_shared(
    water: Polygon, held: int, shares: list[float]
) -> None:
    division = divide_by_area(water, [1, 1, 1])
    assume(held <= len(division.cuts))
    numbers = [held] if held else []
    try:
        redone = redo_around(water, division, numbers, shares)
    except SectorError as error:
        by_isle = "the others cannot be redone" in str(error) and water.interiors
        if not by_isle and f"cut {held} ends on cut" not in str(error):
            raise
        return
    assert_partition(water, redone)
    assert_cuts_are_edges(water, redone)
    for number in numbers:
        assert division.cuts[number - 1] in redone.cuts
    walls = shapely.union_all([division.cuts[n - 1] for n in numbers]).buffer(0.01)
    for piece in shapely.get_parts(water - walls):
        inside = [
            number
            for number, sector in enumerate(redone.sectors)
            if sector.intersection(piece).area > 0.5 * sector.area
        ]
        total = sum(shares[number] for number in inside)
        held_m2 = sum(redone.sectors[number].area for number in inside)
        assert held_m2 == pytest.approx(piece.area, rel=1e-3)
        for number in inside:
            want_m2 = held_m2 * shares[number] / total
            assert redone.sectors[number].area == pytest.approx(want_m2, rel=1e-3)


def test_a_cut_ends_where_it_touches_the_shore() -> None:
    """An island touches the line between two sectors with its corner only."""
    left = Polygon([(-10, 0), (0, 0), (0, 10), (0, 20), (-10, 20)])
    right = Polygon(
        [(0, 0), (10, 0), (10, 20), (0, 20), (0, 10)], [[(0, 10), (5, 8), (5, 12)]]
    )
    assert right.is_valid
    assert [cut.length for cut in find_cuts([left, right])] == [10, 10]
