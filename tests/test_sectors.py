"""Dividing the water: by area, by drawn lines, ready-made."""

import time
from collections.abc import Sequence
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box

from sweptwater.arrays import Area
from sweptwater.errors import SectorError
from sweptwater.frame import Frame
from sweptwater.water.chords import part
from sweptwater.water.faces import join_faces
from sweptwater.water.sectors import (
    Division,
    adopt_sectors,
    divide_by_area,
    divide_by_lines,
)
from sweptwater.water.shore import excess_behind, spots, trace_shore

LAKES = Path(__file__).parents[1] / "../shared/data/lakes"
SHARES = [(1.0,), (1.0, 1.0, 1.0), (2.0, 1.0, 1.0), (1.0,) * 5]


def without(water: Polygon, land: Area) -> Polygon:
    """Return the water less some land, which must leave it in one piece."""
    left = water - land
    assert isinstance(left, Polygon)
    return left


def merged(*waters: Polygon) -> Polygon:
    """Return the union of waters that hang together."""
    whole = shapely.union_all(waters)
    assert isinstance(whole, Polygon)
    return whole


JUNCTIONS = [
    ("nhd_lake_mendota", 3),
    ("nhd_lake_mendota", 5),
    ("ne10m_eu_sheksinskoe_reservoir", 5),
]
"""Lakes, and numbers of shares, for which cuts bank to bank are a tenth longer."""

LONG = box(0, 0, 300, 100)
COMB = merged(box(0, 0, 900, 60), *(box(x, 0, x + 30, 600) for x in range(0, 900, 100)))
DUMBBELL = merged(
    Point(0, 0).buffer(300), Point(1500, 0).buffer(300), box(0, -10, 1500, 10)
)
ELL = Polygon([(0, 0), (300, 0), (300, 100), (100, 100), (100, 300), (0, 300)])
ANNULUS = without(Point(0, 0).buffer(500), Point(0, 0).buffer(300))
NARROW_ANNULUS = without(Point(0, 0).buffer(500), Point(0, 0).buffer(470))
WINDING = LineString(
    [(x, 1500 * np.sin(x / 1000)) for x in np.linspace(0, 15_000, 400)]
).buffer(300)


def lake(name: str) -> Area:
    """Return a real outline in metres of its own frame (see the data's INDEX.md)."""
    path = LAKES / f"{name}.geojson"
    if not path.exists():
        pytest.skip("real lakes are not at hand")
    water = shapely.union_all(shapely.get_parts(shapely.from_geojson(path.read_text())))
    west, south, east, north = water.bounds
    metres = Frame(lon=(west + east) / 2, lat=(south + north) / 2).metres(water)
    assert isinstance(metres, Polygon | MultiPolygon)
    return metres


def cut_length_m(division: Division) -> float:
    return sum(cut.length for cut in division.cuts)


def assert_partition(water: Area, sectors: Sequence[Area]) -> None:
    """Check that the sectors are the water: no gap, nothing twice, no slivers."""
    assert all(sector.is_valid for sector in sectors)
    assert sum(s.area for s in sectors) == pytest.approx(water.area, rel=1e-9)
    for one, two in combinations(sectors, 2):
        assert one.intersection(two).area < 1e-9 * water.area
    whole = shapely.union_all(sectors)
    assert whole.symmetric_difference(water).area < 1e-9 * water.area
    assert shapely.coverage_is_valid(list(sectors))  # shared vertex by vertex
    # A sliver left between two sectors would show as one more ring.
    assert len(shapely.get_rings(whole)) == len(shapely.get_rings(water))


def assert_shares(
    water: Area, division: Division, shares: Sequence[float], rel: float = 1e-6
) -> None:
    got = [sector.area for sector in division.sectors]
    want = [water.area * share / sum(shares) for share in shares]
    assert got == pytest.approx(want, rel=rel)


def assert_connected(division: Division) -> None:
    assert {sector.geom_type for sector in division.sectors} == {"Polygon"}


# By area: figures known by hand


