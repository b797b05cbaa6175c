"""One cast from a drifting boat: closed forms against an integration by steps."""

from math import hypot, inf

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from sweptwater.offers.casts import (
    Cast,
    countdown_s,
    fly_path,
    layer_times_s,
    overrun,
    taut_s,
)

IN_S = 0.0254
"""An inch a second in m/s: the inch is 25.4 mm (agreement of 1959)."""

casts = st.builds(
    Cast,
    length_m=st.floats(8, 30),
    sink_m_s=st.floats(0, 8 * IN_S),
    drift_m_s=st.floats(0.03, 0.8),
    count_s=st.just(0.0) | st.floats(0, 90),
    retrieve_m_s=st.just(0.0) | st.floats(0.01, 1.2),
)


def in_water(cast: Cast) -> tuple[float, float, np.ndarray]:
    """Return how long a cast lasts, its deepest, and depths at 50 moments, by steps.

    In the water's frame, the fly sinks at its rate unless the rod is further off than
    the line that is out; what it is too far off by is pulled in along the line.
    """

    def line_m(time_s: float) -> float:
        return cast.length_m - cast.retrieve_m_s * max(0.0, time_s - cast.count_s)

    def moves(time_s: float, at: np.ndarray) -> list[float]:
        ahead_m, depth_m = at[0] - cast.drift_m_s * time_s, at[1]
        off_m = hypot(ahead_m, depth_m)
        if off_m <= line_m(time_s) or off_m < 1e-6:
            return [0.0, cast.sink_m_s]
        pull_m_s = 200 * (off_m - line_m(time_s))
        return [
            -pull_m_s * ahead_m / off_m,
            cast.sink_m_s - pull_m_s * depth_m / off_m,
        ]

    def below(time_s: float, at: np.ndarray) -> float:
        return float(at[0] - cast.drift_m_s * time_s)

    below.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        moves,
        (0, 3000),
        [cast.length_m, 0.0],
        events=below,
        method="LSODA",
        rtol=1e-7,
        atol=1e-7,
        max_step=1.0,
    )
    lasts_s = float(found.t[-1])
    depths_m = np.interp(np.linspace(0, lasts_s, 50), found.t, found.y[1])
    return lasts_s, float(found.y[1].max()), depths_m


@pytest.mark.parametrize(
    ("depth_m", "in_s", "count_s"),
    [(1, 1.5, 26.247), (3, 3, 39.370), (5, 5, 39.370), (6, 7, 33.746), (0, 3, 0.0)],
)
def test_countdown(depth_m: float, in_s: float, count_s: float) -> None:
    """Depth over rate, in inches a second (the formula from memory)."""
    assert countdown_s(depth_m, in_s * IN_S) == pytest.approx(count_s, abs=1e-3)


def test_a_floating_line_gets_nowhere() -> None:
    assert countdown_s(1, 0.0) == inf
    assert overrun(Cast(20, 0.0, 0.4)).depth_m == 0
    path = fly_path(Cast(20, 0.0, 0.4, count_s=10, retrieve_m_s=0.8))
    assert path.duration_s == pytest.approx(35)  # in at 10 + 20 / 0.8 s
    assert layer_times_s(path, (1.0, 2.0)) == (path.duration_s, 0, 0)


@pytest.mark.parametrize(
    ("length_m", "drift_m_s", "in_s", "time_s", "depth_m"),
    [
        (20, 0.4, 3, 50.0, 3.81),
        (20, 0.4, 7, 50.0, 8.89),
        (20, 0.4, 1.5, 50.0, 1.905),
        (20, 0.2, 3, 100.0, 7.62),
        (25, 0.5, 5, 50.0, 6.35),
    ],
)
def test_overrun(
    length_m: float, drift_m_s: float, in_s: float, time_s: float, depth_m: float
) -> None:
    """A line sinks freely while the boat closes in: t = L / v, d = s L / v."""
    cast = Cast(length_m, in_s * IN_S, drift_m_s)
    found, path = overrun(cast), fly_path(cast)
    assert (found.time_s, found.depth_m) == pytest.approx((time_s, depth_m), abs=1e-6)
    assert (path.duration_s, path.depth_m[-1]) == pytest.approx((time_s, depth_m))
    assert in_water(cast)[:2] == pytest.approx((time_s, depth_m), rel=1e-4)


def test_a_retrieve_shortens_it() -> None:
    """Line in hand at q of v or more: d = s L / max(v, q)."""
    found = overrun(Cast(20, 3 * IN_S, 0.4, retrieve_m_s=0.8))
    assert (found.time_s, found.depth_m) == pytest.approx((25.0, 1.905), abs=1e-9)
    slow = overrun(Cast(20, 3 * IN_S, 0.4, retrieve_m_s=0.3))
    assert slow.depth_m == pytest.approx(3.81)


def test_taut_before_the_boat_is_there() -> None:
    """Pythagoras: (L - v t)2 + (s t)2 = L2, against L / v = 400 s."""
    cast = Cast(20, 3 * IN_S, 0.05)
    assert taut_s(cast) == pytest.approx(240.777, abs=1e-3)
    found = overrun(cast)
    assert found.depth_m == 20
    assert found.time_s == fly_path(cast).duration_s
    assert in_water(cast)[:2] == pytest.approx((found.time_s, 20), rel=2e-3)
    assert taut_s(Cast(20, 3 * IN_S, 0.4)) > 50  # a slower line never is, before


