"""What the shore does at a place: discs by closed form, kinds by eye and by hand."""

from collections import Counter
from math import acos, cos, pi, radians, sin, sqrt

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from outside import lake_parts
from shapes import CREEKS, RECTANGLE, WINDING
from sweptwater.arrays import Area, Floats
from sweptwater.practice.geojson import Feature
from sweptwater.water.discs import Share, from_nearest, nearest_ring, share_about
from sweptwater.water.landmarks import ShoreForm, island_side, reach_of, shore_form
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import build_venue
from sweptwater_demo import ashlode

LAKE = box(0, 0, 2000, 1000)
"""Its reach is 109 m."""

REAL = ("nhd_crab_lake", "nhd_pokegama_lake", "nhd_lake_mendota", "cz_slapy")


def share_of(water: BaseGeometry, place: tuple[float, float], radius_m: float) -> Share:
    """Return the disc about the nearest place of a shore, no ditches filled."""
    _, ring, _ = nearest_ring(polygonal(water), Point(place))
    return share_about(from_nearest(ring, place), radius_m)


def kind_at(water: BaseGeometry, easting: float, northing: float) -> str:
    return shore_form(polygonal(water), easting, northing).kind


def wedge(angle_deg: float, far: float = 5000.0) -> Polygon:
    """Return water that fills an angle about the origin."""
    turns = np.radians(np.linspace(0, angle_deg, 200))
    return Polygon([(0, 0), *(far * np.column_stack([np.cos(turns), np.sin(turns)]))])


def disc(radius: float) -> Polygon:
    """Return a round lake of 4,096 sides about the origin."""
    turns = np.linspace(0, 2 * pi, 4096, endpoint=False)
    return Polygon(radius * np.column_stack([np.cos(turns), np.sin(turns)]))


# The share of land, by closed form


@pytest.mark.parametrize("radius", [1.0, 40.0, 399.0])
def test_half_the_disc_on_a_straight_shore_is_land(radius: float) -> None:
    share = share_of(RECTANGLE, (100.0, -400.0), radius)
    assert share.land == pytest.approx(0.5, abs=1e-12)
    assert share.height_m == pytest.approx(0, abs=1e-9)
    assert share.even == pytest.approx(1)


@given(st.floats(5, 355), st.floats(1, 900), st.floats(-360, 360))
@example(90, 100, 0)
def test_a_corner_leaves_its_angle_to_the_water(
    angle_deg: float, radius: float, turn_deg: float
) -> None:
    water = affinity.rotate(wedge(angle_deg), turn_deg, origin=(0, 0))
    share = share_of(water, (0.0, 0.0), radius)
    assert share.land == pytest.approx(1 - angle_deg / 360, abs=1e-9)
    # It stands out by the radius times the cosine of half the land's angle.
    stands_out = -radius * cos(radians(angle_deg / 2))
    assert share.height_m == pytest.approx(stands_out, abs=1e-6 * radius)


@given(st.floats(100, 3000), st.floats(0.01, 1.9), st.floats(0, 2 * pi))
def test_a_round_lake_leaves_a_lens(lake: float, part: float, turn: float) -> None:
    # Two circles of radius r and R whose centres are r apart (plane geometry, from
    # memory): r^2 acos(1 - R^2 / 2 r^2) + R^2 acos(R / 2 r) - R sqrt(4 r^2 - R^2) / 2.
    radius = part * lake
    lens = lake**2 * acos(1 - radius**2 / (2 * lake**2))
    lens += radius**2 * acos(radius / (2 * lake))
    lens -= radius * sqrt(4 * lake**2 - radius**2) / 2
    share = share_of(disc(lake), (2 * lake * cos(turn), 2 * lake * sin(turn)), radius)
    assert share.land == pytest.approx(1 - lens / (pi * radius**2), abs=1e-4)
    assert share.height_m == pytest.approx(
        -(radius**2) / (2 * lake), abs=1e-6 * lake + 1e-3 * radius
    )