@pytest.mark.parametrize(
    ("water", "shares", "longest_m"),
    [
        # Two cuts straight across the rectangle.
        (box(0, 0, 300, 100), (1, 1, 1), 200),
        (box(0, 0, 300, 100), (2, 1, 1), 200),
        (box(0, 0, 300, 100), (1,) * 5, 400),
        # One across each leg of the L.
        (ELL, (1, 1, 1), 200),
        # From the inner corner to the outer one.
        (ELL, (1, 1), 100 * np.sqrt(2)),
        # In the handle, 20 wide.
        (DUMBBELL, (1, 1), 20),
        # Radial cuts, each 200 or 30 long: one for each sector.
        (ANNULUS, (1, 1), 400),
        (ANNULUS, (1, 1, 1), 600),
        (ANNULUS, (1,) * 5, 1000),
        (NARROW_ANNULUS, (1, 1, 1), 90),
        # Twice across the spine, which is 60 wide.
        (COMB, (1, 1, 1), 120),
    ],
)
def test_cuts_are_as_short_as_by_hand(
    water: Polygon, shares: tuple[float, ...], longest_m: float
) -> None:
    division = divide_by_area(water, shares)
    assert_shares(water, division, shares)
    assert_connected(division)
    assert_partition(water, division.sectors)
    assert cut_length_m(division) <= longest_m * 1.002


@pytest.mark.slow
@pytest.mark.parametrize("shares", [(2, 1, 1), (1, 2, 3, 1)])
@pytest.mark.parametrize("water", [COMB, DUMBBELL, ELL, ANNULUS, NARROW_ANNULUS])
def test_narrow_arms_and_islands(water: Polygon, shares: tuple[float, ...]) -> None:
    division = divide_by_area(water, shares)
    assert_shares(water, division, shares)
    assert_connected(division)
    assert_partition(water, division.sectors)


def test_cuts_are_wet_and_straight_from_bank_to_bank() -> None:
    division = divide_by_area(ANNULUS, [1, 1, 1])
    assert len(division.cuts) == 3
    for cut in division.cuts:
        one, two = map(Point, shapely.get_coordinates(cut)[[0, -1]])
        assert one.distance(ANNULUS.boundary) < 0.02
        assert two.distance(ANNULUS.boundary) < 0.02
        assert one.distance(two) == pytest.approx(cut.length, abs=0.03)
        assert cut.intersection(ANNULUS).length == pytest.approx(cut.length, abs=0.03)


def test_the_cuts_are_the_edges_between_sectors() -> None:
    division = divide_by_area(ELL, [1, 1, 1])
    edges = shapely.union_all([s.boundary for s in division.sectors]) - ELL.boundary
    assert edges.length == pytest.approx(cut_length_m(division), abs=1e-6)


def test_one_share_is_all_the_water() -> None:
    division = divide_by_area(ANNULUS, [7.5])
    assert division.cuts == ()
    assert division.sectors[0].equals(ANNULUS)


def test_the_same_every_time() -> None:
    assert divide_by_area(ANNULUS, [2, 1]) == divide_by_area(ANNULUS, [2, 1])


def test_equal_shares_run_from_west_to_east() -> None:
    sectors = divide_by_area(box(0, 0, 300, 100), [1, 2, 1]).sectors
    assert sectors[0].centroid.x < sectors[2].centroid.x


def test_only_proportions_count() -> None:
    assert divide_by_area(ELL, [20, 10]) == divide_by_area(ELL, [2, 1])


def test_most_shares() -> None:
    division = divide_by_area(box(0, 0, 2400, 100), [1] * 24)
    assert_shares(box(0, 0, 2400, 100), division, [1] * 24)
    assert cut_length_m(division) == pytest.approx(2300, rel=1e-3)


def test_a_round_water_in_more_shares_than_reach_its_bank() -> None:
    # Some cuts have to end on others here: there the sector beyond has a vertex too.
    water = Point(0, 0).buffer(1000)
    division = divide_by_area(water, [1] * 24)
    assert_shares(water, division, [1] * 24)
    ends = [Point(xy) for cut in division.cuts for xy in cut.coords]
    on_cut = [end for end in ends if end.distance(water.exterior) > 1]
    assert len(on_cut) > 0
    for end in on_cut:
        for sector in division.sectors:
            corner = list(end.coords[0]) in shapely.get_coordinates(sector).tolist()
            assert corner == (end.distance(sector) < 1e-6)
    assert_connected(division)
    assert_partition(water, division.sectors)


