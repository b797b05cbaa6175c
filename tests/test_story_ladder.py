"""A ladder along a mile of bank, with the wind dead on to it.

South-west wind on to a straight mile; 22 drifts from 90 to 25 yards out, 30 yards
apart, at 20 yards a minute, and slow returns at 1.2 m/s. What is right was worked out
by hand: 22 drifts, no return among them; water counted to the stones and none
upwind; 22 x 30 yd of 1,760 yd, some 37 %, done; 1,760 / 30 = 59 drifts in all, so 37
more, which at 3.2 minutes and 4 to re-set take about 4.4 hours.
"""

import numpy as np
import pytest
import shapely

from sweptwater.practice.geojson import Feature
from sweptwater.practice.settings import BankRules, Rules, Spread
from sweptwater.swept.boats import BoatDay, sweep_day
from sweptwater.swept.ledger import assign_banks, done_pieces
from sweptwater.swept.pace import bank_pace, rest_of_banks
from sweptwater.tracks.drifts import day_afloat
from sweptwater.tracks.read import read_gpx
from sweptwater.tracks.record import clean_record
from sweptwater.units import MILE_M, YARD_M
from sweptwater.water.banks import lay_banks
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Venue, build_venue
from sweptwater_demo.scenario import DAYS, Story, story_ladder


@pytest.fixture(scope="module")
def story() -> Story:
    return story_ladder()


@pytest.fixture(scope="module")
def venue(story: Story) -> Venue:
    shapes = {"water": story.water, "jetty": story.jetty}
    return build_venue(
        [
            Feature("water", "", story.frame.degrees(shapes["water"])),
            Feature("jetty", "Jetty", story.frame.degrees(shapes["jetty"])),
        ]
    )


@pytest.fixture(scope="module")
def bank(story: Story, venue: Venue) -> shapely.LineString:
    return venue.frame.metres(story.frame.degrees(story.bank))


@pytest.fixture(scope="module")
def boat(story: Story, venue: Venue) -> BoatDay:
    fixes = read_gpx(story.gpx).fixes
    places = venue.frame.to_metres(fixes.lon, fixes.lat)
    record = clean_record(fixes.time_s, *places)
    afloat = day_afloat(record, venue.water, venue.jetty_ground(25), Rules())
    return sweep_day("Heron", DAYS[0], afloat, Spread(), venue.fishable)


def test_there_are_22_drifts_and_no_return_among_them(
    story: Story, boat: BoatDay
) -> None:
    assert len(boat.afloat.drifts) == 22
    assert boat.afloat.fishing_s == pytest.approx(story.truth.fishing_s, rel=0.03)
    for drift in boat.afloat.drifts:
        assert abs((drift.course_deg - 45 + 180) % 360 - 180) < 30
        assert drift.length_m == pytest.approx(65 * YARD_M, rel=0.2)
    lengths_m = [drift.length_m for drift in boat.afloat.drifts]
    assert np.mean(lengths_m) == pytest.approx(65 * YARD_M, rel=0.04)


def test_water_is_counted_to_the_stones_and_none_upwind(
    boat: BoatDay, bank: shapely.LineString
) -> None:
    """The first cast of the last rung reaches the shore: 22 yd from 25 and closer."""
    off_m = shapely.distance(
        shapely.points(shapely.get_coordinates(boat.stack.once)), bank
    )
    assert off_m.min() < 3
    starts = [
        shapely.Point(drift.easting[0], drift.northing[0]).distance(bank)
        for drift in boat.afloat.drifts
    ]
    assert off_m.max() < max(starts) + 3
    assert max(starts) < 100 * YARD_M


def test_some_37_per_cent_of_the_mile_is_done(
    venue: Venue, boat: BoatDay, bank: shapely.LineString
) -> None:
    banks = lay_banks(venue, BankRules())
    pieces = assign_banks(banks, {})
    waters = [water for b in banks for water in b.piece_water]
    mile = np.array(
        [w.distance(bank) < 1 and w.centroid.distance(bank) < 60 for w in waters]
    )
    done = done_pieces(pieces, boat.stack.once)
    done_m = float(pieces.piece_m[mile & done].sum())
    assert done_m / MILE_M == pytest.approx(0.37, abs=0.02)
    assert not (done & ~mile).any()

    near = polygonal(shapely.union_all(np.array(waters)[mile]))
    pace = bank_pace([boat], near)
    assert pace.drifts == 22
    rest = rest_of_banks(pace, bank_m=MILE_M, done_m=done_m, reset_s=240)
    assert rest is not None
    assert rest.drifts == 37
    assert rest.hours_s / 3600 == pytest.approx(4.4, abs=0.15)
