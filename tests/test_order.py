"""Which drifts fit, and in which order: by hand, and against every order there is."""

from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sweptwater.arrays import Floats
from sweptwater.plan.order import Choice, _untangled, best_order, filled

MINUTE = 60.0


def choice_of(
    places: Floats,
    lengths_m: Floats,
    worth: Floats,
    *,
    speed_m_s: float = 0.3,
    reset_s: float = 240.0,
) -> Choice:
    """Return drifts to the east from places, ways at 2 m/s, the jetty at the origin."""
    count = len(worth)
    starts = np.vstack([[0.0, 0.0], places])
    ends = starts + np.vstack([[0, 0], np.column_stack([lengths_m, np.zeros(count)])])
    way_s = np.hypot(*np.moveaxis(starts[None] - ends[:, None], -1, 0)) / 2.0
    between_s = np.maximum(reset_s, reset_s / 2 + way_s)
    between_s[0], between_s[:, 0] = way_s[0] + reset_s / 2, way_s[:, 0] + reset_s / 2
    between_s[0, 0] = 0
    return Choice(between_s, lengths_m / speed_m_s, worth)


def random_choice(rng: np.random.Generator, count: int) -> Choice:
    places = rng.uniform(-1500, 1500, (count, 2))
    lengths_m = rng.uniform(50, 500, count)
    return choice_of(places, lengths_m, lengths_m * rng.uniform(10, 60, count))


def best_of_all(choice: Choice, limit_s: float) -> float:
    """Return the most that any order of any of the drifts brings."""
    count = len(choice.worth)
    best = 0.0
    for size in range(count, 0, -1):
        for some in combinations(range(count), size):
            worth = float(choice.worth[list(some)].sum())
            if worth > best and any(
                choice.time_s(order) <= limit_s for order in permutations(some)
            ):
                best = worth
    return best


def worth_of(choice: Choice, order: list[int]) -> float:
    return float(choice.worth[order].sum())


# Known by hand


def test_a_row_of_drifts_down_a_bank() -> None:
    # Six drifts of ten minutes side by side, four minutes apart, the first ten minutes
    # from the jetty and each next one a minute further. All: 10 + 6 x 10 + 5 x 4 + 15.
    out = MINUTE * np.array([0.0, *range(10, 16)])
    apart = np.abs(np.subtract.outer(np.arange(7), np.arange(7)))
    between = MINUTE * (2.0 + 2 * apart)
    between[0], between[:, 0] = out, out
    choice = Choice(between, np.full(6, 10 * MINUTE), np.ones(6))
    all_s = (10 + 60 + 20 + 15) * MINUTE
    assert choice.time_s([0, 1, 2, 3, 4, 5]) == all_s
    assert best_order(choice, all_s) in ([0, 1, 2, 3, 4, 5], [5, 4, 3, 2, 1, 0])
    # A minute less, and one of them stays out.
    assert len(best_order(choice, all_s - MINUTE)) == 5


def test_worth_counts_and_not_number() -> None:
    # One drift of an hour that brings 10, or three of 15 minutes that bring 3 each.
    between = np.full((5, 5), 4 * MINUTE)
    service = MINUTE * np.array([60.0, 15, 15, 15])
    between[0, 0] = 0
    choice = Choice(between, service, np.array([10.0, 3, 3, 3]))
    assert best_order(choice, 68 * MINUTE) == [0]
    assert sorted(best_order(choice, 67 * MINUTE)) == [1, 2, 3]


def test_one_way_is_cheaper_than_the_other() -> None:
    # Down the wind from 0 to 1 it takes 4 minutes, back up 20.
    between = MINUTE * np.array([[0.0, 5, 5], [5, 0, 4], [5, 20, 0]])
    choice = Choice(between, np.full(2, 600.0), np.ones(2))
    assert best_order(choice, 34 * MINUTE) == [0, 1]
    assert len(best_order(choice, 34 * MINUTE - 1)) == 1