def test_a_round_water_in_three_has_a_junction() -> None:
    # Two chords that each part off a third are 1.929 radii long, by r^2 (t - sin t) / 2
    # = pi r^2 / 3; one of them, and the way from it to the far bank, 1.929 + 1.265.
    water = Point(0, 0).buffer(1000, quad_segs=64)
    division = divide_by_area(water, [1, 1, 1])
    assert cut_length_m(division) <= 3195
    assert_shares(water, division, [1, 1, 1], rel=1e-6)
    assert_connected(division)
    assert_partition(water, division.sectors)


def test_no_junction_where_it_saves_little() -> None:
    # Twice straight across are 380; once, and from there along the middle, 363.
    water = box(0, 0, 260, 190)
    division = divide_by_area(water, [1, 1, 1])
    for cut in division.cuts:
        for xy in (cut.coords[0], cut.coords[-1]):
            assert Point(xy).distance(water.exterior) < 1e-6


def test_a_cut_goes_by_way_of_two_islands() -> None:
    # Gates of 10 at either bank, and one of 10 by 4 between the corners; a straight
    # line over both islands would be 48 wet, and clear of them 100.
    isles = [box(270, 10, 290, 48), box(300, 52, 320, 90)]
    water = without(without(box(-5, 0, 595, 100), isles[0]), isles[1])
    division = divide_by_area(water, [1, 1])
    assert cut_length_m(division) == pytest.approx(20 + np.hypot(10, 4), rel=0.01)
    assert_shares(water, division, [1, 1], rel=1e-6)
    assert_connected(division)
    assert_partition(water, division.sectors)


def test_islands_beside_the_cut_have_no_dykes_left() -> None:
    # As above, with an island to either side, 15 from the bank.
    isles = [box(270, 10, 290, 48), box(300, 52, 320, 90)]
    isles += [box(95, 15, 115, 35), box(475, 65, 495, 85)]
    water = box(-5, 0, 595, 100)
    for isle in isles:
        water = without(water, isle)
    division = divide_by_area(water, [1, 1])
    # One gate slides to the exact area, here the middle one: not quite the least.
    assert cut_length_m(division) < 48
    assert_shares(water, division, [1, 1], rel=1e-6)
    assert [len(shapely.get_rings(s)) for s in division.sectors] == [2, 2]
    assert_partition(water, division.sectors)


def test_small_unconnected_water_goes_to_a_neighbour() -> None:
    pond, bay = box(120, 110, 160, 130), box(0, 120, 20, 130)
    water = MultiPolygon([box(0, 0, 300, 100), pond, bay])
    division = divide_by_area(water, [1, 1, 1])
    assert_shares(water, division, [1, 1, 1], rel=1e-4)
    assert_partition(water, division.sectors)
    main = [sector & box(0, 0, 300, 100) for sector in division.sectors]
    assert {part.geom_type for part in main} == {"Polygon"}
    for small in (pond, bay):
        holds = [s.intersection(small).area > 1e-3 for s in division.sectors]
        assert sum(holds) == 1


def test_two_equal_waters_are_shared_without_a_cut() -> None:
    water = MultiPolygon([box(0, 0, 100, 100), box(110, 0, 210, 100)])
    division = divide_by_area(water, [1, 1])
    assert division.cuts == ()
    assert_shares(water, division, [1, 1], rel=1e-4)


def test_waters_that_touch_in_a_point() -> None:
    water = MultiPolygon([box(0, 0, 100, 100), box(100, 100, 220, 220)])
    division = divide_by_area(water, [1, 1, 1])
    assert_shares(water, division, [1, 1, 1], rel=1e-4)
    assert_partition(water, division.sectors)


def test_a_14_km2_winding_water_takes_seconds() -> None:
    started = time.process_time()
    division = divide_by_area(WINDING, [1, 1, 1])
    assert time.process_time() - started < 10
    assert WINDING.area > 1.2e7
    # Across the water, which is 600 m wide, twice.
    assert cut_length_m(division) <= 1201


# The sums behind it, against shapely's areas of the same pieces

CRESCENT = without(Point(150, 50).buffer(20), Point(140, 50).buffer(20))


@pytest.mark.parametrize("x", [20, 100, 160, 250])
def test_running_sums_weigh_the_water_behind_a_chord(x: float) -> None:
    water = without(without(LONG, box(50, 40, 70, 60)), box(180, 10, 230, 60))
    shore = trace_shore(water, MultiLineString())
    start_m, end_m = (shore.outer.project(Point(x, y)) for y in (0, 100))
    end_m += shore.length_m * (end_m < start_m)
    east = water.intersection(box(x, 0, 300, 100)).area
    asked_m2 = east - 50
    start, end = (spots(shore, np.array([along_m])) for along_m in (start_m, end_m))
    excess_m2 = excess_behind(shore, start, end, asked_m2)
    assert excess_m2 == pytest.approx([50])


