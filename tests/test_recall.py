"""From what was told to a line on the water: anywhere on the invented lake."""

from datetime import date, time
from pathlib import Path

import pytest
import shapely.ops
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Point

from memory_made import FISHABLE, OUT_M, hull
from practices_made import FRAME, LAKE
from sweptwater.errors import PracticeError
from sweptwater.jobs.opened import Opened, open_folder
from sweptwater.jobs.recall import LAND_SHARE, find_line, recall_rows
from sweptwater.jobs.spoken import FURTHEST_M, Afloat, Spot
from sweptwater.practice.remembered import Told
from sweptwater.practice.sheets import Position

OUT = LAKE.buffer(-OUT_M, quad_segs=64)
"""Shapely's own, with rounder corners than the engine's."""

places = st.tuples(
    st.floats(-1500, 1500, allow_nan=False), st.floats(-900, 900, allow_nan=False)
)


@pytest.fixture(scope="module")
def opened(_begun: Path) -> Opened:
    return open_folder(_begun)


def degrees(place: tuple[float, float]) -> Position:
    lon, lat = FRAME.to_degrees(*place)
    return float(lon), float(lat)


def row(start: tuple[float, float], end: tuple[float, float]) -> Told:
    return Told(
        day=date(2027, 6, 8),
        pair="Grebe",
        start=time(10, 0),
        end=time(11, 0),
        from_="here",
        to="there",
        from_at=degrees(start),
        to_at=degrees(end),
    )


@given(place=places)
def test_a_boat_was_at_the_nearest_place_that_is_some_way_out(
    opened: Opened, place: tuple[float, float]
) -> None:
    easting, northing = opened.venue.frame.to_metres(*degrees(place))
    spot = Spot("here", float(easting), float(northing))
    away_m = OUT.distance(Point(place))
    assume(abs(away_m - FURTHEST_M) > 1 and away_m < FURTHEST_M)
    there = Afloat(opened).near(spot)
    assert there.distance(spot.point) == pytest.approx(away_m, abs=0.1)
    assert opened.venue.water.contains(there)
    assert opened.venue.water.boundary.distance(there) >= OUT_M


@given(start=places, end=places)
def test_what_is_recalled_is_water_on_the_way(
    opened: Opened, start: tuple[float, float], end: tuple[float, float]
) -> None:
    """Never more than the hull of the fans, never land, never out of bounds."""
    told = row(start, end)
    try:
        line = find_line(opened, Afloat(opened), told).line
    except PracticeError:
        far = max(OUT.distance(Point(place)) for place in (start, end))
        ends = [shapely.ops.nearest_points(OUT, Point(p))[0] for p in (start, end)]
        way = LineString(ends)
        land_m = way.length - way.intersection(LAKE).length
        assert (
            far > FURTHEST_M - 12
            or way.length < 11
            or land_m > (LAND_SHARE - 0.01) * way.length
        )
        return
    (day,) = recall_rows(opened, (), [told]).days
    (one,) = day.drifts
    swept = one.swept
    if swept.is_empty:
        assert opened.venue.out_of_bounds.buffer(1e-3).contains(line)
        return
    assert opened.venue.fishable.buffer(1e-3).contains(swept)
    (x0, y0), (x1, y1) = line.coords
    whole = hull((x0, y0), (x1, y1))
    assert swept.area <= whole.area * 1.001
    assert whole.buffer(0.2).contains(swept)
    if opened.venue.fishable.contains(whole):
        assert swept.area == pytest.approx(whole.area, rel=2e-3)
    assert FISHABLE.area > swept.area > 0 or line.intersects(opened.venue.out_of_bounds)
