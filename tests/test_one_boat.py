"""Several records of one pair's day: which is the boat's way, and which is not."""

from pathlib import Path

import numpy as np
import pytest

from sweptwater.jobs.afloat import one_boat
from sweptwater.jobs.opened import open_folder
from sweptwater.tracks.record import Record, clean_record
from tracks_made import Leg, trip

WAY = trip(
    *[
        leg
        for _ in range(3)
        for leg in (Leg(900, 0.4, 80), Leg(180, 2.0, 260, fishing=False))
    ]
)


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


def test_a_second_phone_goes_on_where_the_first_died(begun: Path) -> None:
    opened = open_folder(begun)
    first, second = _record(upto=1500), _record(5, north_m=4)
    whole, left_out = one_boat(opened, [first, second])
    assert left_out == 0
    assert whole.time_s[-1] == second.time_s[-1]
