"""Routes and waypoints for a GPS, as other readers and the GPX 1.1 schema have them."""

from pathlib import Path

import gpxpy
import pyogrio
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from sweptwater.paper.gpx import Mark, Route, marks_gpx, routes_gpx, short_names

HERON = (
    Route("H1", ((-0.5, 52.5), (-0.495, 52.503), (-0.49, 52.51)), "420 yd, 045 NE"),
    Route("H2", ((-0.52, 52.5), (-0.51, 52.51))),
)
JETTY = Mark("Jetty", -0.511, 52.507, "home by 17:00")
ODD = (
    "<rte>",
    "a & b",
    "\"quoted\" 'twice'",
    "Ča-ňa 水",
    "]]>",
    "🐟",
    "nul\0",
    "\ud800",
)

# A name of blanks is none, and blanks within one are made single.
NAMES = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1)
PLACES = st.tuples(st.floats(-180, 180), st.floats(-90, 90))


def test_gpxpy_reads_what_was_written() -> None:
    gpx = gpxpy.parse(routes_gpx("Heron, 9 June", HERON, [JETTY]).decode())
    assert (gpx.name, gpx.version, gpx.tracks) == ("Heron, 9 June", "1.1", [])
    assert [(r.name, r.description, r.number) for r in gpx.routes] == [
        ("H1", "420 yd, 045 NE", 1),
        ("H2", None, 2),
    ]
    first = [(p.longitude, p.latitude, p.name) for p in gpx.routes[0].points]
    assert first == [
        (-0.5, 52.5, "H1 start"),
        (-0.495, 52.503, None),
        (-0.49, 52.51, "H1 end"),
    ]
    names = [mark.name for mark in gpx.waypoints]
    assert names == ["H1 start", "H1 end", "H2 start", "H2 end", "Jetty"]
    assert gpx.waypoints[-1].description == "home by 17:00"


def test_gdal_reads_what_was_written(tmp_path: Path) -> None:
    file = tmp_path / "heron.gpx"
    file.write_bytes(routes_gpx("Heron", HERON, [JETTY]))
    routes = pyogrio.read_dataframe(file, layer="routes")
    assert routes["name"].tolist() == ["H1", "H2"]
    ways = [tuple(line.coords) for line in routes.geometry]
    assert ways == [route.points for route in HERON]
    marks = pyogrio.read_dataframe(file, layer="waypoints")
    assert marks["name"].tolist()[::4] == ["H1 start", "Jetty"]
    assert len(pyogrio.read_dataframe(file, layer="route_points")) == 5


def test_children_stand_in_the_order_of_the_schema() -> None:
    """The types of the GPX 1.1 schema, as far as we use them: from memory."""
    order = {
        "gpx": ["metadata", "wpt", "rte", "trk"],
        "wpt": ["name", "cmt", "desc"],
        "rtept": ["name", "cmt", "desc"],
        "rte": ["name", "cmt", "desc", "src", "link", "number", "type", "rtept"],
        "metadata": ["name"],
    }
    root = etree.fromstring(routes_gpx("Heron", HERON, [JETTY]))
    for element in root.iter():
        name, space = etree.QName(element).localname, etree.QName(element).namespace
        assert space == "http://www.topografix.com/GPX/1/1"
        found = [order[name].index(etree.QName(child).localname) for child in element]
        assert found == sorted(found), name
    assert set(root.attrib) == {"version", "creator"}


@pytest.mark.parametrize("name", ODD)
def test_any_name_can_be_read_back(name: str) -> None:
    route = Route(name, ((0, 0), (1, 1)), note=name)
    gpx = gpxpy.parse(routes_gpx(name, [route], [Mark(name, 2, 2, name)]).decode())
    kept = "nul\ufffd" if "\0" in name else "\ufffd" if name == "\ud800" else name
    found = (gpx.name, gpx.routes[0].name, gpx.routes[0].description)
    assert found == (kept, kept, kept)
    assert gpx.waypoints[-1].name == gpx.waypoints[-1].description == kept
    assert gpx.routes[0].points[0].name == f"{kept} start"


@given(
    st.lists(st.tuples(NAMES, st.lists(PLACES, min_size=2)), max_size=4),
    st.lists(st.tuples(NAMES, PLACES), max_size=4),
)
def test_read_of_write_is_the_same(
    routes: list[tuple[str, list[tuple[float, float]]]],
    marks: list[tuple[str, tuple[float, float]]],
) -> None:
    data = routes_gpx(
        "x",
        [Route(name, tuple(points)) for name, points in routes],
        [Mark(name, *place) for name, place in marks],
    )
    gpx = gpxpy.parse(data.decode())
    assert [route.name for route in gpx.routes] == [name for name, _ in routes]
    assert [m.name for m in gpx.waypoints[2 * len(routes) :]] == [n for n, _ in marks]
    found = [(p.longitude, p.latitude) for r in gpx.routes for p in r.points]
    found += [(m.longitude, m.latitude) for m in gpx.waypoints[2 * len(routes) :]]
    wanted = [place for _, points in routes for place in points]
    wanted += [place for _, place in marks]
    assert all(-180 <= lon < 180 and -90 <= lat <= 90 for lon, lat in found)
    for (lon, lat), (lon_0, lat_0) in zip(found, wanted, strict=True):
        assert abs(lat - lat_0) < 1e-7
        assert min(abs(lon - lon_0), 360 - abs(lon - lon_0)) < 1e-7


def test_the_180th_meridian_has_one_name() -> None:
    for lon in (180.0, 179.99999999, -180.0):
        assert b'lon="-180.0000000"' in marks_gpx("x", [Mark("M", lon, 0)])


def test_a_route_has_two_ends() -> None:
    with pytest.raises(ValueError, match="needs two points, 'H1' has fewer"):
        Route("H1", ((0, 0),))


@pytest.mark.parametrize(
    ("pairs", "names"),
    [
        (["Heron", "Grebe", "Teal"], ["H", "G", "T"]),
        (["Heron", "hen"], ["Her", "hen"]),
        (["Heron", "Heron-B"], ["Heron", "Heron-"]),
        (["Boat-1", "Boat-2", "Boat-12"], ["Boat-1-", "Boat-2-", "Boat-12-"]),
        ([], []),
    ],
)
def test_short_names(pairs: list[str], names: list[str]) -> None:
    assert list(short_names(pairs).values()) == names
