"""The local frame against the ellipsoid."""

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from pyproj import Transformer
from shapely import LineString, Polygon, box

from outside import LAKES, TOO_WIDE, geodesic_m2_m, lake_parts
from sweptwater.errors import VenueError
from sweptwater.frame import WIDEST_M, Frame, frame_around, near_lon, unwrapped
from sweptwater.water.shapes import water_frame


@pytest.mark.parametrize(
    ("lat", "lon", "to_lat", "to_lon", "length_m"),
    [
        # Karney, Test set for geodesics (GeodTest.dat), 2010, Zenodo 32156.
        (23.104245923137, 0, 23.103520430280494, 0.002305237470119087, 249.4508219),
        (78.10174623178, 0, 78.09971103163879, 0.014156770744057927, 397.364659),
        # GeographicLib's own test GeodSolve74.
        (54.1589, 15.3872, 54.1591, 15.3877, 39.527686385),
    ],
)
@pytest.mark.parametrize("centre_off_m", [0, 20_000])
def test_short_lengths_are_the_geodesics(
    lat: float,
    lon: float,
    to_lat: float,
    to_lon: float,
    length_m: float,
    centre_off_m: float,
) -> None:
    centre = Frame(lon, lat).degrees(shapely.Point(centre_off_m, centre_off_m))
    line = Frame(centre.x, centre.y).metres(LineString([(lon, lat), (to_lon, to_lat)]))
    # Scale off the meridian by x^2 / 2 R^2: 5e-6 at 20 km.
    assert line.length == pytest.approx(length_m, rel=1e-5 if centre_off_m else 1e-9)


@pytest.mark.parametrize("name", [name for name in LAKES if name not in TOO_WIDE])
def test_real_lakes_measure_as_on_the_ellipsoid(name: str) -> None:
    for part in lake_parts(name):
        metres = water_frame([part]).metres(part)
        area_m2, length_m = geodesic_m2_m(part)
        assert metres.area == pytest.approx(area_m2, rel=1e-5)
        assert metres.length == pytest.approx(length_m, rel=1e-5)


@pytest.mark.parametrize("lat", [69.0, 0.0, -38.8])
@pytest.mark.parametrize("lon", [-180.0, 25.0, 179.99])
def test_wherever_it_lies_a_lake_measures_the_same(lon: float, lat: float) -> None:
    water = box(lon, lat, lon + 0.05, lat + 0.05).segmentize(0.005)
    metres = water_frame([water]).metres(water)
    area_m2, length_m = geodesic_m2_m(water)
    assert metres.area == pytest.approx(area_m2, rel=1e-5)
    assert metres.length == pytest.approx(length_m, rel=1e-5)


def test_water_at_both_edges_is_off_by_no_more_than_is_said() -> None:
    here = Frame(10, 60)
    east, west = (
        box(x - 250, -500, x + 250, 500).segmentize(50) for x in (29_500, -29_500)
    )
    both = [here.degrees(east), here.degrees(west)]
    frame = water_frame(both)
    measured = sum(frame.metres(part).area for part in both)
    true = sum(geodesic_m2_m(part)[0] for part in both)
    # x^2 / R^2 at 29.5 km (closed form of the projection's scale).
    assert measured / true - 1 == pytest.approx((29_500 / 6.38e6) ** 2, rel=0.02)
    assert measured / true - 1 < 2.2e-5


def test_transverse_mercator_is_the_standards() -> None:
    # UTM is the same projection with scale 0.9996; GeographicLib GeoConvert's manual:
    # 33.3 N 44.4 E is 38N 444140.54 3684706.36.
    frame = Frame(lon=45, lat=0)
    easting, northing = frame.to_metres(44.4, 33.3)
    assert 500_000 + 0.9996 * float(easting) == pytest.approx(444140.54, abs=0.006)
    assert 0.9996 * float(northing) == pytest.approx(3684706.36, abs=0.006)


@given(
    lon=st.floats(-180, 180),
    lat=st.floats(-80, 80),
    east=st.floats(-30e3, 30e3),
    north=st.floats(-30e3, 30e3),
)
@example(lon=180.0, lat=52.0, east=-10.0, north=3.0)
@example(lon=-180.0, lat=0.0, east=30e3, north=-30e3)
def test_there_and_back(lon: float, lat: float, east: float, north: float) -> None:
    frame = Frame(lon, lat)
    lon_deg, lat_deg = frame.to_degrees(east, north)
    assert -180 <= float(lon_deg) <= 180
    again = frame.to_metres(lon_deg, lat_deg)
    assert [float(v) for v in again] == pytest.approx([east, north], abs=1e-4)
    degrees = [float(v) for v in frame.to_degrees(*again)]
    assert float(near_lon(degrees[0], float(lon_deg))) == pytest.approx(
        float(lon_deg), abs=1e-9
    )
    assert degrees[1] == pytest.approx(float(lat_deg), abs=1e-9)


