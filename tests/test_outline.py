"""Outlines: the same water from every format, mended and told, or refused plainly."""

import json
import re
import warnings
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from shapely import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from outside import ONE_WATER, geodesic_m2_m, lake_parts, lake_path, outside
from shapes import (
    ANNULUS,
    BOW_TIE,
    FRAME,
    RECTANGLE,
    TWO_ISLANDS,
    TWO_PARTS,
    ZOO,
    degrees,
    geojson_file,
)
from sweptwater.arrays import Area
from sweptwater.errors import VenueError
from sweptwater.frame import Frame
from sweptwater.water.outline import NamedShape, Outline, read_features, read_outline
from sweptwater.water.shapes import polygonal, water_frame


def outline_of(
    path: Path, *, crs: str | None = None, only: tuple[int, ...] = ()
) -> Outline:
    return read_outline(read_features(path, crs=crs), only=frozenset(only))


def drawn(*shapes: BaseGeometry, frame: Frame = FRAME) -> Outline:
    """Return what is made of shapes in metres, without a file."""
    return read_outline(
        [NamedShape(i, "", degrees(s, frame)) for i, s in enumerate(shapes, 1)]
    )


def area_m2(outline: Outline) -> float:
    return float(water_frame([outline.water]).metres(outline.water).area)


def refusal(*shapes: BaseGeometry) -> str:
    with pytest.raises(VenueError) as caught:
        drawn(*shapes)
    return str(caught.value)


# One lake, many formats


def to_geojson(path: Path) -> Path:
    return geojson_file(path / "lake.geojson", degrees(TWO_ISLANDS), names=("Ashlode",))


def frame_of(
    shape: BaseGeometry = TWO_ISLANDS, name: str = "Ashlode"
) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame({"name": [name]}, geometry=[degrees(shape)], crs=4326)


def to_geopackage(path: Path) -> Path:
    frame_of().to_file(path / "lake.gpkg", layer="lake")
    return path / "lake.gpkg"


def to_geopackage_in_metres(path: Path) -> Path:
    frame_of().to_crs(25832).to_file(path / "lake.gpkg", layer="lake")
    return path / "lake.gpkg"


def to_shapefile(path: Path) -> Path:
    frame_of().to_file(path / "lake.shp")
    return path / "lake.shp"


def to_shapefile_in_metres(path: Path) -> Path:
    frame_of().to_crs(3035).to_file(path / "lake.shp")
    return path / "lake.shp"


def to_flatgeobuf(path: Path) -> Path:
    frame_of().to_file(path / "lake.fgb")
    return path / "lake.fgb"


def to_kml(path: Path) -> Path:
    rings = [
        " ".join(f"{lon!r},{lat!r},80" for lon, lat in ring.coords)
        for ring in (degrees(TWO_ISLANDS).exterior, *degrees(TWO_ISLANDS).interiors)
    ]
    bounds = "".join(
        f"<{side}BoundaryIs><LinearRing><coordinates>{ring}</coordinates></LinearRing>"
        f"</{side}BoundaryIs>"
        for side, ring in zip(("outer", "inner", "inner"), rings, strict=True)
    )
    # Two folders: GDAL makes a layer of each, and the water is in the second.
    (path / "lake.kml").write_text(
        '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2">'
        "<Document><Folder><name>marks</name><Placemark><name>Tower</name><Point>"
        "<coordinates>10,50,0</coordinates></Point></Placemark></Folder>"
        "<Folder><name>water</name><Placemark><name>Ashlode</name>"
        f"<Polygon>{bounds}</Polygon></Placemark></Folder></Document></kml>"
    )
    return path / "lake.kml"


