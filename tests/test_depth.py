"""How deep the water is: closed forms, and soundings of real lakes held back."""

import csv
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import KDTree
from shapely import LineString, Point, Polygon, box

from outside import lake_parts, outside
from sweptwater.arrays import Area, Floats, Ints
from sweptwater.errors import PracticeError
from sweptwater.frame import Frame, frame_around
from sweptwater.practice.geojson import Feature, parse_venue, venue_text
from sweptwater.practice.soundings import sounded, sounding_shape
from sweptwater.water.depth import (
    FAR_M,
    DepthSurface,
    depth_range_m,
    depth_surface,
    grid_in,
    mean_depth_m,
)
from sweptwater.water.shapes import polygonal

FRAME = Frame(lon=2.3, lat=54.95)
ROUND = Point(0, 0).buffer(300, quad_segs=64)
POOL = Polygon(box(-400, -200, 400, 200).exterior, [box(100, -20, 140, 20).exterior])


def soundings(easting: Floats, northing: Floats, depth_m: Floats) -> Feature:
    """Return soundings at places in metres of FRAME."""
    lon, lat = FRAME.to_degrees(easting, northing)
    return Feature("sounding", "", sounding_shape(lon, lat, depth_m))


def contour(line: LineString | Polygon, depth_m: float) -> Feature:
    """Return a contour that was drawn in metres of FRAME."""
    return Feature("contour", "", FRAME.degrees(line), depth_m)


def surface(*features: Feature, water: Area = POOL, **options: float) -> DepthSurface:
    """Return how deep a water is by some features."""
    found = depth_surface(features, FRAME, water, **options)
    assert found is not None
    return found


def lanes(water: Area, *, apart_m: float, step_m: float) -> Floats:
    """Return places along lanes, as a boat sounds: (n, 2)."""
    west, south, east, north = water.bounds
    at = np.stack(
        np.meshgrid(
            np.arange(west, east, step_m), np.arange(south + 9, north, apart_m)
        ),
        axis=-1,
    ).reshape(-1, 2)
    return at[shapely.contains_xy(water, at)]


def sounded_by(form: Callable[[Floats], Floats], water: Area) -> DepthSurface:
    """Return a water of a known form, sounded in lanes 50 m apart."""
    at = lanes(water, apart_m=50, step_m=4)
    return surface(soundings(at[:, 0], at[:, 1], form(at)), water=water)


def test_a_cone_is_told_everywhere() -> None:
    """Depth in proportion to the distance from the shore: a closed form."""

    def cone(at: Floats) -> Floats:
        return 0.03 * (300 - np.hypot(*at.T))

    found, at = sounded_by(cone, ROUND), grid_in(ROUND, 500)
    assert found.power == pytest.approx(1, abs=0.05)
    told_m = np.minimum(cone(at), found.told_m.max())  # never deeper than that
    assert found.depth_m(*at.T) == pytest.approx(told_m, abs=0.12)
    # The mean depth of a cone is a third of the deepest, 9 m; a tenth of its water is
    # shallower than 9 (1 - sqrt 0.9), a tenth deeper than 9 (1 - sqrt 0.1).
    assert np.nanmean(found.depth_m(*at.T)) == pytest.approx(3, abs=0.1)
    low_high = depth_range_m(found, ROUND)
    assert low_high == pytest.approx((0.462, 6.154), abs=0.15)


def test_a_plane_is_told_between_lanes() -> None:
    def plane(at: Floats) -> Floats:
        return 5 + at[:, 0] / 100

    found, at = sounded_by(plane, POOL), grid_in(POOL.buffer(-30), 500)
    error_m = np.abs(found.depth_m(*at.T) - plane(at))
    assert np.quantile(error_m, 0.95) < 0.2
    assert error_m.max() < 0.5