def test_nothing_fits() -> None:
    choice = choice_of(np.array([[900.0, 0]]), np.array([300.0]), np.ones(1))
    assert best_order(choice, 1000.0) == []
    # 450 s out and 600 back, two minutes at either end, 1,000 s of drifting.
    assert best_order(choice, 2290.0) == [0]
    assert best_order(choice, 2289.0) == []


def test_no_drifts_at_all() -> None:
    choice = Choice(np.zeros((1, 1)), np.zeros(0), np.zeros(0))
    assert best_order(choice, 1e5) == []
    assert choice.time_s([]) == 0


def test_what_brings_nothing_is_left() -> None:
    choice = choice_of(
        np.array([[10.0, 0], [20.0, 0]]), np.array([50.0, 50]), np.array([0.0, 1])
    )
    assert best_order(choice, 1e5) == [1]


def test_filling_up_takes_down_what_was_put_in() -> None:
    choice = choice_of(
        np.array([[0.0, 0], [0, 30], [0, 900]]),
        np.full(3, 100.0),
        np.array([3.0, 2.0, 1.0]),
    )
    put: list[int] = []
    free = np.array([True, True, True])
    order = filled(choice, [1], np.inf, free=free, put=put)
    assert put == [0, 2]
    assert sorted(order) == [0, 1, 2]
    free[2] = False
    assert sorted(filled(choice, [1], np.inf, free=free)) == [0, 1]


def test_a_detour_is_taken_out_and_none_is_put_in() -> None:
    # Along a shore 0, 1, 2, 3: 0, 2, 3, 1 goes back for one of them.
    places = np.array([[0.0, 500 * k] for k in range(1, 5)])
    choice = choice_of(places, np.full(4, 60.0), np.ones(4), reset_s=0.0)
    rng = np.random.default_rng(2)
    best_s = min(choice.time_s(order) for order in permutations(range(4)))
    assert choice.time_s(_untangled(choice, [0, 2, 3, 1])) == pytest.approx(best_s)
    for _ in range(50):
        order = rng.permutation(4).tolist()
        after = _untangled(choice, order)
        assert sorted(after) == [0, 1, 2, 3]
        assert choice.time_s(after) <= choice.time_s(order) + 1e-6


# Against every order


@pytest.mark.slow
def test_against_every_order() -> None:
    rng = np.random.default_rng(20)
    short = []
    for case in range(60):
        choice = random_choice(rng, 2 + case % 6)
        whole_s = choice.time_s(list(range(len(choice.worth))))
        limit_s = float(rng.uniform(0.25, 0.9)) * whole_s
        best = best_of_all(choice, limit_s)
        got = worth_of(choice, best_order(choice, limit_s))
        short.append(0.0 if best == 0 else 1 - got / best)
    lost = np.array(short)
    assert (lost < 1e-9).mean() >= 0.95
    assert lost.max() <= 0.05
    assert lost.min() > -1e-9


@given(st.integers(0, 10**6), st.integers(0, 25), st.floats(0, 4e4))
@settings(max_examples=12)
def test_never_over_the_limit_and_always_the_same(
    seed: int, count: int, limit_s: float
) -> None:
    choice = random_choice(np.random.default_rng(seed), count)
    order = best_order(choice, limit_s)
    assert len(set(order)) == len(order)
    assert choice.time_s(order) <= limit_s + 1e-6
    assert order == best_order(choice, limit_s)
    free = np.ones(count, dtype=bool)
    greedy = filled(choice, [], limit_s, free=free)
    assert worth_of(choice, order) >= worth_of(choice, greedy) - 1e-9


@given(st.integers(0, 10**6), st.floats(5e3, 2e4))
@settings(max_examples=8)
def test_more_time_is_never_worse_by_much(seed: int, limit_s: float) -> None:
    choice = random_choice(np.random.default_rng(seed), 12)
    less, more = (best_order(choice, t) for t in (limit_s, 1.2 * limit_s))
    assert worth_of(choice, more) >= 0.97 * worth_of(choice, less)


@pytest.mark.parametrize("count", [1, 5, 30])
def test_all_of_them_where_there_is_time(count: int) -> None:
    choice = random_choice(np.random.default_rng(count), count)
    assert sorted(best_order(choice, 1e7)) == list(range(count))