def test_a_centre_may_be_a_numpy_number() -> None:
    frame = Frame(lon=np.float64(10.5), lat=np.float64(50.25))
    assert [float(v) for v in frame.to_metres(10.5, 50.25)] == pytest.approx([0, 0])


def test_heights_are_dropped() -> None:
    shape = shapely.from_wkt("POLYGON Z ((10 50 7, 10.1 50 7, 10 50.1 7, 10 50 7))")
    assert not Frame(10, 50).metres(shape).has_z


def test_a_crs_that_others_understand() -> None:
    frame = Frame(lon=10, lat=50)
    there = Transformer.from_crs(4326, frame.crs, always_xy=True).transform(10.1, 50.1)
    assert there == pytest.approx([float(v) for v in frame.to_metres(10.1, 50.1)])


@pytest.mark.parametrize("name", TOO_WIDE)
def test_wide_real_lakes_are_refused(name: str) -> None:
    with pytest.raises(VenueError, match=r"km across and at most 60 km can be"):
        water_frame(lake_parts(name))


@pytest.mark.parametrize(
    ("bounds", "told"),
    [
        ((10, 50, 10.9, 50.1), "65 km across"),
        ((10, 50, 10.1, 50.6), "67 km across"),
        ((-20, 50, 20, 50.1), r"2,\d\d\d km across"),
        ((-180, -90, 180, 90), "thousands of km across"),
    ],
)
def test_too_wide_is_told_with_its_width(
    bounds: tuple[float, float, float, float], told: str
) -> None:
    with pytest.raises(VenueError, match=told):
        frame_around(bounds)


def test_just_narrow_enough_is_taken() -> None:
    west, south, east, north = (
        Frame(10, 50).degrees(box(-29e3, -29e3, 29e3, 29e3)).bounds
    )
    assert frame_around((west, south, east, north)).lon == pytest.approx(10, abs=1e-6)
    assert WIDEST_M == 60_000


# Across the antimeridian


def ellipse(lon: float) -> Polygon:
    """Return a lake some 4 by 2 km in degrees, longitudes as they come."""
    turn = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    return Polygon(
        np.column_stack([lon + 0.03 * np.cos(turn), -16.8 + 0.01 * np.sin(turn)])
    )


def leaping() -> Polygon:
    """Return the lake at 180 degrees with longitudes that leap to -180."""
    places = shapely.get_coordinates(ellipse(180.0))
    places[:, 0] = near_lon(places[:, 0], 0.0)
    return Polygon(places)


@pytest.mark.parametrize("form", ["0 to 360", "below -180", "leaping"])
def test_water_across_the_antimeridian_is_like_any_other(form: str) -> None:
    water = {
        "0 to 360": ellipse(180.0),
        "below -180": ellipse(-180.0),
        "leaping": unwrapped(leaping()),
    }[form]
    frame = water_frame([water])
    assert abs(frame.lon) == pytest.approx(180, abs=1e-6)
    area_m2, length_m = geodesic_m2_m(ellipse(10.0))
    assert frame.metres(water).area == pytest.approx(area_m2, rel=1e-5)
    assert frame.metres(water).length == pytest.approx(length_m, rel=1e-5)
    back = frame.degrees(frame.metres(water))
    assert back.is_valid
    assert np.ptp(shapely.get_coordinates(back)[:, 0]) < 0.1


def test_no_leap_no_change() -> None:
    water = ellipse(12.0)
    assert unwrapped(water) is water
    assert unwrapped(Polygon()).is_empty
    assert unwrapped(water, 371.0).bounds[0] == pytest.approx(water.bounds[0] + 360)


def test_a_water_of_two_cut_parts_is_centred_between_them() -> None:
    east, west = box(179.98, 10, 180, 10.02), box(-180, 10, -179.98, 10.02)
    assert abs(water_frame([east, west]).lon) == pytest.approx(180)


def test_near_greenwich_counted_to_360() -> None:
    assert water_frame([box(359.9, 51, 359.95, 51.1)]).lon == pytest.approx(-0.075)
