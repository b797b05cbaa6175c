"""How surely a search would have shown what is there, against values from outside."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from bayes import unlucky_search
from sweptwater.practice.search import SearchRules
from sweptwater.search.laws import (
    coverage_factor,
    haphazard_chance,
    regular_chance,
    together,
)
from sweptwater.search.width import search_rate_m2_s

FACTORS = [0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0]


def test_coverage_factor() -> None:
    # Koopman, Search and Screening (1946, 1980; from memory): C = W L / A, here for 3
    # hours at 0.5 m/s with a width of 30 m over 0.5 km2.
    factor = coverage_factor(30, 0.5 * 3 * 3600, 500_000)
    assert factor == pytest.approx(0.324, 1e-12)
    assert haphazard_chance(factor) == pytest.approx(0.27675, abs=1e-6)


def test_a_search_without_order() -> None:
    # Koopman's random-search formula, evaluated to six digits.
    chances = [0.221199, 0.393469, 0.527633, 0.632121, 0.77687, 0.864665, 0.950213]
    assert haphazard_chance(FACTORS) == pytest.approx(chances, abs=1e-6)


def test_a_regular_search() -> None:
    # Washburn, Search and Detection, 4th ed., section 2.4: 2 Phi(C sqrt(pi / 2)) - 1.
    chances = [0.245969, 0.469116, 0.652775, 0.789909, 0.939888, 0.987811, 0.99983]
    assert regular_chance(FACTORS) == pytest.approx(chances, abs=1e-6)
    normal = 2 * norm.cdf(np.sqrt(np.pi / 2) * np.array(FACTORS)) - 1
    assert regular_chance(FACTORS) == pytest.approx(normal, abs=1e-12)


@given(st.floats(0.001, 1.0))
def test_order_helps_and_never_shows_more_than_was_searched(factor: float) -> None:
    assert haphazard_chance(factor) < regular_chance(factor) <= min(1.0, factor)


def test_searches_together() -> None:
    # Independence, as in the planning sheets at sarinfo.bc.ca: 0.5, 0.4, 0.3 make 0.79.
    assert together([0.5, 0.4, 0.3]) == pytest.approx(0.79, abs=1e-12)
    # Three searches of half a factor are one of one and a half.
    half = float(haphazard_chance(0.5))
    assert together([half] * 3) == pytest.approx(0.77687, abs=1e-6)
    # Two of 60 % are 84 %, not the 80 % that one printed chart reads.
    assert together([0.6, 0.6]) == pytest.approx(0.84, abs=1e-12)


@pytest.mark.parametrize(
    ("where", "chances", "after"),
    [
        # Cooper's formula of shifting probabilities, Search is an Emergency, 1995.
        ([0.4, 0.35, 0.25], [0.5, 0, 0], [0.25, 0.4375, 0.3125]),
        # Bayes' rule with a tenth outside: derived.
        ([0.5, 0.4], [0.6, 0.2], [0.322581, 0.516129]),
    ],
)
def test_an_unlucky_search(
    where: list[float], chances: list[float], after: list[float]
) -> None:
    assert unlucky_search(where, chances) == pytest.approx(after, abs=1e-6)


def test_a_sure_search_cannot_have_been_unlucky() -> None:
    with pytest.raises(ValueError, match="surely"):
        unlucky_search([1.0], [1.0])


@given(st.floats(0.02, 0.8), st.floats(1.05, 4.0), st.floats(0, 20))
def test_a_slower_drift_searches_better(
    drift_m_s: float, times: float, count_s: float
) -> None:
    rules = SearchRules()
    slow, fast = (
        search_rate_m2_s(2, cast_m=22, drift_m_s=v, rules=rules, count_s=count_s) / v
        for v in (drift_m_s, times * drift_m_s)
    )
    assert 0 <= fast <= slow


def test_what_rods_search_cast_by_cast() -> None:
    # Counted out: each of two rods casts 20 m every 40 s from a boat at 0.3 m/s; the
    # fly is worked for 20 s, over 20 - 6 m, and shows fish 2 m to either side.
    rules = SearchRules(cycle_s=40, working_s=20, shows_m=4)
    casts = 2 * 3600 / 40
    searched_m2 = casts * 14 * 4
    rate = search_rate_m2_s(2, cast_m=20, drift_m_s=0.3, rules=rules)
    assert 3600 * rate == pytest.approx(searched_m2)