def test_a_pocket_behind_an_island_goes_to_the_other_side() -> None:
    # The chord cuts the horns off a crescent that opens to the west: the water between
    # them, east of the chord, can only be reached from the west.
    water = without(LONG, CRESCENT)
    shore = trace_shore(water, MultiLineString())
    start_m, end_m = (shore.outer.project(Point(155, y)) for y in (0, 100))
    parting = part(shore, start_m, end_m)
    assert parting is not None
    east = water & box(155, 0, 300, 100)
    pocket, main = sorted(shapely.get_parts(east), key=lambda piece: piece.area)
    assert pocket.area > 10
    areas = sorted([parting.side.area, parting.rest.area])
    assert areas == pytest.approx(sorted([main.area, water.area - main.area]))
    assert_partition(water, [parting.side, parting.rest])


# By area: properties


@st.composite
def waters(draw: st.DrawFn) -> Polygon:
    """Star-shaped lakes with islands."""
    count = draw(st.integers(5, 30))
    reach = draw(st.lists(st.floats(200, 1000), min_size=count, max_size=count))
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    water = Polygon(
        np.array(reach)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    )
    places = st.tuples(st.floats(-600, 600), st.floats(-600, 600), st.floats(10, 200))
    for x, y, radius in draw(st.lists(places, max_size=5)):
        isle = Point(x, y).buffer(radius, quad_segs=3)
        if water.buffer(-2).contains(isle):
            left = water - isle
            assume(isinstance(left, Polygon))
            water = without(water, isle)
    return water


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(water=waters(), shares=st.lists(st.floats(0.5, 3), min_size=1, max_size=4))
@example(water=ANNULUS, shares=[1.0, 1.0, 1.0])
def test_sectors_are_connected_exact_and_complete(
    water: Polygon, shares: list[float]
) -> None:
    division = divide_by_area(water, shares)
    assert len(division.sectors) == len(shares)
    assert_shares(water, division, shares)
    assert_connected(division)
    assert_partition(water, division.sectors)


@settings(max_examples=8, deadline=None)
@given(waters(), st.floats(0, 360), st.floats(-5e4, 5e4))
def test_turning_and_moving_the_water_hardly_changes_the_cuts(
    water: Polygon, angle_deg: float, east_m: float
) -> None:
    moved = shapely.affinity.rotate(water, angle_deg, origin=(0, 0))
    moved = shapely.affinity.translate(moved, east_m)
    here, there = divide_by_area(water, [1, 1]), divide_by_area(moved, [1, 1])
    # The search keeps the likeliest plans: near ties may fall the other way.
    assert cut_length_m(there) == pytest.approx(cut_length_m(here), rel=0.2)


# By area: real lakes. Sources: U.S. Geological Survey's National Hydrography Dataset,
# RCzechia and Natural Earth, as listed beside the data.


@pytest.mark.parametrize(
    "name",
    [
        "caputh_wgs84",
        "cz_vranov",
        "ne10m_na_lake_of_the_ozarks",
        "ne10m_eu_sheksinskoe_reservoir",
        pytest.param("nhd_lake_mendota", marks=pytest.mark.slow),
        pytest.param("cz_slapy", marks=pytest.mark.slow),
        pytest.param("nhd_crab_lake", marks=pytest.mark.slow),
        pytest.param("nhd_pokegama_lake", marks=pytest.mark.slow),
        pytest.param("nhd_little_tamarack_flowage", marks=pytest.mark.slow),
        pytest.param("nhd_spring_lake_19islands", marks=pytest.mark.slow),
    ],
)
@pytest.mark.parametrize("shares", SHARES)
def test_real_lakes(name: str, shares: tuple[float, ...]) -> None:
    water = lake(name)
    division = divide_by_area(water, shares)
    if isinstance(water, Polygon):
        assert_connected(division)
        assert_shares(water, division, shares)
    # The hair-wide bridges between unconnected waters are taken out in the end.
    assert_shares(water, division, shares, rel=1e-5)
    assert_partition(water, division.sectors)
    for cut in division.cuts:
        others = [other for other in division.cuts if other is not cut]
        for end in shapely.points([cut.coords[0], cut.coords[-1]]):
            on_bank = end.distance(water.boundary) < 0.05
            # A junction in open water is worth it only where the water is broad.
            assert on_bank or (name, len(shares)) in JUNCTIONS
            assert on_bank or end.distance(shapely.union_all(others)) < 0.05