@pytest.mark.parametrize(
    "write",
    [
        to_geojson,
        to_geopackage,
        to_geopackage_in_metres,
        to_shapefile,
        to_shapefile_in_metres,
        to_flatgeobuf,
        to_kml,
    ],
)
def test_every_format_gives_the_same_water(
    write: Callable[[Path], Path], tmp_path: Path
) -> None:
    path = write(tmp_path)
    features = read_features(path)
    assert features[-1].name == "Ashlode"
    assert [item.number for item in features] == list(range(1, len(features) + 1))
    outline = read_outline(features)
    # Straight edges of another projection bend by millimetres here.
    assert area_m2(outline) == pytest.approx(TWO_ISLANDS.area, rel=1e-5)
    assert isinstance(outline.water, Polygon)
    assert len(outline.water.interiors) == 2
    assert not outline.water.has_z
    left_out = ("1 feature without area left out",) if path.suffix == ".kml" else ()
    assert outline.repairs == left_out


def test_state_plane_in_us_survey_feet() -> None:
    # Lake Texana in NAD83 State Plane, US survey feet: 39.16 km2, 22 islands (the
    # data's INDEX.md).
    path = outside("lakes/texana_shp_usfeet/texana_boundary_v2.shp")
    outline = outline_of(path)
    assert area_m2(outline) == pytest.approx(39.16e6, rel=2e-4)
    # The planar area of the file itself in survey feet (1200 / 3937 m; from memory),
    # against which the grid's scale is off by less than 3e-4.
    raw = gpd.read_file(path).geometry.area.sum() * (1200 / 3937) ** 2
    assert area_m2(outline) == pytest.approx(raw, rel=3e-4)
    assert len(shapely.get_rings(outline.water)) == 23


@pytest.mark.parametrize("name", ONE_WATER)
def test_real_lakes_keep_their_area_and_islands(name: str) -> None:
    outline = outline_of(lake_path(name))
    parts = lake_parts(name)
    geodesic_m2 = sum(geodesic_m2_m(part)[0] for part in parts)
    assert area_m2(outline) == pytest.approx(geodesic_m2, rel=1e-5)
    assert outline.water.is_valid
    rings = sum(1 + len(part.interiors) for part in parts)
    assert len(shapely.get_rings(outline.water)) == rings
    # Some of them do have points twice.
    doubled = sum(
        int((np.diff(ring.coords, axis=0) == 0).all(axis=1).sum())
        for part in parts
        for ring in (part.exterior, *part.interiors)
    )
    assert len(outline.repairs) == (doubled > 0)
    assert all("twice over: dropped" in repair for repair in outline.repairs)


def test_a_lake_in_parts_is_taken_whole_and_told() -> None:
    features = read_features(lake_path("nhd_vilas_multipolygons"))
    assert [item.number for item in features] == list(range(1, 9))
    with pytest.raises(VenueError, match=r"several waters that do not touch: 1 "):
        read_outline(features)
    for item in features:
        outline = read_outline(features, only=frozenset({item.number}))
        metres = water_frame([item.shape]).metres(item.shape)
        assert area_m2(outline) == pytest.approx(metres.area, rel=1e-6)
        if len(shapely.get_parts(outline.water)) > 1:
            assert "parts that do not touch: all were taken" in outline.repairs[-1]


# What is no outline


@pytest.mark.parametrize("name", sorted(ZOO))
def test_sound_shapes_are_left_as_they_are(name: str) -> None:
    outline = drawn(ZOO[name])
    told = (
        ()
        if name != "two parts"
        else ("the water is 2 parts that do not touch: all were taken",)
    )
    assert outline.repairs == told
    there = FRAME.metres(outline.water)
    # Kept to a tenth of a millimetre.
    assert there.symmetric_difference(ZOO[name]).area < 1e-4 * ZOO[name].length


