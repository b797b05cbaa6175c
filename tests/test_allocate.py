"""Sharing out hours: worked cases, an outside optimiser, and what any optimum obeys."""

from math import log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import Bounds, LinearConstraint, minimize

from bayes import unlucky_search
from sweptwater.arrays import Floats
from sweptwater.search.allocate import allocate

THREE = [0.5, 0.3, 0.2]
CASES = [
    (THREE, [1, 1, 1], 1, [0.75541, 0.24459, 0.0], 0.33018337),
    (THREE, [1, 1, 1], 3, [1.47571, 0.96488, 0.55941], 0.65707391),
    (
        [0.4, 0.3, 0.2, 0.1],
        [0.05, 0.025, 0.05, 0.0125],
        60.0,
        [28.27403, 17.31489, 14.41108, 0.0],
        0.51081396,
    ),
    ([0.7, 0.3], [1, 1], 0.5, [0.5, 0.0], 0.27542854),
    ([0.7, 0.3], [1, 1], 2, [1.42365, 0.57635], 0.66283292),
]
"""Where, rates, hours to share; hours and gain: exponential detection after Koopman
1957 and Stone 1975, section 2.2; derived, closed form against SLSQP."""

places = st.integers(1, 30).flatmap(
    lambda n: st.tuples(
        arrays(float, n, elements=st.floats(1e-4, 1)),
        arrays(float, n, elements=st.floats(1e-3, 2)),
    )
)


@pytest.mark.parametrize(("where", "rates", "total", "hours", "gain"), CASES)
def test_worked_cases(
    where: list[float],
    rates: list[float],
    total: float,
    hours: list[float],
    gain: float,
) -> None:
    best = allocate(where, rates, total)
    assert best.hours == pytest.approx(hours, abs=2e-4 if total == 60 else 1e-5)
    assert best.gain == pytest.approx(gain, abs=1e-7)


def test_the_level_and_where_the_third_place_begins() -> None:
    assert allocate(THREE, [1, 1, 1], 1).level == pytest.approx(0.2349083, abs=1e-7)
    begins = log(0.5 / 0.2) + log(0.3 / 0.2)
    assert begins == pytest.approx(1.3217558, abs=1e-7)
    assert allocate(THREE, [1, 1, 1], begins - 1e-6).hours[2] == 0
    assert allocate(THREE, [1, 1, 1], begins + 1e-6).hours[2] > 0


@pytest.mark.parametrize(
    ("shares", "gain"), [([1 / 3] * 3, 0.28346869), (THREE, 0.31074305)]
)
def test_plain_splits_find_less(shares: list[float], gain: float) -> None:
    plain = float(np.dot(THREE, -np.expm1(-np.array(shares))))
    assert plain == pytest.approx(gain, abs=1e-8)
    assert allocate(THREE, [1, 1, 1], 1).gain > plain


@given(places, st.floats(0.01, 50))
def test_no_place_would_gain_more_from_an_hour(
    told: tuple[Floats, Floats], total: float
) -> None:
    # The conditions of Karush, Kuhn and Tucker.
    where, rates = told
    best = allocate(where, rates, total)
    assert best.hours.sum() == pytest.approx(total)
    more = where * rates * np.exp(-rates * best.hours)
    used = best.hours > 0
    assert more[used] == pytest.approx(best.level, rel=1e-6)
    assert (more[~used] <= best.level * (1 + 1e-9)).all()


@given(places, st.floats(0.01, 9), st.floats(0.01, 9))
def test_hours_shared_out_in_two_goes_are_the_same(
    told: tuple[Floats, Floats], one: float, two: float
) -> None:
    # Stone 1975: the optimum is the same at every hour on the way.
    where, rates = told
    where = where / where.sum()
    first = allocate(where, rates, one).hours
    left = unlucky_search(where, -np.expm1(-rates * first))
    second = allocate(left, rates, two).hours
    both = allocate(where, rates, one + two).hours
    assert first + second == pytest.approx(both, rel=1e-5, abs=1e-5 * (one + two))


@given(places, st.floats(0.01, 20), st.integers(0, 999))
def test_no_other_split_finds_more(
    told: tuple[Floats, Floats], total: float, seed: int
) -> None:
    where, rates = told
    best = allocate(where, rates, total).gain
    shares = np.random.default_rng(seed).dirichlet(np.ones(len(where)), size=20)
    others = -np.expm1(-rates * total * shares) @ where
    assert (others <= best + 1e-9).all()


@pytest.mark.parametrize("seed", range(5))
def test_an_outside_optimiser_agrees(seed: int) -> None:
    # SciPy's SLSQP, which knows nothing of the closed form.
    rng = np.random.default_rng(seed)
    where, rates = rng.dirichlet(np.ones(6)), rng.uniform(0.2, 2, 6)

    def missed(z: Floats) -> float:
        return float(where @ np.exp(-rates * z))

    found = minimize(
        missed,
        np.full(6, 0.5),
        bounds=Bounds(0, 3),
        constraints=LinearConstraint(np.ones((1, 6)), 3, 3),
        method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 2000},
    )
    best = allocate(where, rates, 3)
    assert best.gain == pytest.approx(1 - found.fun, abs=1e-7)
    assert best.hours == pytest.approx(found.x, abs=1e-3)


def test_places_where_no_hour_can_be_spent() -> None:
    best = allocate([0.5, 0.5, 0.0], [0.0, 1.0, 1.0], 2)
    assert best.hours.tolist() == [0.0, 2.0, 0.0]
    assert allocate([0.5], [1.0], 0).hours.tolist() == [0.0]
    with pytest.raises(ValueError, match="no place"):
        allocate([0.5], [0.0], 1)