# By area: what cannot be done


@pytest.mark.parametrize(
    ("shares", "message"),
    [
        ([], r"into 1 to 24 shares, not 0"),
        ([1] * 25, r"into 1 to 24 shares, not 25: give one share for each pair"),
        ([1, 0, 1], r"share 2 is 0: give every pair a share above 0"),
        ([1, 1, -2], r"share 3 is -2"),
        ([float("nan"), 1], r"share 1 is nan"),
        ([1, float("inf")], r"share 2 is inf"),
    ],
)
def test_unusable_shares(shares: list[float], message: str) -> None:
    with pytest.raises(SectorError, match=message):
        divide_by_area(box(0, 0, 300, 100), shares)


def test_no_water() -> None:
    line = LineString([(0, 0), (1, 1)])
    with pytest.raises(SectorError, match="no fishable water to divide"):
        divide_by_area(Polygon(), [1, 1])
    with pytest.raises(SectorError, match="no fishable water to divide"):
        divide_by_lines(MultiPolygon(), [line])
    with pytest.raises(SectorError, match="no fishable water to divide"):
        adopt_sectors(Polygon(), [box(0, 0, 1, 1)])


# By drawn lines


@pytest.mark.parametrize(
    "line",
    [
        [(100, 0), (100, 100)],
        [(100, -50), (100, 150)],
        [(100, 20), (100, 80)],
        [(100, 29), (100, 60), (100, 71)],
        [(100, 90), (100, -3)],
    ],
)
def test_a_line_may_stop_short_or_overshoot(line: list[tuple[float, float]]) -> None:
    division = divide_by_lines(LONG, [LineString(line)])
    assert [s.area for s in division.sectors] == pytest.approx([10_000, 20_000])
    assert_partition(LONG, division.sectors)
    assert [cut.length for cut in division.cuts] == pytest.approx([100])


def test_an_end_beside_the_bank_goes_to_the_nearest() -> None:
    # The line runs off to the east, so straight on there is no bank within reach.
    line = LineString([(100, -5), (100, 90), (150, 90)])
    west, east = divide_by_lines(LONG, [line]).sectors
    assert west.area == pytest.approx(100 * 100 + 50 * 10)
    assert east.area == pytest.approx(LONG.area - west.area)


def test_a_line_may_end_on_another() -> None:
    lines = [LineString([(100, -5), (100, 105)]), LineString([(110, 50), (290, 50)])]
    division = divide_by_lines(LONG, lines)
    assert [s.area for s in division.sectors] == pytest.approx([10_000] * 3)
    assert_partition(LONG, division.sectors)


def test_drawn_sectors_come_in_the_order_in_which_they_adjoin() -> None:
    # A horseshoe: its two western ends are the first sector and the last.
    shoe = without(box(0, 0, 400, 300), box(-1, 100, 300, 200))
    lines = [[(200, -9), (200, 99)], [(310, 150), (390, 150)], [(200, 201), (200, 310)]]
    division = divide_by_lines(shoe, [LineString(line) for line in lines])
    y = [sector.centroid.y for sector in division.sectors]
    assert len(y) == 4
    assert y in (sorted(y), sorted(y, reverse=True))


def test_pockets_behind_islands_join_their_neighbour() -> None:
    # The crescent opens to the west; the line crosses it and leaves a pocket.
    water = without(LONG, CRESCENT)
    division = divide_by_lines(water, [LineString([(153, -5), (153, 105)])])
    assert len(division.sectors) == 2
    assert_partition(water, division.sectors)
    tips = LineString([(158, -5), (158, 105)])
    assert len(divide_by_lines(water, [tips]).sectors) == 2