def test_contours_alone_tell_depths_between_them() -> None:
    rings = [contour(Point(0, 0).buffer(r), 0.03 * (300 - r)) for r in (250, 150, 60)]
    found = surface(*rings, water=ROUND)
    assert (found.soundings, found.contours) == (0, 3)
    for away in (295, 270, 200, 100, 20):
        depth_m = float(found.depth_m(np.array([0.0]), np.array([float(away)]))[0])
        assert depth_m == pytest.approx(min(0.03 * (300 - away), 7.2), abs=0.35)


def test_far_off_and_ashore_nobody_knows() -> None:
    found = surface(soundings(np.array([-390.0]), np.zeros(1), np.array([4.0])))
    easting = np.array([-390, -390 + FAR_M - 1, -390 + FAR_M + 1, 120, -401, 2000.0])
    known = np.isfinite(found.depth_m(easting, np.zeros(6)))
    assert known.tolist() == [True, True, False, False, False, False]
    assert found.good_to_m is None
    assert depth_range_m(found, POOL) is None
    way = np.array([-390.0, 300.0])
    assert mean_depth_m(found, way, np.zeros(2)) is None
    assert depth_surface([], FRAME, POOL) is None


def test_soundings_ashore_are_passed_over() -> None:
    there = soundings(np.array([0, 120, 900.0]), np.zeros(3), np.array([5, 50, 50.0]))
    found = surface(there, contour(LineString([(800, 0), (900, 0)]), 9.0))
    assert (found.soundings, found.contours) == (1, 0)
    assert found.depth_m(np.zeros(1), np.zeros(1)) == pytest.approx([5])


def test_a_low_level_takes_so_much_off() -> None:
    at = lanes(POOL, apart_m=50, step_m=5)
    said = soundings(at[:, 0], at[:, 1], np.full(len(at), 4.0))
    full, low = surface(said), surface(said, below_full_m=1.5)
    places = grid_in(POOL, 300)
    assert low.depth_m(*places.T) == pytest.approx(
        np.maximum(full.depth_m(*places.T) - 1.5, 0)
    )
    assert low.good_to_m == full.good_to_m


def test_along_a_way_and_on_the_mean() -> None:
    """On a plane the mean below a straight way is the depth in its middle."""

    def plane(at: Floats) -> Floats:
        return 5 + at[:, 0] / 100

    found = sounded_by(plane, POOL)
    easting = np.linspace(-300, 50, 400)
    along_m = found.depth_m(easting, np.full(400, 11.0))
    assert along_m == pytest.approx(5 + easting / 100, abs=0.2)
    mean_m = mean_depth_m(found, easting[[0, -1]], np.full(2, 11.0))
    assert mean_m == pytest.approx(5 - 1.25, abs=0.15)
    assert mean_depth_m(None, easting, easting) is None
    still = mean_depth_m(found, np.full(3, -100.0), np.full(3, 11.0))
    assert still == pytest.approx(4, abs=0.2)


@given(
    st.lists(
        st.tuples(
            st.floats(-420, 420), st.floats(-220, 220), st.floats(0, 40, width=32)
        ),
        min_size=1,
        max_size=40,
    ),
    st.floats(0, 10),
)
def test_never_below_nothing_nor_deeper_than_told(
    told: list[tuple[float, float, float]], below_m: float
) -> None:
    at = np.array(told)
    found = depth_surface([soundings(*at.T)], FRAME, POOL, below_full_m=below_m)
    if found is None:  # all of them lie on land, or on the very shore
        assert not shapely.contains_xy(POOL.buffer(-0.01), at[:, :2]).any()
        return
    places = grid_in(POOL, 200)
    depth_m = found.depth_m(*places.T)
    known = np.isfinite(depth_m)
    away_m, _ = KDTree(found.places).query(places)
    assert (known == (away_m <= FAR_M)).all()
    assert (depth_m[known] >= 0).all()
    # In degrees and back, a place on the shore may come to lie on the land.
    assert (depth_m[known] <= max(at[:, 2].max() - below_m, 0) + 1e-9).all()
    shore = POOL.boundary.interpolate(np.linspace(0, POOL.boundary.length, 100))
    wet_m = found.depth_m(shapely.get_x(shore), shapely.get_y(shore))
    assert np.nan_to_num(wet_m) == pytest.approx(0, abs=1e-9)


