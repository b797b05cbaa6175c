"""The receiver's wander: what stays tell of it, and what it adds to a distance."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import rice

from hard_days import wandering
from sweptwater.practice.settings import Rules
from sweptwater.tracks.smooth import Path, smooth_path
from sweptwater.tracks.wander import (
    FORGETS,
    GAIN,
    Wander,
    averages_s,
    rice_mean,
    seen_wander,
    smooths_s,
)
from tracks_made import Leg, seen, trip

MEMORY_S = 180.0


def _at_rest(sigma_m: float, *, seconds: int = 4000, every: int = 1) -> Path:
    """Return the path of a boat that lies still, its receiver wandering."""
    rng = np.random.default_rng(int(10 * sigma_m) + every)
    fixes = sigma_m * np.column_stack([wandering(seconds, MEMORY_S, rng) for _ in "xy"])
    fixes += 0.4 * rng.standard_normal(fixes.shape)
    time_s = np.arange(0.0, seconds, every)
    stretch = np.zeros(len(time_s), dtype=np.int64)
    return smooth_path(time_s, fixes[::every, 0], fixes[::every, 1], stretch)


@pytest.mark.parametrize(("speed", "error"), [(0.0, 1.0), (0.3, 0.1), (0.5, 2.0)])
def test_the_mean_speed_is_rices(speed: float, error: float) -> None:
    """Against scipy's distribution of that name."""
    assert rice_mean(speed, error) == pytest.approx(
        rice(speed / error, scale=error).mean(), rel=1e-6
    )


def test_the_gain_of_the_smoothing_is_its_integral() -> None:
    """The integrals of the docstring, by quadrature."""

    def response(x: float, forgets: float) -> float:
        return x**2 / (x**2 + forgets**2) / (1 + x**4) ** 2 if x else 0.0

    whole = quad(response, 0, np.inf, args=(0.0,))[0]
    assert pytest.approx(2 * whole / np.pi, rel=1e-3) == GAIN
    for smoothing_s in (10.0, 18.0):
        part = quad(response, 0, np.inf, args=(smoothing_s / MEMORY_S,))[0]
        told = smoothing_s / GAIN / smooths_s(smoothing_s)
        assert told == pytest.approx(part / whole, rel=0.02)
    assert pytest.approx(np.pi / 2 / whole, rel=1e-3) == FORGETS


@pytest.mark.parametrize("every", [1, 5, 30, 60])
@pytest.mark.parametrize("sigma_m", [2.0, 5.0])
def test_a_stay_tells_the_wander_at_any_sampling(sigma_m: float, every: int) -> None:
    path = _at_rest(sigma_m, every=every)
    lying = np.ones(len(path.time_s), dtype=bool)
    wander = seen_wander(path, lying, Rules())
    assert wander.seen
    assert wander.sigma_m == pytest.approx(sigma_m, rel=0.3)


def test_somebody_who_walks_about_at_lunch_counts_for_little() -> None:
    path = _at_rest(2.0)
    walked = path.easting.copy()
    walked[2000:2400] += np.abs(np.arange(400) - 200.0) - 200
    busy = smooth_path(path.time_s, walked, path.northing, path.stretch)
    lying = np.ones(len(walked), dtype=bool)
    quiet, both = (seen_wander(p, lying, Rules()).m_s for p in (path, busy))
    assert both == pytest.approx(quiet, rel=0.15)


@pytest.mark.parametrize("seconds", [0, 150, 299])
def test_without_a_stay_it_is_the_usual_one(seconds: int) -> None:
    path = _at_rest(5.0)
    lying = np.arange(len(path.time_s)) < seconds
    assert seen_wander(path, lying, Rules()) == Wander(Rules().wander_m_s, seen=False)


def test_smoothing_harder_or_going_faster_leaves_less() -> None:
    wander = Wander(0.05, seen=True)
    told = [
        wander.lengthens(speed, smoothing_s=smoothing_s, step_s=1)
        for speed, smoothing_s in ((0.1, 10), (0.1, 30), (0.3, 30), (0.9, 30))
    ]
    assert sorted(told, reverse=True) == told
    assert min(told) > 0


@pytest.mark.parametrize("step_s", [1.0, 30.0, 120.0])
def test_longer_steps_are_hardly_smoothed(step_s: float) -> None:
    """At steps of two minutes only those themselves count, at one second T alone."""
    told = averages_s(10.0, step_s)
    if step_s == 1:
        assert told == pytest.approx(smooths_s(10.0), rel=0.01)
    else:
        share = step_s / MEMORY_S
        alone_s = step_s / 2 * share / (1 - np.exp(-share))
        assert told == pytest.approx(alone_s, rel=0.03)


@pytest.mark.parametrize(("drift_m_s", "hours"), [(0.1, 3), (0.2, 2)])
def test_a_drift_tells_by_how_much_it_is_too_long(
    drift_m_s: float, hours: float
) -> None:
    """Right within a factor of two in the mean, with the usual wander of 2 m."""
    way = trip(Leg(hours * 3600, drift_m_s, 70))
    drifts = [seen(way, seed=seed).drifts[0] for seed in range(5)]
    long = np.mean([d.length_m for d in drifts]) / (hours * 3600 * drift_m_s) - 1
    told = np.mean([d.length_error for d in drifts])
    assert 0.5 < told / long < 2