@pytest.mark.parametrize(
    ("shape", "told"),
    [
        (LineString([(0, 0), (900, 0), (900, 900)]), "a line that does not close"),
        (shapely.MultiPoint([(0, 0), (9, 9)]), "points, not an area"),
        (Point(0, 0), "a point, not an area"),
        (
            shapely.MultiLineString([[(0, 0), (9, 0)], [(5, 5), (9, 9)]]),
            "lines that do not close",
        ),
        (Polygon([(0, 0), (500, 0), (900, 0), (0, 0)]), "has no area"),
        (Polygon([(0, 0), (500, 500), (0, 0), (0, 0)]), "has no area"),
        (Polygon([(0, 0), (0, 0), (0, 0), (0, 0)]), "has no area"),
    ],
)
def test_what_has_no_area_is_refused(shape: BaseGeometry, told: str) -> None:
    message = refusal(shape)
    assert told in message
    assert re.search(r"draw it", message)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("empty.geojson", "", "cannot be read as a map file"),
        ("notes.txt", "Dear all", "cannot be read as a map file"),
        ("half.geojson", '{"type": "FeatureColl', "cannot be read as a map file"),
        (
            "none.geojson",
            '{"type":"FeatureCollection","features":[]}',
            "holds no shapes",
        ),
        ("table.csv", "name,acres\nAshlode,1100\n", "holds no shapes"),
    ],
)
def test_files_that_are_no_maps(
    name: str, text: str, told: str, tmp_path: Path
) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(VenueError, match=told) as caught:
        read_features(tmp_path / name)
    assert name in str(caught.value)
    assert str(tmp_path) not in str(caught.value)
    assert "driver" not in str(caught.value)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(VenueError, match=r"there is no file .*gone\.shp"):
        read_features(tmp_path / "gone.shp")


def test_features_without_shapes_are_passed_over(tmp_path: Path) -> None:
    path = geojson_file(tmp_path / "l.geojson", None, degrees(RECTANGLE), Polygon())
    features = read_features(path)
    assert [item.number for item in features] == [2]
    assert area_m2(read_outline(features)) == pytest.approx(RECTANGLE.area, rel=1e-6)
    with pytest.raises(VenueError, match=r"holds no shapes: draw the water"):
        read_features(geojson_file(tmp_path / "n.geojson", None, None))


# Coordinate systems


def test_without_a_coordinate_system_it_is_refused_until_named(tmp_path: Path) -> None:
    path = to_shapefile_in_metres(tmp_path)
    path.with_suffix(".prj").unlink()
    with pytest.raises(VenueError, match=r"a Shapefile needs its \.prj.*--crs"):
        read_features(path)
    outline = outline_of(path, crs="EPSG:3035")
    assert area_m2(outline) == pytest.approx(TWO_ISLANDS.area, rel=1e-5)


@pytest.mark.parametrize("crs", ["EPSG:999999", "yards", "+proj=nothing"])
def test_an_unknown_coordinate_system_is_named(crs: str, tmp_path: Path) -> None:
    path = to_shapefile_in_metres(tmp_path)
    path.with_suffix(".prj").unlink()
    with pytest.raises(VenueError, match=re.escape(repr(crs)) + " is no coordinate"):
        read_features(path, crs=crs)


def test_a_coordinate_system_that_is_nowhere(tmp_path: Path) -> None:
    path = to_shapefile(tmp_path)
    path.with_suffix(".prj").write_text('LOCAL_CS["Drawing",UNIT["metre",1]]')
    with pytest.raises(VenueError, match=r"lake\.shp.*(no place on Earth|its coord)"):
        read_features(path)


def test_two_coordinate_systems_are_one_too_many(tmp_path: Path) -> None:
    path = to_shapefile_in_metres(tmp_path)
    with pytest.raises(VenueError, match="leave --crs out"):
        read_features(path, crs="EPSG:25832")
    same = outline_of(path, crs="EPSG:3035")
    assert area_m2(same) == pytest.approx(TWO_ISLANDS.area, rel=1e-5)


def test_projected_numbers_in_a_geojson(tmp_path: Path) -> None:
    metres = frame_of().to_crs(25832).geometry.iloc[0]
    path = geojson_file(tmp_path / "lake.geojson", metres)
    with pytest.raises(VenueError, match=r"up to 5,5\d\d,\d\d\d, which are no degrees"):
        read_features(path)
    # RFC 7946 knows no other system than WGS 84, so the user has to say it.
    outline = outline_of(path, crs="EPSG:25832")
    assert area_m2(outline) == pytest.approx(TWO_ISLANDS.area, rel=1e-5)