def caputh() -> tuple[Frame, Area, Floats]:
    """Return the frame and water of Lake Caputh, and its soundings on the water."""
    file = outside("depth/caputh_soundings.csv")
    parts = shapely.union_all(lake_parts("caputh_wgs84"))
    frame = frame_around(parts.bounds)
    water = polygonal(frame.metres(parts))
    with file.open(encoding="utf-8") as lines:
        rows = np.array(
            [
                [float(r[n]) for n in ("lon", "lat", "depth_m")]
                for r in csv.DictReader(lines)
            ]
        )
    at = np.column_stack(frame.to_metres(rows[:, 0], rows[:, 1]))
    return frame, water, rows[shapely.contains_xy(water, at)]


def held_back(frame: Frame, water: Area, rows: Floats, fold: Ints) -> Floats:
    """Return the error of each sounding, told by those of the other folds."""
    error_m = np.full(len(rows), np.nan)
    at = frame.to_metres(rows[:, 0], rows[:, 1])
    for which in np.unique(fold):
        held = fold == which
        rest = Feature("sounding", "", sounding_shape(*rows[~held].T))
        found = depth_surface([rest], frame, water)
        assert found is not None
        told_m = found.depth_m(at[0][held], at[1][held])
        error_m[held] = told_m - rows[held, 2]
    return error_m


def fold_of(block: Ints) -> Ints:
    """Return which fold each block falls into."""
    _, number = np.unique(block, axis=0, return_inverse=True)
    turns = np.random.default_rng(0).permutation(number.max() + 1)
    return np.asarray(turns[number.ravel()] % 8)