@given(casts)
def test_only_a_line_faster_than_the_boat_comes_taut(cast: Cast) -> None:
    if not abs(cast.sink_m_s - cast.drift_m_s) < 1e-9:
        taut_first = taut_s(cast) < cast.length_m / cast.drift_m_s
        assert taut_first == (cast.sink_m_s > cast.drift_m_s)


@pytest.mark.parametrize("number", range(30))
def test_any_cast_against_an_integration_by_steps(number: int) -> None:
    random = np.random.default_rng(number)
    cast = Cast(
        random.uniform(10, 28),
        random.uniform(0.3, 7.5) * IN_S,
        random.uniform(0.05, 0.7),
        count_s=random.choice([0.0, random.uniform(0, 80)]),
        retrieve_m_s=random.choice([0.0, random.uniform(0, 1.2)]),
    )
    check_by_steps(cast)


@pytest.mark.parametrize(
    "cast",
    [
        Cast(20, 0.17, 0.06, count_s=90, retrieve_m_s=0.0),  # swings, left alone
        Cast(10, 0.17, 0.06, count_s=60, retrieve_m_s=0.15),  # taut in the count
        Cast(25, 0.15, 0.3, count_s=20, retrieve_m_s=0.7),  # slack taken in first
        Cast(25, 0.15, 0.2, retrieve_m_s=0.25),  # taut from the start
        Cast(25, 0.15, 0.2, retrieve_m_s=0.1),  # the boat outruns the retrieve
    ],
)
def test_each_kind_of_cast_against_an_integration_by_steps(cast: Cast) -> None:
    check_by_steps(cast)


def check_by_steps(cast: Cast) -> None:
    path = fly_path(cast)
    lasts_s, deepest_m, depths_m = in_water(cast)
    moments = np.linspace(0, path.duration_s, 50)
    found_m = np.interp(moments, path.time_s, path.depth_m)
    assert found_m[:-1] == pytest.approx(depths_m[:-1], rel=0.01, abs=0.05)
    assert path.duration_s == pytest.approx(lasts_s, rel=2e-3, abs=0.1)
    assert path.depth_m.max() == pytest.approx(deepest_m, rel=5e-3, abs=0.02)


@given(casts)
@example(Cast(8, 0.0, 0.5, retrieve_m_s=0.5))
@example(Cast(20, 0.1, 0.4, count_s=30, retrieve_m_s=0.4))
@example(Cast(20, 0.1, 0.1, count_s=90, retrieve_m_s=0.1))
def test_what_holds_for_every_path(cast: Cast) -> None:
    path = fly_path(cast)
    assert np.all(np.isfinite(path.depth_m))
    assert np.all(np.diff(path.time_s) >= -1e-9)
    rates = np.diff(path.depth_m) - cast.sink_m_s * np.diff(path.time_s)
    assert np.all(rates <= 1e-9)  # nothing sinks faster than its line
    assert np.all(path.depth_m >= -1e-12)
    assert path.depth_m.max() <= cast.length_m + 1e-9
    times = layer_times_s(path, (0.9, 2.4, 4.6))
    assert min(times) >= -1e-9
    assert sum(times) == pytest.approx(path.duration_s)
    assert path.depth_m.max() <= max(
        overrun(Cast(cast.length_m, cast.sink_m_s, cast.drift_m_s)).depth_m, 0
    ) * (1 + 1e-9)


@given(casts, st.floats(1.05, 3))
def test_a_slower_boat_and_a_faster_line_go_deeper(cast: Cast, more: float) -> None:
    alone = Cast(cast.length_m, cast.sink_m_s, cast.drift_m_s)
    depth_m = overrun(alone).depth_m
    slower = Cast(cast.length_m, cast.sink_m_s, cast.drift_m_s / more)
    faster = Cast(cast.length_m, cast.sink_m_s * more, cast.drift_m_s)
    longer = Cast(cast.length_m * more, cast.sink_m_s, cast.drift_m_s)
    for other in (slower, faster, longer):
        assert overrun(other).depth_m >= depth_m
        assert fly_path(other).depth_m.max() >= fly_path(alone).depth_m.max() - 1e-9


@settings(max_examples=40)
@given(casts)
def test_time_in_layers_by_counting_moments(cast: Cast) -> None:
    path = fly_path(cast)
    moments = (np.arange(20_000) + 0.5) / 20_000 * path.duration_s
    depth_m = np.interp(moments, path.time_s, path.depth_m)
    edges_m = (0.5, 1.7, 3.0)
    counted = np.bincount(np.searchsorted(edges_m, depth_m), minlength=4) / 20_000
    found = np.array(layer_times_s(path, edges_m)) / path.duration_s
    assert found == pytest.approx(counted, abs=2e-3)


@pytest.mark.parametrize(
    "numbers",
    [(0, 0.1, 0.4), (20, -0.1, 0.4), (20, 0.1, 0), (20, 0.1, 0.4, -1), (inf, 0.1, 0.4)],
)
def test_what_no_cast_can_be(numbers: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="cast"):
        Cast(*numbers)