def test_an_older_geojson_says_its_own_coordinate_system(tmp_path: Path) -> None:
    frame_of().to_crs(25832).to_file(tmp_path / "lake.geojson", driver="GeoJSON")
    assert '"crs"' in (tmp_path / "lake.geojson").read_text()
    outline = outline_of(tmp_path / "lake.geojson")
    assert area_m2(outline) == pytest.approx(TWO_ISLANDS.area, rel=1e-5)


def test_latitude_first_is_noticed_where_it_can_be(tmp_path: Path) -> None:
    east = Frame(lon=150.0, lat=-36.0).degrees(RECTANGLE)
    swapped = shapely.transform(east, lambda xy: xy[:, ::-1])
    with pytest.raises(VenueError, match="latitudes up to 150: latitude and longitude"):
        read_features(geojson_file(tmp_path / "lake.geojson", swapped))


def test_no_place_on_earth(tmp_path: Path) -> None:
    frame = gpd.GeoDataFrame(geometry=[box(1e12, 1e12, 2e12, 2e12)], crs=25832)
    frame.to_file(tmp_path / "lake.gpkg", layer="lake")
    with pytest.raises(VenueError, match="no place on Earth: is its coordinate system"):
        read_features(tmp_path / "lake.gpkg")


# What is mended, and told


def test_an_unclosed_ring_is_closed_and_told(tmp_path: Path) -> None:
    ring = [list(place) for place in shapely.get_coordinates(degrees(RECTANGLE))[:-1]]
    geometry = {"type": "Polygon", "coordinates": [ring]}
    path = tmp_path / "lake.geojson"
    path.write_text(
        json.dumps({"type": "Feature", "properties": {}, "geometry": geometry})
    )
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        outline = outline_of(path)
    assert area_m2(outline) == pytest.approx(RECTANGLE.area, rel=1e-6)
    assert outline.repairs == ("a ring that did not end where it began was closed",)


def test_points_twice_over() -> None:
    places = np.repeat(shapely.get_coordinates(RECTANGLE), 2, axis=0)
    outline = drawn(Polygon(places))
    assert area_m2(outline) == pytest.approx(RECTANGLE.area, rel=1e-6)
    assert outline.repairs == ("feature 1 had 5 points twice over: dropped",)


def test_a_closed_line_is_water() -> None:
    outline = drawn(LineString(RECTANGLE.exterior))
    assert area_m2(outline) == pytest.approx(RECTANGLE.area, rel=1e-6)
    assert "closed line" in outline.repairs[0]


def test_lines_that_close_together_are_water() -> None:
    ring = list(RECTANGLE.exterior.coords)
    outline = drawn(shapely.MultiLineString([ring[:3], ring[2:]]))
    assert area_m2(outline) == pytest.approx(RECTANGLE.area, rel=1e-6)
    assert "closed line" in outline.repairs[0]


def test_areas_in_a_collection_are_water_points_are_not() -> None:
    both = GeometryCollection(
        [Point(0, 0), MultiPolygon([box(0, 0, 100, 100), box(100, 0, 200, 100)])]
    )
    assert area_m2(drawn(both)) == pytest.approx(20_000, rel=1e-6)


def test_a_small_crossing_is_mended_and_told() -> None:
    # The last but one point overshoots the first edge: a loop of 2 x 40 m beside it.
    shape = Polygon([(0, 0), (600, 0), (600, 400), (2, 400), (2, -40), (0, -40)])
    outline = drawn(shape)
    assert outline.repairs == ("feature 1 crossed itself (self-intersection): mended",)
    assert isinstance(outline.water, Polygon)
    assert area_m2(outline) == pytest.approx(598 * 400, rel=2e-3)


def test_a_bow_tie_is_refused_with_its_doubt() -> None:
    assert re.search(
        r"feature 1 crosses itself .*: 50% of it could be water or land; mend the "
        r"crossing",
        refusal(BOW_TIE),
    )


def test_a_stroke_that_goes_round_an_island_the_same_way_is_refused() -> None:
    # Even-odd filling shows an island of 300 x 300, counting turns shows water.
    ring = [(0, 0), (900, 0), (900, 900), (0, 900), (0, 300), (600, 300), (600, 600)]
    loop = [(300, 600), (300, 10), (0, 10)]
    assert "could be water or land" in refusal(Polygon([*ring, *loop]))


