"""Saying where something is, in words that people on the water can use."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from outside import lake_parts
from shapes import RECTANGLE, zoo_venue
from sweptwater.arrays import Area
from sweptwater.jobs.opened import Opened
from sweptwater.jobs.places import EndPlace, end_text, place_text, shore_words
from sweptwater.practice.folder import Practice
from sweptwater.practice.geojson import Feature, Kind
from sweptwater.practice.settings import Settings
from sweptwater.units import COMPASS_POINTS, SYSTEMS, YARD_M, System
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Venue, build_venue

Mark = tuple[Kind, str, BaseGeometry]

TOWER: Mark = ("mark", "the tower", Point(0, -380))
# RECTANGLE is 2,000 by 800 m about the origin, with a reach of 97 m.


def opened_of(venue: Venue, units: System = "imperial") -> Opened:
    settings = Settings("Ashlode Pool", ("Heron",), units=units)
    return Opened(Practice(Path(), settings, (), (), ()), venue, {}, {})


def opened(*marks: Mark, water: Area = RECTANGLE, units: System = "imperial") -> Opened:
    return opened_of(zoo_venue(water, *marks), units)


def end(venue: Opened, easting: float, northing: float) -> str:
    return end_text(venue, easting, northing).text(venue.settings.units)


WIDE = {
    units: opened(
        ("mark", "Oak", Point(0, 0)), water=box(-3000, -3000, 3000, 3000), units=units
    )
    for units in SYSTEMS
}
"""Open water about a mark, its banks laid once."""


# Where a drift or a piece is


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ((0, -400), "the tower"),
        ((40, -335), "the tower"),  # 60.2 m off
        ((0, -317), "70 yd N of the tower"),
        ((78, -302), "120 yd NE of the tower"),  # 110 m, the shore at 98 m
        ((-250, -200), "open water"),  # 308 m from it, 200 m from the shore
        ((-230, -370), "bank 11"),  # the shore is nearer than half of 230 m
        ((-150, -200), "260 yd NW of the tower"),
        ((0, 0), "open water"),
        ((900, 50), "bank 6"),
    ],
)
def test_a_place_in_a_few_words(place: tuple[float, float], said: str) -> None:
    # Banks of 400 m run clockwise from the jetty: five in the north, two in the east.
    quay: Mark = ("jetty", "Quay", Point(-1000, 400))
    assert place_text(opened(TOWER, quay), *place) == said


def test_a_bank_is_told_only_where_it_is_much_nearer_than_the_mark() -> None:
    # Along a line 120 m off the south shore: past 240 m from the mark the shore is
    # nearer than half.
    venue = opened(("mark", "Oak", Point(0, -280)), units="metric")
    assert place_text(venue, 230, -280) == "230 m E of Oak"
    assert place_text(venue, 250, -280).startswith("bank ")
    assert place_text(venue, 290, 0) == "open water"  # 403 m


def test_without_marks_there_are_banks_and_open_water() -> None:
    bare = opened()
    assert place_text(bare, 0, 0) == "open water"
    assert place_text(bare, 0, 390).startswith("bank ")
    assert end(bare, 0, 400) == f"{place_text(bare, 0, 400)}, long and straight"
    told = end_text(bare, 0, 400)
    assert (told.near, told.near_m, told.near_bearing_deg) == ("", None, None)


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("",), "by the jetty"),
        (("", ""), "by the nearest jetty"),
        (("Quay",), "by Quay"),
    ],
)
def test_a_jetty_is_known_without_a_name(names: tuple[str, ...], said: str) -> None:
    jetties = [("jetty", name, Point(0, -390 - i)) for i, name in enumerate(names)]
    told = end(opened(*jetties), 0, -400)  # type: ignore[arg-type]
    assert told.endswith(said)
    # A mark without a name is none.
    assert end_text(opened(("mark", "", Point(0, -390))), 0, -400).near == ""


@given(st.floats(61, 299), st.floats(0, 360), st.sampled_from(SYSTEMS))
def test_distance_and_direction_are_geodesic(
    away_m: float, bearing_deg: float, units: System
) -> None:
    """As GeographicLib measures them (C. F. F. Karney, J. Geodesy 87, 2013)."""
    venue = WIDE[units]
    east, north = away_m * np.sin(np.radians([bearing_deg, bearing_deg + 90]))
    mark = venue.venue.places[0]
    easting, northing = mark.easting + east, mark.northing + north
    lon, lat = venue.venue.frame.to_degrees(easting, northing)
    from_lon, from_lat = venue.venue.frame.to_degrees(mark.easting, mark.northing)
    line = Geodesic.WGS84.Inverse(from_lat, from_lon, lat, lon)
    length, unit, point, of, name = place_text(venue, easting, northing).split()
    assert (of, name) == ("of", "Oak")
    unit_m = {"yd": YARD_M, "m": 1.0}[unit]
    assert (unit == "yd") == (units == "imperial")
    assert float(length) % 10 == 0
    assert abs(float(length) * unit_m - line["s12"]) <= 5.001 * unit_m
    turn_deg = 22.5 * COMPASS_POINTS.index(point)
    off_deg = (turn_deg - line["azi1"] + 180) % 360 - 180
    assert abs(off_deg) <= 11.26
    told = end_text(venue, easting, northing)
    assert told.near_m == pytest.approx(line["s12"], abs=0.01)
    assert told.near_bearing_deg is not None
    assert 0 <= told.near_bearing_deg < 360
    off_deg = (told.near_bearing_deg - line["azi1"] + 180) % 360 - 180
    assert abs(off_deg) < 0.01
    assert (told.lat, told.lon) == pytest.approx((lat, lon), abs=1e-12)


# Where a cut ends

PENINSULA = polygonal(RECTANGLE - box(-30, -400, 30, -150))
ISLAND = polygonal(RECTANGLE - box(-150, -40, 150, 40))
TWO = polygonal(ISLAND - Point(600, 0).buffer(50))
ARM = polygonal(RECTANGLE | box(1000, -40, 1800, 40))


@pytest.mark.parametrize(
    ("water", "marks", "place", "said"),
    [
        (PENINSULA, [TOWER], (0, -150), "the point 250 yd N of the tower (bank B)"),
        (PENINSULA, [], (0, -150), "a point on bank B"),
        (
            PENINSULA,
            [("mark", "Long Point", Point(0, -200))],
            (0, -150),
            "Long Point (bank B)",
        ),
        (
            PENINSULA,
            [("mark", "Long Point", Point(0, -240))],
            (0, -150),
            "Long Point, 100 yd N of its mark (bank B)",
        ),
        (
            PENINSULA,
            [("mark", "Old Pointer", Point(0, -180))],
            (0, -150),
            "the point by Old Pointer (bank B)",
        ),
        (RECTANGLE, [TOWER], (-995, 395), "a corner on bank B"),
        (ISLAND, [], (150, 0), "the E end of the island on bank B"),
        (TWO, [], (150, 0), "the E end of an island on bank B"),
        (
            TWO,
            [("mark", "Great Holm", Point(0, 0))],
            (150, 0),
            "the E end of Great Holm (bank B)",
        ),
        (ARM, [], (1800, 0), "the head of an arm on bank B"),
        (
            ARM,
            [("mark", "West Burn", Point(1900, 0))],
            (1800, 0),
            "the inflow 110 yd W of West Burn (bank B)",
        ),
        (
            ARM,
            [("mark", "Burnt House", Point(1900, 0))],
            (1800, 0),
            "the head of an arm 110 yd W of Burnt House (bank B)",
        ),
        (
            RECTANGLE,
            [("mark", "Dam", Point(1000, 200))],
            (1000, 0),
            "Dam, 220 yd S of its mark (bank B)",
        ),
        (
            RECTANGLE,
            [("mark", "Adam's Seat", Point(1000, 200))],
            (1000, 0),
            "bank B, long and straight, 220 yd S of Adam's Seat",
        ),
    ],
)
def test_an_end_in_words(
    water: Area, marks: list[Mark], place: tuple[float, float], said: str
) -> None:
    # The zoo's frames lie about the middle of each water.
    middle = box(*water.bounds).centroid
    venue = opened(*marks, water=water)
    here = (place[0] - middle.x, place[1] - middle.y)
    told = end_text(venue, *here)
    assert told.bank is not None
    assert told.text() == said.replace("bank B", f"bank {told.bank}")
    shore = venue.banks[told.bank - 1].shore
    assert shore.distance(Point(here)) < 10


def test_a_mark_is_told_up_to_a_kilometre() -> None:
    venue = opened(("mark", "Oak", Point(-990, 390)))
    near, far = end_text(venue, -50, 400), end_text(venue, 50, 400)
    assert near.text().endswith("of Oak")
    assert near.near == far.near == "Oak"
    assert far.near_m == pytest.approx(1040, abs=1)
    assert "Oak" not in far.text()
    assert far.text() == f"bank {far.bank}, long and straight"


def test_an_end_on_a_zones_edge_is_no_shore() -> None:
    zone: Mark = ("out-of-bounds", "Dam", box(700, -500, 1100, 500))
    venue = opened(zone, TOWER)
    assert end(venue, 700, 0).startswith("the edge of the water out of bounds")
    assert shore_words(venue.venue, 300, 0) == "open water"
    assert EndPlace(0, 0, "", None, None, None, "open water").text() == "open water"


def test_no_bank_near_an_end() -> None:
    told = EndPlace(54.8, 2.3, "", None, None, None, "straight bank")
    assert told.text() == "a straight bank"
    far = EndPlace(54.8, 2.3, "Oak", 100.0, 180.0, None, "inflow")
    assert far.text("metric") == "the inflow 100 m S of Oak"
    assert (
        EndPlace(54.8, 2.3, "", None, None, 4, "inflow").text() == "an inflow on bank 4"
    )
    assert EndPlace(54.8, 2.3, "", None, None, 4, "narrows").text() == (
        "the narrows on bank 4"
    )


@pytest.mark.parametrize("name", ["nhd_crab_lake", "nhd_pokegama_lake"])
def test_ends_all_round_real_lakes(name: str) -> None:
    # Origins in the data's INDEX.md; the mark is ours.
    parts = lake_parts(name)
    spot = parts[0].exterior.interpolate(0.3, normalized=True)
    features = [Feature("water", "", part) for part in parts]
    venue = opened_of(build_venue([*features, Feature("mark", "Oak", spot)]))
    water = venue.venue.water
    assert isinstance(water, Polygon)
    said = set()
    for island, ring in enumerate((water.exterior, *water.interiors)):
        for place in shapely.line_interpolate_point(
            ring, np.arange(0, ring.length, 300)
        ):
            told = end_text(venue, place.x, place.y)
            text = told.text()
            assert told.bank is not None
            assert f"bank {told.bank}" in text
            assert ("Oak" in text) == (told.near_m is not None and told.near_m <= 1000)
            assert len(text) <= 80
            assert ("island" in text) == (island > 0)
            said.add(told.shore)
    assert {"point", "bay", "head of an arm", "straight bank", "bank"} <= said
