"""Smoothing: the path, its length and its speed behind the noise of fixes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter1d

from sweptwater.tracks.smooth import Path, smooth_path
from tracks_made import wander


def _smoothed(time_s: np.ndarray, places: np.ndarray) -> Path:
    stretch = np.zeros(len(time_s), dtype=np.int64)
    return smooth_path(time_s, places[:, 0], places[:, 1], stretch)


def _length_m(path: Path) -> float:
    return float(np.hypot(np.diff(path.easting), np.diff(path.northing)).sum())


@given(
    speed=st.floats(0.05, 2.0),
    course=st.floats(0, 6.28),
    far=st.floats(-1e5, 1e5),
    steps=st.lists(st.floats(0.5, 50), min_size=3, max_size=80),
)
@settings(max_examples=40, deadline=None)
def test_a_straight_steady_course_stays(
    speed: float, course: float, far: float, steps: list[float]
) -> None:
    """A line has no second differences: both terms are nothing, at any sampling."""
    time_s = np.concatenate([[0.0], np.cumsum(steps)])
    places = far + speed * np.outer(time_s, [np.sin(course), np.cos(course)])
    path = _smoothed(time_s, places)
    assert np.allclose(path.easting, places[:, 0], atol=1e-4)
    assert np.allclose(path.speed_m_s, speed, atol=1e-4)


def test_a_day_of_noise_measures_its_true_length() -> None:
    """Raw fixes make this day more than twice as long."""
    rng = np.random.default_rng(3)
    time_s = np.arange(20_000.0)
    true = np.column_stack([0.4 * time_s, 40 * np.sin(time_s / 900)])
    length_m = float(np.hypot(*np.diff(true, axis=0).T).sum())
    fixes = true + wander(len(true), rng) + rng.normal(0, 0.4, true.shape)
    raw_m = float(np.hypot(*np.diff(fixes, axis=0).T).sum())
    assert raw_m > 2 * length_m
    assert _length_m(_smoothed(time_s, fixes)) == pytest.approx(length_m, rel=0.015)


def test_half_power_comes_at_a_period_of_two_pi_t() -> None:
    """The response of a second-order Whittaker smoother, 1 / (1 + (T w)^4).

    At w = 1 / T it is a half: Eilers, A perfect smoother, 2003 (formula from memory).
    Small waves keep both penalties quadratic.
    """
    time_s = np.arange(4000.0)
    wave = 0.01 * np.sin(time_s / 10.0)
    path = _smoothed(time_s, np.column_stack([wave, 0 * wave]))
    middle = slice(1000, 3000)
    gain = np.ptp(path.easting[middle]) / np.ptp(wave[middle])
    assert gain == pytest.approx(0.5, abs=0.02)


def test_an_outlier_that_a_boat_could_reach_is_ignored() -> None:
    time_s = np.arange(600.0)
    places = np.column_stack([0.3 * time_s, 0 * time_s])
    places[300:303, 1] += 25
    path = _smoothed(time_s, places)
    assert np.abs(path.northing).max() < 0.5


def test_a_turn_stays_sharp() -> None:
    """Plainly smoothed as hard, the same turn is cut by metres."""
    time_s = np.arange(600.0)
    out = np.minimum(time_s, 600 - time_s)
    path = _smoothed(time_s, np.column_stack([1.2 * out, 0 * out]))
    plain = gaussian_filter1d(1.2 * out, 15)
    assert 1.2 * 300 - path.easting.max() < 0.7 * (1.2 * 300 - plain.max())


def test_nothing_is_smoothed_across_a_gap() -> None:
    time_s = np.concatenate([np.arange(100.0), 1000 + np.arange(100.0)])
    east = np.concatenate([0.3 * np.arange(100.0), 500 - 0.3 * np.arange(100.0)])
    stretch = np.repeat([0, 1], 100)
    path = smooth_path(time_s, east, 0 * east, stretch)
    assert np.allclose(path.easting, east, atol=1e-4)
    assert np.allclose(path.speed_m_s, 0.3, atol=1e-4)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_fixes_stay_as_they_are(count: int) -> None:
    time_s = np.arange(float(count))
    path = _smoothed(time_s, np.column_stack([time_s, time_s]))
    assert np.array_equal(path.easting, time_s)
    assert len(path.speed_m_s) == count


@pytest.mark.parametrize("every", [1, 5, 15])
def test_sampling_changes_little(every: int) -> None:
    """T means the same seconds at any sampling."""
    time_s = np.arange(6000.0)
    true = np.column_stack([0.3 * time_s, 30 * np.sin(time_s / 300)])
    length_m = float(np.hypot(*np.diff(true, axis=0).T).sum())
    path = _smoothed(time_s[::every], true[::every])
    assert _length_m(path) == pytest.approx(length_m, rel=0.005)


def test_a_burst_of_reflections_is_cut_off_and_not_only_eased() -> None:
    """Ten seconds 25 m off: Huber's weight alone would pull the path by metres."""
    time_s = np.arange(600.0)
    places = np.column_stack([0.3 * time_s, 0 * time_s])
    places[300:310, 1] += 25
    assert np.abs(_smoothed(time_s, places).northing).max() < 0.3


def test_a_fix_after_a_pause_counts_for_no_more_than_t() -> None:
    """Fixes 50 s apart, each off by turns: were each worth 50 s, they would be met."""
    time_s = np.arange(0, 3000.0, 50.0)
    off = np.where(np.arange(len(time_s)) % 2, 1.0, -1.0)
    path = _smoothed(time_s, np.column_stack([0.3 * time_s, off]))
    assert np.abs(path.northing[5:-5]).max() < 0.9