def test_an_island_drawn_into_the_shore_ring_stays_land() -> None:
    # The ring touches itself at (300, 0), as some programs write islands.
    shape = Polygon(
        [
            (0, 0),
            (300, 0),
            (200, 200),
            (400, 200),
            (300, 0),
            (600, 0),
            (600, 600),
            (0, 600),
        ]
    )
    assert not shape.is_valid
    outline = drawn(shape)
    assert area_m2(outline) == pytest.approx(360_000 - 20_000, rel=1e-6)


def test_an_island_that_sticks_out_of_its_lake_makes_no_water() -> None:
    shape = Polygon(RECTANGLE.exterior, [box(990, 0, 1020, 30).exterior])
    outline = drawn(shape)
    assert area_m2(outline) == pytest.approx(RECTANGLE.area - 10 * 30, rel=1e-6)
    assert "mended" in outline.repairs[0]


def test_parts_that_overlap_are_one_water_not_a_hole() -> None:
    parts = MultiPolygon([box(0, 0, 400, 400), box(300, 300, 700, 700)])
    outline = drawn(parts)
    assert area_m2(outline) == pytest.approx(2 * 160_000 - 10_000, rel=1e-6)
    assert outline.repairs == ("feature 1 had parts that overlapped: joined",)


def test_features_that_overlap_or_touch_are_joined_and_told() -> None:
    for other in (box(300, 0, 700, 400), box(400, 0, 700, 400)):
        outline = drawn(box(0, 0, 400, 400), other)
        assert area_m2(outline) == pytest.approx(700 * 400, rel=1e-6)
        assert outline.repairs == ("2 shapes that touch were joined to one water",)


def test_a_chain_of_features_is_one_water() -> None:
    outline = drawn(*(box(x, 0, x + 100, 100) for x in (400, 0, 200, 100, 300)))
    assert area_m2(outline) == pytest.approx(50_000, rel=1e-6)


def test_a_gap_that_drawing_left_is_closed() -> None:
    outline = drawn(box(0, 0, 400, 400), box(400.6, 0, 700, 400))
    assert isinstance(outline.water, Polygon)
    assert area_m2(outline) == pytest.approx(700 * 400, rel=1e-5)


def test_a_gap_within_the_water_is_no_island() -> None:
    east = Polygon([(400, 0), (700, 0), (700, 400), (400, 400), (400.5, 200)])
    outline = drawn(box(0, 0, 400, 400), east)
    assert isinstance(outline.water, Polygon)
    assert len(outline.water.interiors) == 0
    assert area_m2(outline) == pytest.approx(700 * 400, rel=1e-5)


def test_a_part_that_lies_apart_does_not_part_features_that_touch() -> None:
    outline = drawn(TWO_PARTS, box(300, 0, 400, 300))
    assert area_m2(outline) == pytest.approx(TWO_PARTS.area + 30_000, rel=1e-6)


def test_slivers_are_dropped_and_told() -> None:
    hole = box(100, 100, 100.5, 100.5)
    water = MultiPolygon(
        [Polygon(RECTANGLE.exterior, [hole.exterior]), box(2000, 0, 2300, 0.5)]
    )
    outline = drawn(water)
    assert area_m2(outline) == pytest.approx(RECTANGLE.area, rel=1e-6)
    assert outline.repairs == ("2 slivers were dropped",)


def test_points_beside_the_water_are_left_out_and_told() -> None:
    outline = drawn(RECTANGLE, Point(0, 0))
    assert outline.repairs == ("1 feature without area left out",)


# Several waters


def test_several_waters_are_listed_and_one_is_picked(tmp_path: Path) -> None:
    path = geojson_file(
        tmp_path / "waters.geojson",
        degrees(box(0, 0, 300, 300)),
        degrees(ANNULUS.buffer(0)),
        degrees(box(5000, 0, 5600, 900)),
        names=("Upper", "", "Lower"),
    )
    # 90,000 m2 are 22.2 acres; 540,000 m2 are 133 acres.
    told = r"1 Upper, 22\.2 acres; 2 without a name, .*; 3 Lower, 133 acres\. Say which"
    with pytest.raises(VenueError, match=told):
        outline_of(path)
    assert area_m2(outline_of(path, only=(3,))) == pytest.approx(540_000, rel=1e-6)
    with pytest.raises(
        VenueError, match="features 1 to 3, and no shape with the number 4"
    ):
        outline_of(path, only=(3, 4))


