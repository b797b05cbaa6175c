"""Ways by water, against hand-worked ones and a plain graph of all that see all."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, MultiPolygon, Point, Polygon, box

from outside import lake_parts
from shapes import CREEKS, INLET, TWO_ISLANDS, WINDING, ZOO
from sweptwater.arrays import Area, Floats
from sweptwater.errors import VenueError
from sweptwater.practice.geojson import Feature
from sweptwater.water.channels import find_room, reflex_corners
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import build_venue
from sweptwater.water.ways import FURTHER, Ways
from sweptwater_demo import ashlode


def lake(name: str) -> Area:
    return build_venue([Feature("water", "", p) for p in lake_parts(name)]).water


def places_on(water: Area, count: int, seed: int = 1) -> Floats:
    rng = np.random.default_rng(seed)
    west, south, east, north = water.bounds
    shapely.prepare(water)
    places = rng.uniform((west, south), (east, north), (400 * count, 2))
    return places[shapely.contains_xy(water, places)][:count]


def plain_lengths_m(water: Area, starts: Floats, ends: Floats) -> Floats:
    """Return shortest lengths by trying whether each corner sees each other.

    Each line is asked of the whole shore: nothing left out, nothing simplified.
    """
    corners = reflex_corners(water).at
    nodes = np.vstack([corners, starts, ends])
    one, other = np.triu_indices(len(nodes), 1)
    lines = np.asarray(
        shapely.linestrings(np.stack([nodes[one], nodes[other]], axis=1))
    )
    loose = water.buffer(1e-3, join_style="mitre")
    shapely.prepare(loose)
    seen = shapely.covers(loose, lines)
    table = np.zeros((len(nodes), len(nodes)))
    table[one[seen], other[seen]] = shapely.length(lines[seen])
    far_m = dijkstra(
        table, directed=False, indices=len(corners) + np.arange(len(starts))
    )
    return np.asarray(far_m[:, len(corners) + len(starts) :])


# Known by hand


def test_straight_where_that_stays_on_the_water() -> None:
    water = box(0, 0, 1000, 600)
    ways = Ways(water)
    assert ways.lengths_m([(10, 10)], [(310, 410)]) == pytest.approx(500)
    assert ways.way((10, 10), (310, 410)).line.equals(
        LineString([(10, 10), (310, 410)])
    )


def test_round_a_headland() -> None:
    # A wall from the south shore to 400 north: by its head, 3-4-5 triangles.
    water = Polygon(
        [(0, 0), (299, 0), (300, 400), (301, 0), (600, 0), (600, 600), (0, 600)]
    )
    ways = Ways(water, margin_m=0.1)
    length_m = ways.lengths_m([(0.5, 0.5)], [(599.5, 0.5)])[0, 0]
    assert length_m == pytest.approx(1000, rel=3e-3)
    assert ways.way((0.5, 0.5), (599.5, 0.5)).length_m == pytest.approx(length_m)


def test_it_keeps_its_margin_round_an_island() -> None:
    water = polygon_with_island()
    for margin_m in (2.0, 5.0, 20.0):
        way = Ways(water, margin_m=margin_m).way((100, 300), (900, 310)).line
        # The shore is simplified by a fifth of the margin.
        assert water.boundary.distance(way) >= 0.75 * margin_m
        assert water.boundary.distance(way) <= 1.05 * margin_m


def polygon_with_island() -> Polygon:
    return Polygon(
        box(0, 0, 1000, 600).exterior, [box(450, 200, 550, 450).exterior.coords]
    )


def test_a_creek_narrower_than_two_margins_is_run_all_the_same() -> None:
    # INLET: a channel 12 m wide from 600 to 1200 east.
    way = Ways(INLET, margin_m=9.0).way((300, 300), (1190, 196))
    assert INLET.covers(way.line)
    assert way.length_m < 906


@pytest.mark.parametrize("place", [(-30.0, 300.0), (0.0, 300.0), (-2.0, -2.0)])
def test_a_jetty_on_land_counts_from_the_water_by_it(
    place: tuple[float, float],
) -> None:
    ways = Ways(box(0, 0, 1000, 600))
    to_m = ways.lengths_m([place], [(500, 300)])[0, 0]
    assert to_m == pytest.approx(np.hypot(500 - place[0], 300 - place[1]), rel=0.02)
    assert ways.way(place, (500, 300)).line.coords[0] == place


def test_what_is_shut_is_gone_round() -> None:
    shut = box(400, -10, 600, 500)
    ways = Ways(box(0, 0, 1000, 600), shut)
    way = ways.way((300, 100), (700, 100)).line
    assert not way.crosses(shut)
    # Up by 400 over 100 and down again, and 200 straight over the top.
    assert way.length == pytest.approx(200 + 2 * np.hypot(100, 400), rel=0.02)


def test_two_waters_have_no_way_between_them() -> None:
    ways = Ways(MultiPolygon([box(0, 0, 300, 300), box(500, 0, 900, 300)]))
    assert ways.lengths_m([(10, 10)], [(800, 10), (20, 10)]).tolist() == [[np.inf, 10]]
    with pytest.raises(VenueError, match="no water leads"):
        ways.way((10, 10), (800, 10))


def test_one_place_is_no_way_off() -> None:
    ways = Ways(TWO_ISLANDS)
    assert ways.lengths_m([(50, 50)], [(50, 50)])[0, 0] == 0
    assert ways.way((50, 50), (50, 50)).length_m == 0
    assert ways.lengths_m(np.zeros((0, 2)), [(50, 50)]).shape == (0, 1)


# Against a plain graph


@pytest.mark.parametrize("name", ["caputh_wgs84", "cz_brno", "nhd_tiny_pond"])
def test_as_short_as_the_plain_graph_says(name: str) -> None:
    # Origins in the data's INDEX.md. So near to the shore, margins cost nothing.
    water = lake(name)
    starts, ends = places_on(water, 15, 1), places_on(water, 15, 2)
    plain_m = plain_lengths_m(water, starts, ends)
    ours_m = Ways(water, margin_m=0.5).lengths_m(starts, ends)
    assert (ours_m >= plain_m - 0.05).all()
    assert ours_m == pytest.approx(plain_m, rel=0.02)


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    [
        *("nhd_spring_lake_19islands", "nhd_crab_lake", "nhd_little_tamarack_flowage"),
        *("nhd_pokegama_lake", "cz_slapy", "cz_vranov", "nhd_lake_mendota"),
    ],
)
def test_as_short_as_the_plain_graph_says_on_lakes_with_islands(name: str) -> None:
    water = lake(name)
    starts, ends = places_on(water, 25, 1), places_on(water, 25, 2)
    plain_m = plain_lengths_m(water, starts, ends)
    ours_m = Ways(water, margin_m=0.5).lengths_m(starts, ends)
    assert (ours_m >= plain_m - 0.05).all()
    assert ours_m == pytest.approx(plain_m, rel=0.02)
    # With the usual margin, the way round each headland is a little wider.
    wider_m = Ways(water).lengths_m(starts, ends)
    far = plain_m > 100
    assert np.median(wider_m[far] / plain_m[far]) < 1.02
    assert (wider_m[far] <= 1.02 * plain_m[far] + 40).all()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["caputh_wgs84", "nhd_crystal_lake"])
def test_as_short_as_the_plain_graph_says_in_the_water_less_the_margin(
    name: str,
) -> None:
    water = lake(name)
    inner = find_room(water, margin_m=5.0).free
    exact = polygonal(water.buffer(-5.0, quad_segs=6))
    assert shapely.get_num_geometries(exact) == 1
    both = polygonal(inner.intersection(exact))
    starts, ends = places_on(both, 10, 1), places_on(both, 10, 2)
    plain_m = plain_lengths_m(exact, starts, ends)
    assert Ways(water).lengths_m(starts, ends) == pytest.approx(plain_m, rel=0.005)


# What holds of all ways


def zoo_and_demo() -> dict[str, Area]:
    return {**ZOO, "ashlode": ashlode.water()}


@pytest.mark.parametrize("name", sorted(zoo_and_demo()))
@given(seed=st.integers(0, 2**31), margin_m=st.sampled_from([1.0, 5.0, 9.0]))
@settings(max_examples=8, deadline=None)
def test_ways_are_ways(name: str, seed: int, margin_m: float) -> None:
    water = zoo_and_demo()[name]
    ways = Ways(water, margin_m=margin_m)
    at = places_on(water, 6, seed)
    length_m = ways.lengths_m(at, at)
    apart_m = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    assert length_m == pytest.approx(length_m.T, abs=1e-6)
    assert (length_m >= apart_m - 1e-6).all()
    # A place in the margin is reached from the room, so by up to two margins more.
    by = (length_m[:, :, None] + length_m[None]).min(axis=1)
    assert (length_m <= by + 4 * margin_m + 1e-6)[np.isfinite(length_m)].all()
    for i, j in ((0, 1), (2, 3), (4, 5)):
        if np.isfinite(length_m[i, j]):
            way = ways.way(at[i], at[j])
            assert way.length_m == pytest.approx(length_m[i, j], abs=1e-6)
            assert way.line.difference(water.buffer(0.05)).length == 0
            assert way.line.coords[0] == tuple(at[i])
            assert way.line.coords[-1] == tuple(at[j])


# Round water that is still to be fished


WIDE = box(0, 0, 1000, 600)


def test_it_goes_round_what_is_to_be_avoided() -> None:
    avoid = box(400, 100, 600, 500)
    way = Ways(WIDE).way((300, 200), (700, 200), avoid=avoid)
    assert not way.through
    assert way.line.intersection(avoid).length == 0
    # South about: 100 down, 100 over to the corner on each side, 200 along.
    assert way.length_m == pytest.approx(200 + 2 * np.hypot(100, 100), rel=0.02)


def test_it_goes_through_where_there_is_no_other_way() -> None:
    avoid = box(400, -10, 600, 610)
    way = Ways(WIDE).way((300, 200), (700, 200), avoid=avoid)
    assert way.through
    assert way.length_m == pytest.approx(400)


@pytest.mark.parametrize(("south", "through"), [(330, False), (-10, True)])
def test_it_goes_through_rather_than_three_times_as_far(
    south: float, through: bool
) -> None:
    # From 380 to 420 straight is 40; round the north end at 0 or by 300 and more.
    avoid = box(395, south, 405, 610)
    way = Ways(WIDE).way((380, 350), (420, 350), avoid=avoid)
    assert way.through == through
    assert way.length_m <= FURTHER * 40


def test_out_of_it_by_the_nearest_edge_is_no_leading_through() -> None:
    # A drift's water, 30 wide and 200 long; the way goes from its end to beside its
    # start, and must not go back along it.
    avoid = box(300, 200, 500, 230)
    way = Ways(WIDE).way((495, 215), (280, 250), avoid=avoid)
    assert not way.through
    assert way.line.intersection(avoid).length <= 6
    both = Ways(WIDE).way((490, 212), (310, 215), avoid=avoid)
    assert not both.through
    assert both.line.intersection(avoid).length <= 12 + 16 + 2


def test_between_two_it_finds_the_gap() -> None:
    avoid = MultiPolygon([box(400, -5, 600, 290), box(400, 310, 600, 605)])
    way = Ways(WIDE).way((300, 100), (700, 500), avoid=avoid)
    assert not way.through
    assert way.line.intersection(avoid).length == 0


def test_a_pocket_between_bank_and_drift_is_no_way_out() -> None:
    # The nearest edge leads into a pocket of the shore; the far one to open water.
    avoid = Polygon(
        [(300, -5), (300, 60), (500, 60), (500, -5)],
        [box(320, 2, 480, 20).exterior.coords],
    )
    way = Ways(WIDE).way((400, 25), (400, 300), avoid=avoid)
    assert not way.through
    assert way.length_m == pytest.approx(275, rel=0.02)


@given(seed=st.integers(0, 2**31))
@settings(max_examples=25, deadline=None)
def test_round_is_never_shorter_and_stays_on_the_water(seed: int) -> None:
    rng = np.random.default_rng(seed)
    water = [WINDING, TWO_ISLANDS, CREEKS, ashlode.water()][seed % 4]
    ways = Ways(water)
    start, end = places_on(water, 2, seed)
    middle = (start + end) / 2 + rng.normal(0, 30, 2)
    avoid = Point(middle).buffer(rng.uniform(10, 120), quad_segs=6)
    straight, way = ways.way(start, end), ways.way(start, end, avoid=avoid)
    assert way.length_m >= straight.length_m - 1e-6
    assert way.length_m <= FURTHER * straight.length_m + 1e-6
    assert way.line.difference(water.buffer(0.05)).length == 0
    if not way.through:
        legs_m = sum(
            max(0.0, avoid.boundary.distance(p)) if avoid.intersects(p) else 0.0
            for p in (Point(start), Point(end))
        )
        assert way.line.intersection(avoid).length <= 4 * legs_m + 3


def test_boxed_in_by_what_is_to_be_avoided_it_says_that_it_leads_through() -> None:
    # From a gap between lanes that are all still to be fished: 90 m of them any way.
    ring = Point(500, 300).buffer(100) - Point(500, 300).buffer(10)
    way = Ways(WIDE).way((500, 300), (800, 300), avoid=polygonal(ring))
    assert way.through
    assert way.line.intersection(ring).length == pytest.approx(90, abs=2)


def test_out_of_lanes_across_others_is_leading_through() -> None:
    # Both ends lie just inside it, on sides that look on to shut-in water.
    walls = [box(x, -5, x + 60, 605) for x in (300, 420)]
    way = Ways(WIDE).way((361, 300), (481, 300), avoid=MultiPolygon(walls))
    assert way.through
