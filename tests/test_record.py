"""Cleaning: what cannot be true is left out and counted, the rest is kept."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.tracks.record import (
    CLOSEST_S,
    TOO_CLOSE,
    UNREACHABLE,
    UNTIMED,
    Record,
    apart_m,
    clean_record,
    fill_gaps,
)


def _straight(seconds: int, start: float = 0.0) -> tuple[np.ndarray, ...]:
    time_s = start + np.arange(float(seconds))
    return time_s, 0.5 * time_s, np.zeros(seconds)


def test_a_clean_record_stays_as_it_is() -> None:
    time_s, easting, northing = _straight(100)
    record = clean_record(time_s, easting, northing)
    assert np.array_equal(record.time_s, time_s)
    assert np.array_equal(record.easting, easting)
    assert not record.dropped


def test_fixes_are_put_in_the_order_of_time() -> None:
    time_s, easting, northing = _straight(50)
    order = np.random.default_rng(0).permutation(50)
    record = clean_record(time_s[order], easting[order], northing[order])
    assert np.array_equal(record.time_s, time_s)
    assert np.array_equal(record.easting, easting)


@pytest.mark.parametrize(
    ("spike_m", "seconds"), [(60, 1), (60, 3), (250, 1), (250, 10), (5000, 20)]
)
def test_a_spike_is_dropped_and_counted(spike_m: float, seconds: int) -> None:
    """60 m off is within reach (12 m/s and 20 m to spare) after four seconds."""
    time_s, easting, northing = _straight(200)
    northing[100 : 100 + seconds] += spike_m
    record = clean_record(time_s, easting, northing)
    assert record.dropped == {UNREACHABLE: seconds}
    assert not record.northing.any()


def test_a_jump_that_lasts_is_where_the_boat_is() -> None:
    time_s, easting, northing = _straight(400)
    northing[200:] += 5000
    record = clean_record(time_s, easting, northing)
    assert len(record.time_s) == 400


def test_a_stuck_clock_leaves_one_fix_and_says_so() -> None:
    record = clean_record(np.full(50, 7.0), np.arange(50.0), np.zeros(50))
    assert len(record.time_s) == 1
    assert record.dropped == {TOO_CLOSE: 49}


def test_ten_fixes_a_second_become_two() -> None:
    time_s = np.arange(0, 60, 0.1)
    record = clean_record(time_s, 0.3 * time_s, np.zeros(len(time_s)))
    assert len(record.time_s) == pytest.approx(120, abs=2)


def test_fixes_without_time_or_place_are_counted() -> None:
    record = clean_record(
        np.array([0.0, np.nan, 2.0]), np.array([0.0, 1.0, np.inf]), np.zeros(3)
    )
    assert record.dropped == {UNTIMED: 2}


@given(
    st.lists(
        st.tuples(st.floats(0, 5000), st.floats(-2000, 2000), st.floats(-2000, 2000)),
        max_size=60,
    )
)
def test_nothing_is_lost_without_being_counted(
    fixes: list[tuple[float, float, float]],
) -> None:
    columns = np.array(fixes, dtype=float).reshape(-1, 3).T
    record = clean_record(*columns)
    assert len(record.time_s) + sum(record.dropped.values()) == len(fixes)
    assert (np.diff(record.time_s) >= CLOSEST_S).all()


def test_a_second_receiver_only_fills_gaps() -> None:
    time_s, easting, northing = _straight(1000)
    silent = (time_s > 300) & (time_s < 600)
    first = clean_record(time_s[~silent], easting[~silent], northing[~silent])
    second = clean_record(time_s, easting, northing + 4)
    whole = fill_gaps(first, second, gap_s=60)
    assert len(whole.time_s) == 1000
    assert np.array_equal(whole.northing != 0, silent)


def test_a_second_receiver_goes_on_where_the_first_died() -> None:
    first = clean_record(*_straight(300))
    second = clean_record(*_straight(300, start=300.0))
    assert len(fill_gaps(first, second, gap_s=60).time_s) == 600


def test_stretches_part_at_silences() -> None:
    record = Record(np.array([0.0, 1.0, 100.0, 101.0]), np.zeros(4), np.zeros(4), {})
    assert record.stretches(60).tolist() == [0, 0, 1, 1]


def test_two_receivers_in_one_boat_are_metres_apart() -> None:
    time_s, easting, northing = _straight(600)
    first = clean_record(time_s, easting, northing)
    near = clean_record(time_s + 0.4, easting + 3, northing)
    far = clean_record(time_s + 0.4, easting, northing + 800)
    later = clean_record(time_s + 5000, easting, northing + 800)
    assert apart_m(first, near, 60) == pytest.approx(3, abs=0.3)
    assert apart_m(first, far, 60) == pytest.approx(800, abs=0.3)
    assert apart_m(first, later, 60) is None


def test_what_was_dropped_of_either_is_counted() -> None:
    time_s, easting, _ = _straight(100)
    first = clean_record(np.append(time_s, 1.2), np.append(easting, 0), np.zeros(101))
    second = clean_record(
        np.append(time_s + 300, 301.2), np.append(easting, 0), np.zeros(101)
    )
    assert fill_gaps(first, second, 60).dropped == {TOO_CLOSE: 2}


def test_two_receivers_never_take_turns() -> None:
    """Half a second between them: turn by turn would make a saw of the path."""
    time_s, easting, northing = _straight(300)
    first = clean_record(time_s, easting, northing)
    second = clean_record(time_s + 0.5, easting, northing + 5)
    whole = fill_gaps(first, second, gap_s=60)
    assert (whole.northing[:-1] == 0).all()


@pytest.mark.parametrize("every", [1, 5, 8])
@pytest.mark.parametrize("aside_m", [12.0, 35.0])
def test_what_a_reflection_threw_aside_is_put_back(every: int, aside_m: float) -> None:
    """Forty seconds off by one vector, by more than any boat goes in a step."""
    rng = np.random.default_rng(every)
    time_s, easting, northing = (values[::every] for values in _straight(600))
    noise = rng.normal(0, 0.5, (2, len(time_s)))
    thrown = (time_s >= 300) & (time_s < 340)
    record = clean_record(
        time_s, easting + noise[0], northing + noise[1] + aside_m * thrown
    )
    assert len(record.time_s) + sum(record.dropped.values()) == len(time_s)
    # Of a large throw at one fix a second, some fixes are left out as unreachable.
    assert record.mended == pytest.approx(thrown.sum(), abs=2)
    assert np.abs(record.northing).max() < 3.5


def test_one_reflection_within_another_is_put_back() -> None:
    time_s, easting, northing = _straight(600)
    northing = northing + 15.0 * ((time_s >= 300) & (time_s < 350))
    easting = easting + 18.0 * ((time_s >= 320) & (time_s < 335))
    record = clean_record(time_s, easting, northing)
    assert np.abs(record.northing).max() < 0.1
    assert np.abs(record.easting - 0.5 * record.time_s).max() < 0.1


@pytest.mark.parametrize("every", [1, 5, 10])
@pytest.mark.parametrize("back_m_s", [1.2, 2.0])
def test_a_boat_that_goes_and_comes_back_is_not_thrown_aside(
    every: int, back_m_s: float
) -> None:
    """Out for half a minute and back at once, under engine, to where it drifts on."""
    away_s = np.concatenate([np.arange(30), np.arange(30, -1, -1)])
    aside = np.zeros(600)
    aside[300:361] = back_m_s * away_s
    time_s, easting, _ = _straight(600)
    record = clean_record(time_s[::every], easting[::every], aside[::every])
    assert record.mended == 0
    assert np.array_equal(record.northing, aside[::every])