def test_a_long_list_is_cut() -> None:
    ponds = [box(x, 0, x + 30, 30) for x in range(0, 2000, 100)]
    assert "; 12 without a name, 0.22 acres; and 8 more. Say" in refusal(*ponds)


def test_waters_a_continent_apart_are_listed_not_measured() -> None:
    far = shapely.affinity.translate(degrees(RECTANGLE), 170)
    with pytest.raises(VenueError, match="several waters"):
        read_outline([NamedShape(1, "", degrees(RECTANGLE)), NamedShape(2, "", far)])


# Across the antimeridian: RFC 7946, section 3.1.9


@pytest.mark.parametrize("form", ["one feature", "two features", "0 to 360", "leaping"])
def test_a_lake_across_the_antimeridian(form: str, tmp_path: Path) -> None:
    there = Frame(lon=179.996, lat=-16.8)
    whole = there.degrees(TWO_ISLANDS)
    places = shapely.get_coordinates(whole)
    west = polygonal(whole.intersection(box(0, -90, 180, 90)))
    beyond = whole.intersection(box(180, -90, 360, 90))
    east = polygonal(shapely.affinity.translate(beyond, -360))
    leaping = shapely.transform(
        whole,
        lambda xy: np.column_stack(
            [np.where(xy[:, 0] > 180, xy[:, 0] - 360, xy[:, 0]), xy[:, 1]]
        ),
    )
    assert places[:, 0].max() > 180
    forms: dict[str, list[BaseGeometry]] = {
        "one feature": [shapely.union_all([west, east])],
        "two features": [west, east],
        "0 to 360": [whole],
        "leaping": [leaping],
    }
    outline = outline_of(geojson_file(tmp_path / "lake.geojson", *forms[form]))
    assert isinstance(outline.water, Polygon)
    assert len(outline.water.interiors) == 2
    assert area_m2(outline) == pytest.approx(TWO_ISLANDS.area, rel=1e-6)
    told = {"two features": ("2 shapes that touch were joined to one water",)}
    assert outline.repairs == told.get(form, ())


# Whatever is drawn


@st.composite
def scribbles(draw: st.DrawFn) -> Polygon:
    """Return a lake-like ring, some of whose points were misplaced."""
    count = draw(st.integers(5, 24))
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    reach = np.array(
        draw(st.lists(st.integers(150, 600), min_size=count, max_size=count))
    )
    places = np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])
    swapped = draw(st.lists(st.integers(0, count - 2), max_size=2))
    for i in swapped:
        places[[i, i + 1]] = places[[i + 1, i]]
    return Polygon(places)


@given(st.lists(scribbles(), min_size=1, max_size=2), st.booleans())
@example([Polygon([(0, 0), (400, 0), (400, 300), (0, 300)])], False)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_what_is_taken_is_valid_and_as_large_as_drawn(
    scribbled: list[Polygon], many: bool
) -> None:
    shape: Area = MultiPolygon(scribbled) if many else scribbled[0]
    outline = None
    with suppress(VenueError):
        outline = drawn(shape)
    parts = shapely.get_parts(shape)
    if outline is None:
        assert not all(part.is_valid for part in parts)
        return
    assert outline.water.is_valid
    assert not outline.water.is_empty
    mended = [shapely.make_valid(part) for part in parts]  # fills by even and odd
    whole_m2 = shapely.union_all(mended).area
    # Crossings leave no more in doubt than is let pass.
    doubt_m2 = 0.06 * shapely.area(mended).sum()
    assert area_m2(outline) == pytest.approx(whole_m2, abs=doubt_m2)
    if all(part.is_valid for part in parts):
        assert area_m2(outline) == pytest.approx(whole_m2, rel=1e-6)
