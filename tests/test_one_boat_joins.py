"""Where one phone's record goes over into another's: no jump, no saw, no car park."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as few
from hypothesis import strategies as st

from sweptwater.arrays import Floats
from sweptwater.jobs.afloat import one_boat
from sweptwater.jobs.opened import open_folder
from sweptwater.tracks.record import Record, clean_record, fill_gaps
from tracks_made import Leg, trip

WAY = trip(
    *[
        leg
        for course in (80, 70, 95, 60)
        for leg in (Leg(1500, 0.4, course), Leg(300, 2.0, course + 178, fishing=False))
    ]
)
SILENT = (2000, 2600)
"""Seconds of the way; a drift of the second leg, without a turn."""


def _record(
    step: int = 1,
    *,
    off: tuple[float, float] = (0, 0),
    silent: tuple[int, int] = (0, 0),
    late_s: float = 0.0,
) -> Record:
    kept = np.arange(len(WAY.time_s)) % step == 0
    kept[silent[0] : silent[1]] = False
    return clean_record(
        WAY.time_s[kept] + late_s,
        WAY.easting[kept] - 600 + off[0],
        WAY.northing[kept] + off[1],
    )


def _off_m(record: Record) -> Floats:
    """Return how far each fix is off the boat's true way, in metres."""
    return np.hypot(
        record.easting - np.interp(record.time_s, WAY.time_s, WAY.easting - 600),
        record.northing - np.interp(record.time_s, WAY.time_s, WAY.northing),
    )


@given(st.floats(-15, 15), st.floats(-15, 15), st.sampled_from([1, 7, 13]))
@few(max_examples=20)
def test_a_silence_is_filled_without_a_jump(
    east: float, north: float, step: int
) -> None:
    """No fix is further off than the second phone, and none jumps at an end."""
    first, second = _record(silent=SILENT), _record(step, off=(east, north))
    whole = fill_gaps(first, second, 60)
    assert len(whole.time_s) > len(first.time_s) + 500 / step
    off_m = _off_m(whole)
    assert off_m.max() <= np.hypot(east, north) + 1e-6
    inside = (whole.time_s > WAY.time_s[SILENT[0]]) & (
        whole.time_s < WAY.time_s[SILENT[1]]
    )
    # It goes over in some minutes: in a step, a small part of how far the two differ.
    assert off_m[inside][[0, -1]].max() <= 0.1 * np.hypot(east, north) + 1e-6
    assert np.abs(np.diff(off_m)).max() <= 0.1 * np.hypot(east, north) + 1e-6


@pytest.mark.parametrize("late_s", [3, -7, 20, -45])
def test_seconds_between_two_clocks_make_no_jump(begun: Path, late_s: float) -> None:
    opened = open_folder(begun)
    first, second = _record(silent=SILENT), _record(7, late_s=late_s)
    whole, left_out = one_boat(opened, [first, second])
    assert left_out == 0
    inside = (whole.time_s > WAY.time_s[SILENT[0]]) & (
        whole.time_s < WAY.time_s[SILENT[1]]
    )
    assert inside.sum() > 80
    assert _off_m(whole)[inside].max() < 0.5


def _ashore(seconds: int = 7201) -> Record:
    rng = np.random.default_rng(2)
    return clean_record(
        WAY.time_s[0] + np.arange(float(seconds)),
        rng.normal(0, 2, seconds),
        750 + rng.normal(0, 2, seconds),
    )


def test_a_phone_in_the_car_fills_no_gap(begun: Path) -> None:
    """Where the phones in the boat are silent, nobody knows where it was."""
    opened = open_folder(begun)
    aboard = [_record(silent=SILENT), _record(7, silent=SILENT)]
    whole, left_out = one_boat(opened, [_ashore(), *aboard])
    assert left_out == 0
    assert _off_m(whole).max() < 1
    assert np.diff(whole.time_s).max() >= SILENT[1] - SILENT[0]


def test_a_phone_that_was_left_in_the_car_at_noon(begun: Path) -> None:
    """In the boat for most of the day, but not when the first went silent."""
    opened = open_folder(begun)
    first, second = _record(silent=(6000, 6500)), _record(7)
    car = second.time_s > WAY.time_s[5000]
    second = Record(
        second.time_s,
        np.where(car, 0.0, second.easting),
        np.where(car, 750.0, second.northing),
        {},
    )
    whole, _ = one_boat(opened, [first, second])
    assert _off_m(whole).max() < 1