def test_soundings_of_lake_caputh_that_were_held_back() -> None:
    """Whole blocks and lines; single ones beside their neighbours come out better.

    The lake and the soundings are another survey's (INDEX.md beside them); depths there
    run to 9.2 m. Triangles with the shore at zero gave 0.75 m in blocks of 50 m.
    """
    frame, water, rows = caputh()
    at = np.column_stack(frame.to_metres(rows[:, 0], rows[:, 1]))
    number = np.arange(len(rows))[:, None]
    folds = {
        "one by one": np.random.default_rng(0).integers(0, 8, len(rows)),
        "blocks of 50 m": fold_of(np.floor(at / 50).astype(np.int64)),
        "blocks of 100 m": fold_of(np.floor(at / 100).astype(np.int64)),
        "lines": fold_of(number // 60),
    }
    rms_m = {
        name: float(np.sqrt(np.nanmean(held_back(frame, water, rows, fold) ** 2)))
        for name, fold in folds.items()
    }
    most = {
        "one by one": 0.2,
        "blocks of 50 m": 0.33,
        "blocks of 100 m": 0.43,
        "lines": 0.45,
    }
    assert all(rms_m[name] < most[name] for name in most), rms_m


def test_what_it_says_of_itself_holds_for_what_it_never_saw() -> None:
    """Half the blocks build it, and its own word is held against the other half."""
    frame, water, rows = caputh()
    at = np.column_stack(frame.to_metres(rows[:, 0], rows[:, 1]))
    block = fold_of(np.floor(at / 50).astype(np.int64))
    seen = block % 2 == 0
    found = depth_surface(
        [Feature("sounding", "", sounding_shape(*rows[seen].T))], frame, water
    )
    assert found is not None
    assert found.good_to_m is not None
    error_m = np.abs(found.depth_m(*at[~seen].T) - rows[~seen, 2])
    within = np.nanmean(error_m <= found.good_to_m)
    assert 0.7 < within < 0.93  # eight of ten


def test_soundings_of_lake_227_that_were_held_back() -> None:
    """Its outline is not at hand: the shore is taken 5 m around the soundings.

    Soundings of IISD-ELA, Ontario (INDEX.md beside them), to 11 m deep.
    """
    file = outside("depth/ela_lake227_soundings.csv")
    with file.open(encoding="utf-8") as lines:
        rows = np.array(
            [
                [float(r["x"]), float(r["y"]), -float(r["z"])]
                for r in csv.DictReader(lines)
            ]
        )
    rows = rows[rows[:, 0] > -93.7]  # two stand on another water
    frame = Frame(lon=-93.689, lat=49.688)
    at = np.column_stack(frame.to_metres(rows[:, 0], rows[:, 1]))
    water = shapely.concave_hull(shapely.MultiPoint(at), ratio=0.1).buffer(5)
    fold = fold_of(np.floor(at / 30).astype(np.int64))
    error_m = held_back(frame, water, rows, fold)
    assert np.sqrt(np.nanmean(error_m**2)) < 0.9
    assert np.nanmedian(np.abs(error_m)) < 0.35


def test_many_soundings_are_read_at_once() -> None:
    """They come back as they were: one feature, heights below 0."""
    rng = np.random.default_rng(1)
    lon, lat = rng.uniform(2, 2.1, 5000).round(8), rng.uniform(50, 50.1, 5000).round(8)
    depth_m = rng.uniform(0, 30, 5000).round(3)
    water = Feature("water", "", box(2, 50, 2.1, 50.1))
    text = venue_text(
        [water, Feature("sounding", "", sounding_shape(lon, lat, depth_m))]
    )
    read = parse_venue(text)[1]
    assert np.column_stack(sounded(read.shape)) == pytest.approx(
        np.column_stack((lon, lat, depth_m)), abs=1e-9
    )
    assert venue_text([water, read]) == venue_text(parse_venue(text))


def test_soundings_across_the_antimeridian_keep_their_depths() -> None:
    shape = sounding_shape([179.99, 180.01], [0.0, 0.0], [3.0, 4.0])
    text = venue_text([Feature("sounding", "", shape)])
    lon, _, depth_m = sounded(parse_venue(text)[0].shape)
    assert sorted(np.mod(lon, 360).round(6)) == [179.99, 180.01]
    assert sorted(depth_m) == [3.0, 4.0]


@pytest.mark.parametrize(
    ("kind", "shape", "depth", "told"),
    [
        ("sounding", "[2, 50]", "", "a sounding without a depth"),
        ("sounding", "[2, 50, 3]", "", "has a depth of -3 m"),
        ("sounding", "[2, 50, -400]", "", "has a depth of 400 m"),
        ("sounding", "[2, 50]", ', "depth_m": "x"', "has the depth_m 'x'"),
        ("contour", "[[2, 50], [3, 50]]", "", "has the depth_m None"),
        ("contour", "[[2, 50], [3, 50]]", ', "depth_m": -1', "has the depth_m -1"),
        ("contour", "[[2, 50], [3, 50]]", ', "depth_m": true', "the depth_m True"),
    ],
)
def test_depths_in_the_venue_that_cannot_be(
    kind: str, shape: str, depth: str, told: str
) -> None:
    drawn = "Point" if kind == "sounding" else "LineString"
    text = (
        f'{{"features": [{{"properties": {{"kind": "{kind}"{depth}}}, '
        f'"geometry": {{"type": "{drawn}", "coordinates": {shape}}}}}]}}'
    )
    with pytest.raises(PracticeError, match=told.replace("(", r"\(")):
        parse_venue(text)


def test_a_sounding_by_hand_is_one() -> None:
    text = (
        '{"features": [{"properties": {"kind": "sounding", "depth_m": 4.5}, '
        '"geometry": {"type": "Point", "coordinates": [2.3, 54.95]}}]}'
    )
    _, _, depth_m = sounded(parse_venue(text)[0].shape)
    assert depth_m.tolist() == [4.5]
