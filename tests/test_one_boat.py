"""Several records of one pair's day: which is the boat's way, and which is not."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
import shapely

from sweptwater.arrays import Floats
from sweptwater.jobs.afloat import one_boat
from sweptwater.jobs.opened import Opened, open_folder
from sweptwater.swept.boats import BoatDay, sweep_day
from sweptwater.tracks.drifts import day_afloat
from sweptwater.tracks.record import Record, clean_record
from tracks_made import Leg, trip, wander

WAY = trip(
    *[
        leg
        for _ in range(3)
        for leg in (Leg(900, 0.4, 80), Leg(180, 2.0, 260, fishing=False))
    ]
)


def _boat_day(opened: Opened, records: list[Record]) -> BoatDay:
    venue, settings = opened.venue, opened.settings
    whole, _ = one_boat(opened, records)
    afloat = day_afloat(whole, venue.water, opened.jetty_ground, settings.rules)
    day = date(2027, 1, 15)
    return sweep_day("Heron", day, afloat, settings.spread, venue.fishable)


def _record(every: int = 1, *, north_m: float = 0.0, upto: int | None = None) -> Record:
    chosen = slice(0, upto, every)
    return clean_record(
        WAY.time_s[chosen],
        WAY.easting[chosen] - 600,
        WAY.northing[chosen] + north_m,
    )


def _ashore(seconds: int = 9000) -> Record:
    """Return a phone left in a lodge beside the water, talking all day."""
    time_s = WAY.time_s[0] + np.arange(float(seconds))
    rng = np.random.default_rng(2)
    return clean_record(
        time_s, rng.normal(0, 2, seconds), 750 + rng.normal(0, 2, seconds)
    )


@pytest.mark.parametrize("order", [1, -1])
def test_a_phone_left_ashore_is_not_the_boat(begun: Path, order: int) -> None:
    opened = open_folder(begun)
    afloat = _record()
    whole, left_out = one_boat(opened, [_ashore(), afloat][::order])
    same = np.searchsorted(whole.time_s, afloat.time_s)
    assert np.array_equal(whole.easting[same], afloat.easting)
    assert left_out == 0


def test_another_boats_track_is_left_out_and_counted(begun: Path) -> None:
    opened = open_folder(begun)
    mine, other = _record(), _record(5, north_m=400)
    whole, left_out = one_boat(opened, [other, mine])
    assert left_out == 1
    assert np.array_equal(whole.easting, mine.easting)


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_two_phones_that_agree_are_believed(
    begun: Path, order: tuple[int, int, int]
) -> None:
    """A third has more fixes and saw as much, but was elsewhere then."""
    opened = open_folder(begun)
    first, second = _record(2, north_m=3), _record(3, north_m=-3)
    third = _record()
    late = Record(third.time_s + 700, third.easting, third.northing + 400, {})
    records = [first, second, late]
    whole, left_out = one_boat(opened, [records[k] for k in order])
    assert left_out == 1
    assert set(first.time_s) | set(second.time_s) >= set(whole.time_s)


@pytest.mark.parametrize("order", [1, -1])
def test_two_phones_left_ashore_do_not_outvote_one_aboard(
    begun: Path, order: int
) -> None:
    opened = open_folder(begun)
    afloat = _record()
    whole, _ = one_boat(opened, [_ashore(), _ashore(8000), afloat][::order])
    same = np.searchsorted(whole.time_s, afloat.time_s)
    assert np.array_equal(whole.easting[same], afloat.easting)


def test_a_second_phone_goes_on_where_the_first_died(begun: Path) -> None:
    opened = open_folder(begun)
    first, second = _record(upto=1500), _record(5, north_m=4)
    whole, left_out = one_boat(opened, [first, second])
    assert left_out == 0
    assert whole.time_s[-1] == second.time_s[-1]


# Two phones with errors of their own, against the way as it was

LONG = trip(
    *[
        leg
        for k in range(7)
        for leg in (
            Leg(1500, 0.4, 80),
            Leg(60, 2.0, 350, fishing=False),
            Leg(300, 2.0, 260, fishing=False),
        )
    ]
)
"""Seven drifts of 600 m, 120 m apart, and the ways back between them."""

DRIFTED_M = 7 * 1500 * 0.4
"""By hand: seven drifts of 1,500 s at 0.4 m/s."""


def _phone(
    seed: int,
    *,
    step: int = 1,
    sigma_m: float = 2.0,
    gaps: tuple[tuple[int, int], ...] = (),
    begin: int = 0,
    late_s: float = 0.0,
) -> Record:
    """Return what a phone recorded of LONG: `gaps` are seconds of silence, from, to."""
    rng = np.random.default_rng(seed)
    places: Floats = np.column_stack([LONG.easting - 600, LONG.northing - 590])
    places = (places + wander(len(places), rng, sigma_m)).astype(np.float64)
    kept = np.arange(len(places)) % step == 0
    kept[:begin] = False
    for start, end in gaps:
        kept[start:end] = False
    return clean_record(LONG.time_s[kept] + late_s, *places[kept].T)


SILENT_1 = ((400, 700), (2500, 3100), (4000, 4180), (7100, 7800), (9000, 9400))
SILENT_2 = ((1200, 1500), (3300, 3500), (6000, 6400), (8200, 8500), (10_500, 10_900))
PHONES = {
    "one": [_phone(1)],
    "two": [_phone(1, gaps=SILENT_1), _phone(2, step=7, sigma_m=4, gaps=SILENT_2)],
    "late": [_phone(3, gaps=SILENT_1[2:]), _phone(4, step=7, sigma_m=4, begin=3600)],
    "slow clock": [_phone(5, gaps=SILENT_1), _phone(6, step=7, sigma_m=3, late_s=-20)],
    "fast clock": [_phone(7, gaps=SILENT_1), _phone(8, step=7, sigma_m=3, late_s=3)],
}


@pytest.mark.parametrize("phones", PHONES)
def test_two_phones_tell_the_drifts_as_one_does(begun: Path, phones: str) -> None:
    """Length by hand to 2 %, hours to 2 %, and the water that an ideal phone swept."""
    opened = open_folder(begun)
    ideal = _phone(0, sigma_m=0)
    records = PHONES[phones]
    assert one_boat(opened, records)[1] == 0
    told = _boat_day(opened, records)
    truth = _boat_day(opened, [ideal])
    lengths = [
        np.hypot(np.diff(drift.easting), np.diff(drift.northing)).sum()
        for drift in told.afloat.drifts
    ]
    assert len(lengths) == 7
    assert sum(lengths) == pytest.approx(DRIFTED_M, rel=0.02)
    assert told.afloat.fishing_s == pytest.approx(LONG.fishing_s, rel=0.02)
    assert told.afloat.unknown_s == pytest.approx(0, abs=1)
    assert told.stack.once.area == pytest.approx(truth.stack.once.area, rel=0.02)
    odd = shapely.symmetric_difference(told.stack.once, truth.stack.once).area
    # A strip's two edges, off by what the worse phone wanders: 4 m at most.
    assert odd < 2 * DRIFTED_M * 4