def test_unconnected_water_stands_alone_if_it_is_big() -> None:
    water = MultiPolygon([LONG, box(310, 0, 400, 100), box(0, 110, 10, 120)])
    division = divide_by_lines(water, [LineString([(100, 0), (100, 100)])])
    assert [s.area for s in division.sectors] == pytest.approx([10_100, 20_000, 9_000])
    assert_partition(water, division.sectors)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (
            [(200, 40), (200, 60)],
            "line 2 does not part the water: draw it right across",
        ),
        ([(500, 0), (500, 100)], "line 2 does not part the water"),
        ([(299.5, -5), (299.5, 105)], "line 2 parts off less than 1.0 % of the water"),
        ([(50, 50), (50, 50)], "line 2 has no length: draw it anew"),
    ],
)
def test_a_line_that_does_not_part(
    line: list[tuple[float, float]], message: str
) -> None:
    first = LineString([(100, 0), (100, 100)])
    with pytest.raises(SectorError, match=message):
        divide_by_lines(LONG, [first, LineString(line)])


@settings(max_examples=25, deadline=None)
@given(waters(), st.floats(0, np.pi), st.floats(-150, 150))
def test_any_line_right_across_parts_without_gaps(
    water: Polygon, turn: float, off_m: float
) -> None:
    along = np.array([np.cos(turn), np.sin(turn)])
    off = off_m * along[::-1] * [-1, 1]
    line = LineString([off - 3000 * along, off + 3000 * along])
    division = divide_by_lines(water, [line])
    assert_partition(water, division.sectors)
    assert len(division.sectors) >= 2


# Ready-made


def test_sectors_are_adopted_as_drawn() -> None:
    shapes = [box(-10, -10, 100, 110), box(100, -10, 200, 110), box(200, -10, 310, 110)]
    division = adopt_sectors(LONG, shapes)
    assert division.cuts == ()
    assert [s.area for s in division.sectors] == pytest.approx([10_000] * 3)
    assert_partition(LONG, division.sectors)


def test_a_small_overlap_goes_to_the_first() -> None:
    shapes = [box(0, 0, 100.05, 100), box(99.95, 0, 300, 100)]
    first, second = adopt_sectors(LONG, shapes).sectors
    assert first.area == pytest.approx(10_005)
    assert second.area == pytest.approx(19_995)


def test_a_small_gap_joins_the_longer_edge() -> None:
    # The gap touches the first sector along 2 m and the second along 6 m.
    gap = box(100, 50, 102, 52)
    shapes = [box(0, 0, 100, 100), without(box(100, 0, 300, 100), gap)]
    first, second = adopt_sectors(LONG, shapes).sectors
    assert first.area == pytest.approx(10_000)
    assert second.area == pytest.approx(20_000)
    assert_partition(LONG, [first, second])


def test_too_wide_an_overlap() -> None:
    shapes = [box(0, 0, 100, 100), box(150, 0, 300, 100), box(90, 0, 150, 100)]
    with pytest.raises(SectorError, match=r"sectors 1 and 3 overlap by 0\.25 acres"):
        adopt_sectors(LONG, shapes)
    with pytest.raises(SectorError, match=r"overlap by 0\.10 ha"):
        adopt_sectors(LONG, shapes, system="metric")


def test_too_much_water_in_no_sector() -> None:
    with pytest.raises(
        SectorError, match=r"0\.62 acres of the water \(8\.3 %\) are in no sector: draw"
    ):
        adopt_sectors(LONG, [box(0, 0, 100, 100), box(125, 0, 300, 100)])


def test_a_sector_on_land() -> None:
    with pytest.raises(SectorError, match="sector 2 has no fishable water in it"):
        adopt_sectors(LONG, [LONG, box(300, 0, 400, 100)])


def test_an_edge_too_short_for_numbers_still_joins() -> None:
    # The square of its length is below the least float.
    faces = [Polygon([(0, 0), (1e-200, 0), (1, y)]) for y in (-1, 1)]
    owners = join_faces(np.array(faces, dtype=object), np.array([0, -1]))
    assert owners.tolist() == [0, 0]


def test_nothing_to_adopt() -> None:
    with pytest.raises(SectorError, match="no sector to adopt"):
        adopt_sectors(LONG, [])


@settings(max_examples=6, deadline=None)
@given(waters())
def test_rounded_sectors_are_adopted_again(water: Polygon) -> None:
    # Seven places of a degree, as GeoJSON has them, are about a centimetre.
    division = divide_by_area(water, [2, 1])
    rounded = [shapely.set_precision(s, 0.01) for s in division.sectors]
    adopted = adopt_sectors(water, rounded)
    assert_partition(water, adopted.sectors)
    areas = [sector.area for sector in division.sectors]
    assert [s.area for s in adopted.sectors] == pytest.approx(areas, rel=1e-3)