@pytest.mark.parametrize("sign", [1, -1])
def test_the_share_tells_the_curvature(sign: int) -> None:
    # To first order in R / r, by Manay and others (from memory): a round lake of
    # 1,000 m curves by -1/1000 a metre; a round island by as much the other way.
    water = disc(1000) if sign < 0 else box(-4000, -4000, 4000, 4000) - disc(1000)
    # Water of area A in a disc of radius R means 3 (A - pi R^2 / 2) / R^3.
    share = share_of(water, (1001.0, 0.0), 60.0)
    curvature_per_m = 3 * np.pi * (0.5 - share.land) / 60
    assert curvature_per_m == pytest.approx(sign / 1000, rel=0.02)


@given(
    st.lists(st.floats(800, 1000), min_size=9, max_size=30),
    st.floats(0, 2 * pi),
    st.floats(10, 150),
)
def test_the_share_is_what_intersecting_leaves(
    radii: list[float], turn: float, radius: float
) -> None:
    turns = np.linspace(0, 2 * pi, len(radii), endpoint=False)
    water = Polygon(
        np.array(radii)[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    )
    shore = water.exterior
    place = shore.interpolate(turn / (2 * pi), normalized=True)
    around = place.buffer(radius, quad_segs=256)
    if shore.intersection(around).length > 0 and _pieces(shore, around) > 1:
        return  # another shore is in the disc: see the creek
    share = share_of(water, (place.x, place.y), radius)
    wet = water.intersection(around).area / around.area
    assert share.land == pytest.approx(1 - wet, abs=1e-4)


def _pieces(shore: LineString, around: Polygon) -> int:
    return len(shapely.get_parts(shapely.line_merge(shore.intersection(around))))


def test_only_its_own_shore_counts() -> None:
    # A creek of 12 m and a neck of land of 20 m: both are straight along their sides.
    creek = LAKE | box(2000, 494, 2600, 506)
    assert share_of(creek, (2300.0, 506.0), 100.0).land == pytest.approx(0.5)
    neck = LAKE - box(990, 0, 1010, 700)
    assert share_of(neck, (1010.0, 300.0), 100.0).land == pytest.approx(0.5)


def test_a_shore_all_within_the_disc() -> None:
    pond, around = disc(20), 100.0
    assert share_of(pond, (20.0, 0.0), around).land == pytest.approx(
        1 - pond.area / (pi * around**2)
    )
    rock = LAKE - affinity.translate(pond, 1000, 500)
    assert share_of(rock, (1020.0, 500.0), around).land == pytest.approx(
        pond.area / (pi * around**2)
    )


# Kinds, by hand


@pytest.mark.parametrize(
    ("water", "place", "kind"),
    [
        (LAKE, (600, 0), "straight bank"),
        (LAKE, (2000, 1000), "corner"),
        (LAKE - box(980, 0, 1060, 300), (1020, 300), "point"),
        (LAKE - Point(1000, 0).buffer(150), (1000, 150), "point"),
        # Half-way along the side of a long neck of land is no point.
        (LAKE - box(980, 0, 1020, 800), (1020, 300), "straight bank"),
        (LAKE - box(980, 0, 1020, 700), (1020, 540), "straight bank"),
        (LAKE - box(980, 0, 1020, 700), (1020, 690), "point"),
        (LAKE | Point(1000, 0).buffer(90), (1000, -90), "bay"),
        (LAKE | Point(1000, 0).buffer(150), (1000, -150), "bay"),
        (LAKE | box(2000, 450, 3000, 550), (3000, 500), "head of an arm"),
        (LAKE | box(2000, 480, 3000, 520), (3000, 500), "head of an arm"),
        (LAKE | box(2000, 480, 3000, 520), (2500, 520), "straight bank"),
        (
            LAKE | box(2000, 400, 2100, 600) | box(2100, 0, 4000, 1000),
            (2050, 400),
            "narrows",
        ),
        (LAKE - box(900, 450, 1100, 550), (1000, 550), "island"),
    ],
)
def test_kinds(water: Area, place: tuple[float, float], kind: str) -> None:
    assert kind_at(water, *place) == kind


def test_a_wide_ring_curves_gently() -> None:
    lake = disc(600)
    assert shore_form(lake, 0, 700).kind == "straight bank"
    assert shore_form(lake, 0, 700, reach_m=330).kind == "curving bank"


def test_a_small_crenellation_is_no_point() -> None:
    # Teeth of 8 m every 24 m along the south shore.
    teeth = [box(x, -1, x + 12, 8) for x in range(300, 1700, 24)]
    shore = LAKE - shapely.union_all(teeth)
    places = [(x, 8.0) for x in range(400, 1600, 13)]
    assert {kind_at(shore, *place) for place in places} <= {"straight bank", "bank"}
    # The same in the shape of 80 m every 240 m are points and bays.
    teeth = [box(x, -1, x + 120, 80) for x in range(300, 1700, 240)]
    shore = LAKE - shapely.union_all(teeth)
    assert kind_at(shore, 840, 80) == "point"
    assert kind_at(shore, 720, 0) in ("bay", "head of an arm")


def test_a_bend_of_a_channel_is_no_head() -> None:
    bend = LineString([(0, 0), (960, 0), (1000, 40), (960, 80), (0, 80)]).buffer(20)
    basin = box(-1500, -600, 0, 700)
    places = [(1020, 40), (1010, 10), (1010, 70)]
    assert "head of an arm" not in {kind_at(bend | basin, *xy) for xy in places}
    # Without the land between the two ways it is one.
    arm = box(0, 20, 980, 60) | bend | basin
    assert {kind_at(arm, *xy) for xy in places} == {"head of an arm"}


def test_a_channel_of_even_width_is_no_narrows() -> None:
    kinds = {kind_at(WINDING, x, y) for x, y in WINDING.exterior.coords}
    assert "narrows" not in kinds
    assert {kind_at(CREEKS, x, 590) for x in (115, 315, 515)} == {"head of an arm"}


def test_the_crossing_of_narrows() -> None:
    two = box(0, 0, 1000, 1000) | box(1000, 460, 1060, 540) | box(1060, 0, 2000, 1000)
    form = shore_form(polygonal(two), 1030, 455)
    assert form.kind == "narrows"
    assert form.crossing_m == pytest.approx(80, abs=1)
    assert shore_form(LAKE, 1000, 0).crossing_m == np.inf


@pytest.mark.parametrize(("length", "found"), [(2000, 875), (600, 437), (240, 219)])
def test_how_long_a_straight_shore_is(length: float, found: float) -> None:
    # Lengths of 1, 2, 4, 8 reaches of 109 m; a place in a straight shore's middle.
    rough = [(x, 40 * (x // 50 % 2)) for x in range(0, 2001, 50)]
    middle = [(x, y) for x, y in rough if abs(x - 1000) >= length / 2]
    south = (
        [p for p in middle if p[0] < 1000]
        + [
            (1000 - length / 2, 0.0),
            (1000 + length / 2, 0.0),
        ]
        + [p for p in middle if p[0] > 1000]
    )
    water = Polygon([*south, (2000, 1000), (0, 1000)])
    reach = 109.375
    form = shore_form(water, 1000, 0, reach_m=reach)
    assert form.kind == "straight bank"
    assert form.straight_m == pytest.approx(found, abs=1)


# Sides of islands


@pytest.mark.parametrize(
    ("island", "place", "said"),
    [
        (box(0, 0, 400, 100), (400, 50), "E end"),
        (box(0, 0, 400, 100), (10, 0), "W end"),
        (box(0, 0, 400, 100), (260, 100), "N side"),
        (box(0, 0, 100, 400), (50, 0), "S end"),
        (affinity.rotate(box(0, 0, 400, 100), 45), (340, 190), "NE end"),
        (Point(0, 0).buffer(50), (-36, 35), "NW side"),
        (Point(0, 0).buffer(50), (0, -50), "S side"),
    ],
)
def test_sides_of_islands(
    island: Polygon, place: tuple[float, float], said: str
) -> None:
    assert island_side(island, *place) == said


# What moving, turning and mirroring change: nothing


def along(water: Area, step_m: float) -> list[tuple[float, float]]:
    """Return places along all shores."""
    return [
        (place.x, place.y)
        for part in shapely.get_parts(water)
        for ring in (part.exterior, *part.interiors)
        for place in shapely.line_interpolate_point(
            ring, np.arange(0, ring.length, step_m)
        )
    ]


@given(
    st.floats(-180, 180),
    st.floats(-5000, 5000),
    st.booleans(),
    st.integers(0, 40),
)
@settings(max_examples=40)
def test_turned_moved_and_mirrored_it_is_the_same(
    turn_deg: float, shift_m: float, mirrored: bool, which: int
) -> None:
    water = ashlode.water()
    places = along(water, 420)
    place = Point(places[which % len(places)])
    first = shore_form(water, place.x, place.y)

    def moved(shape: BaseGeometry) -> BaseGeometry:
        turned = affinity.rotate(shape, turn_deg, origin=(0, 0))
        shifted = affinity.translate(turned, shift_m, -shift_m / 3)
        return affinity.scale(shifted, -1 if mirrored else 1, origin=(0, 0))

    form = shore_form(polygonal(moved(water)), *moved(place).coords[0])
    assert form.kind == first.kind
    assert form.share.land == pytest.approx(first.share.land, abs=1e-4)
    assert form.crossing_m == pytest.approx(first.crossing_m, abs=1e-3)


# Real lakes: origins in the data's INDEX.md


def real(name: str) -> Area:
    """Return the water of a real lake."""
    return build_venue([Feature("water", "", part) for part in lake_parts(name)]).water


def forms_of(water: Area, count: int = 120) -> list[ShoreForm]:
    return [shore_form(water, *place) for place in along(water, water.length / count)]


@pytest.mark.parametrize("name", REAL)
def test_kinds_of_real_shores_are_spread(name: str) -> None:
    kinds = Counter(form.kind for form in forms_of(real(name)))
    count = kinds.total()
    assert len(kinds) >= 5
    assert max(kinds.values()) < 0.75 * count
    assert 0.03 * count <= kinds["point"] <= 0.3 * count
    assert kinds["bay"] + kinds["head of an arm"] + kinds["corner"] <= 0.4 * count


def test_a_round_lake_has_no_points_and_no_arms() -> None:
    # The index calls it near-circular, Polsby-Popper 0.92.
    kinds = {form.kind for form in forms_of(real("nhd_crystal_lake"))}
    assert kinds <= {"straight bank", "curving bank", "bank"}


@pytest.mark.parametrize("name", ["nhd_spring_lake_19islands", "nhd_crab_lake"])
def test_islands_are_islands(name: str) -> None:
    water = real(name)
    for form in forms_of(water):
        on_outer = (
            water.exterior.distance(  # type: ignore[union-attr]
                Point(form.easting, form.northing)
            )
            < 1e-6
        )
        assert (form.kind == "island") == (form.island is not None) != on_outer


@pytest.mark.parametrize("name", REAL)
def test_points_and_bays_of_real_shores_by_plain_areas(name: str) -> None:
    """Land fills less than half of discs about points, more about bays and heads.

    By intersecting with a disc, which counts opposite shores too: these can only add
    land, so that a point may be missed in narrow water, and a bay never.
    """
    water = real(name)
    forms = forms_of(water)
    for form in forms:
        land = _land(water, form)
        if form.kind in ("bay", "corner", "head of an arm"):
            assert land > 0.55
    points = [form for form in forms if form.kind == "point"]
    alone = [form for form in points if form.crossing_m > form.share.radius_m]
    assert np.mean([_land(water, form) < 0.5 for form in alone]) > 0.8
    assert np.mean([form.share.height_m > 0 for form in points]) > 0.9


def _land(water: Area, form: ShoreForm) -> float:
    place = Point(form.easting, form.northing)
    around = place.buffer(form.share.radius_m)
    pieces = shapely.get_parts(water.intersection(around))
    mine = pieces[shapely.distance(pieces, place) < 1e-6]
    return 1 - float(shapely.area(mine).sum()) / around.area


def test_the_reach_follows_the_water() -> None:
    assert reach_of(box(0, 0, 1300, 1300)) == pytest.approx(100)
    assert reach_of(box(0, 0, 10, 10)) == 15
    assert reach_of(box(0, 0, 20_000, 20_000)) == 320


def test_the_smallest_water() -> None:
    for x, y in ((0.0, 0.0), (3.0, 0.0), (6.0, 6.0)):
        form = shore_form(box(0, 0, 6, 6), x, y)
        assert 0 <= form.share.land <= 1
        assert (form.easting, form.northing) == (x, y)
    places: Floats = np.array([(0.0, 0.0), (900.0, 0.0)])
    far = shore_form(LAKE, *places[1] - [0, 500])
    assert (far.easting, far.northing) == (900, 0)
