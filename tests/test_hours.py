"""Where hours do most good: sums by hand, all other ways to share them, and any water.

The optimum itself is held against an outside optimiser in test_allocate.py.
"""

from itertools import pairwise, permutations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from search_made import pool
from sweptwater.arrays import Bools, Floats
from sweptwater.plan.hours import Shared, even_hours, share_hours, way_round
from sweptwater.search.belief import Belief
from sweptwater.search.squares import Squares

LEAST_H = 0.5


def strips(count: int, layers: tuple[str, ...] = ("all",)) -> Squares:
    """Return a pool in strips from west to east, each a patch of one sector."""
    wide_m = 1000 / count
    parts = {f"S{i}": box(i * wide_m, 0, (i + 1) * wide_m, 300) for i in range(count)}
    return pool(box(0, 0, 1000, 300), parts, layers=layers)


def believed(squares: Squares, weights: Floats, factor: Floats | None = None) -> Belief:
    """Return a belief by patch and layer, (patches, layers)."""
    before = weights[squares.patch] / len(squares)
    before = before / before.sum()
    done = np.zeros_like(before) if factor is None else factor[squares.patch]
    return Belief(squares, before, done)


def in_line(squares: Squares, speed_m_h: float) -> Floats:
    """Return the hours between a jetty in the west and the patches."""
    at = np.array([0.0, *(patch.easting for patch in squares.patches)])
    return np.abs(np.subtract.outer(at, at)) / speed_m_h


def gain_of(belief: Belief, rates: Floats, hours: Floats) -> float:
    """Return what hours a patch and layer gain where belief is even within each.

    The sum of p (1 - exp(-rate x hours / area)): the law of random search.
    """
    squares = belief.squares
    weight = np.zeros_like(hours)
    np.add.at(weight, squares.patch, belief.unfound)
    area = np.array([patch.area_m2 for patch in squares.patches])[:, None]
    return float((weight * -np.expm1(-rates * hours / area)).sum())


def table_of(shared: Shared, shape: tuple[int, int]) -> Floats:
    """Return the hours of each patch and layer."""
    hours = np.zeros(shape)
    for spell in shared.spells:
        hours[spell.patch, spell.layer] += spell.hours
    return hours


cases = st.tuples(
    st.integers(1, 5),
    st.integers(1, 3),
    st.integers(0, 2**32 - 1),
    st.floats(0.1, 12),
    st.sampled_from([300.0, 2000.0, 1e9]),
)


@given(cases)
def test_what_any_shared_hours_obey(case: tuple[int, int, int, float, float]) -> None:
    count, deep, seed, hours, speed = case
    rng = np.random.default_rng(seed)
    squares = strips(count, ("a", "b", "c")[:deep])
    shape = len(squares.patches), deep
    weights, done = rng.uniform(0.1, 3, shape), rng.uniform(0, 2, shape)
    belief = believed(squares, weights, done)
    rates = rng.uniform(1_000, 60_000, shape) * (rng.random(shape) < 0.8)
    mine = rng.random(shape[0]) < 0.8
    runs = in_line(squares, speed)
    shared = share_hours(belief, rates, mine, runs, hours, least_h=LEAST_H)
    spent = table_of(shared, shape)
    # Nowhere that it may not go or cannot search, and never more hours than there are.
    assert not spent[(rates == 0) | ~mine[:, None]].any()
    assert spent.sum() + shared.run_h <= hours + 1e-9
    if shared.spells:
        assert spent.sum() + shared.run_h == pytest.approx(hours)
        way_h, order = way_round(np.asarray(spent.any(axis=1)), runs)
        assert shared.run_h == pytest.approx(way_h)
        assert tuple(dict.fromkeys(one.patch for one in shared.spells)) == order
    else:
        assert shared.run_h == 0
    if len(shared.spells) > 1:
        assert spent[spent > 0].min() >= LEAST_H - 1e-9
    # What it is said to gain is what the belief says.
    gained = shared.after.chance - belief.chance
    assert sum(one.gain for one in shared.spells) == pytest.approx(gained, abs=1e-12)
    assert gained == pytest.approx(gain_of(belief, rates, spent), abs=1e-9)
    for one in shared.spells:
        here = squares.patch == one.patch
        assert one.now == pytest.approx(belief.chance_in(here, one.layer))
        assert one.after == pytest.approx(shared.after.chance_in(here, one.layer))
        assert one.after > one.now
    # No quarter of an hour does more good in another spell.
    for less, more in permutations(np.flatnonzero(spent > 0).tolist(), 2):
        moved = spent.copy()
        moved.flat[less] -= 0.25
        moved.flat[more] += 0.25
        assert gain_of(belief, rates, moved) <= gained + 1e-9


def best_of_all(belief: Belief, rates: Floats, runs: Floats, hours: float) -> float:
    """Return the most that three patches gain, by trying all fortieths of the hours."""
    steps = np.linspace(0, 1, 41)
    one, two = (axis.ravel() for axis in np.meshgrid(steps, steps))
    parts = np.stack([one, two, np.round(1 - one - two, 9)], axis=1)
    parts = parts[parts[:, 2] >= 0]
    areas = np.array([patch.area_m2 for patch in belief.squares.patches])
    weight = np.bincount(belief.squares.patch, belief.unfound.sum(axis=1))
    best = 0.0
    for to in product([False, True], repeat=3):
        left_h = hours - shortest_way(np.array(to), runs) if any(to) else 0.0
        spent = parts[((parts > 0) == np.array(to)).all(axis=1)] * max(left_h, 0.0)
        if sum(to) > 1:
            spent = spent[np.where(spent > 0, spent, np.inf).min(axis=1) >= LEAST_H]
        gains = (weight * -np.expm1(-rates[:, 0] * spent / areas)).sum(axis=1)
        best = max(best, gains.max(initial=0.0))
    return best


def test_three_patches_against_all_ways_to_share_them() -> None:
    parts = []
    for seed in range(80):
        rng = np.random.default_rng(seed)
        squares, hours = strips(3), float(rng.uniform(1, 10))
        belief = believed(squares, rng.uniform(0.1, 3, (3, 1)))
        rates, runs = rng.uniform(5_000, 40_000, (3, 1)), in_line(squares, 1500)
        everywhere = np.ones(3, dtype=bool)
        shared = share_hours(belief, rates, everywhere, runs, hours, least_h=LEAST_H)
        best = best_of_all(belief, rates, runs, hours)
        parts.append((shared.after.chance - belief.chance) / best)
    # What is short or far is dropped one by one, which need not be the very best.
    assert min(parts) > 0.9
    assert np.mean(parts) > 0.99
    assert max(parts) < 1.02  # the fortieths are not the very best either


def shortest_way(to: Bools, runs: Floats) -> float:
    """Return the shortest way round by trying every order."""
    places = (np.flatnonzero(to) + 1).tolist()
    return min(
        float(sum(runs[a, b] for a, b in zip((0, *one), (*one, 0), strict=True)))
        for one in permutations(places)
    )


def test_by_hand_two_patches_and_no_runs() -> None:
    # p = 0.7 and 0.3, an hour covers each once: 2 hours are 1.42365 and 0.57635
    # (exponential detection after Koopman 1957 and Stone 1975; derived, SLSQP agrees).
    squares = strips(2)
    belief = believed(squares, np.array([[0.7], [0.3]]))
    rates = np.array([[p.area_m2] for p in squares.patches])
    runs, both = np.zeros((3, 3)), np.ones(2, dtype=bool)
    shared = share_hours(belief, rates, both, runs, 2.0, least_h=0.25)
    assert table_of(shared, (2, 1))[:, 0] == pytest.approx([1.42365, 0.57635], abs=1e-5)
    assert shared.after.chance == pytest.approx(0.66283292, abs=1e-7)
    # A spell of 0.58 h is too short for a boat that is sent for no less than 0.6.
    shared = share_hours(belief, rates, both, runs, 2.0, least_h=0.6)
    assert table_of(shared, (2, 1))[:, 0] == pytest.approx([2.0, 0.0])


@pytest.mark.parametrize(("speed", "far"), [(1e6, True), (1000.0, False)])
def test_far_water_is_left_where_the_run_costs_more(speed: float, far: bool) -> None:
    # Alike to fish, but for the way: an hour of three out to the far end and home.
    squares = strips(3)
    belief = believed(squares, np.ones((3, 1)))
    rates = np.full((3, 1), 30_000.0)
    runs = in_line(squares, speed)
    everywhere = np.ones(3, dtype=bool)
    shared = share_hours(belief, rates, everywhere, runs, 3.0, least_h=LEAST_H)
    assert (2 in {spell.patch for spell in shared.spells}) == far
    assert 0 in {spell.patch for spell in shared.spells}


def test_no_water_leads_there() -> None:
    squares = strips(2)
    belief = believed(squares, np.ones((2, 1)))
    runs = in_line(squares, 2000)
    runs[:, 2] = runs[2, :] = np.inf
    rates, both = np.full((2, 1), 30_000.0), np.ones(2, dtype=bool)
    shared = share_hours(belief, rates, both, runs, 3.0, least_h=LEAST_H)
    assert {spell.patch for spell in shared.spells} == {0}
    nowhere = share_hours(
        belief, rates, np.array([False, True]), runs, 3.0, least_h=LEAST_H
    )
    assert (nowhere.spells, nowhere.run_h) == ((), 0.0)
    assert nowhere.after.chance == belief.chance


@pytest.mark.parametrize("hours", [0.0, 0.2])
def test_hours_that_reach_no_water_are_spent_on_none(hours: float) -> None:
    squares = strips(2)
    belief = believed(squares, np.ones((2, 1)))
    runs = in_line(squares, 500)  # 0.5 h to the middle of the first
    shared = share_hours(
        belief,
        np.full((2, 1), 30_000.0),
        np.ones(2, dtype=bool),
        runs,
        hours,
        least_h=LEAST_H,
    )
    assert shared.spells == ()
    assert shared.run_h == 0


@pytest.mark.parametrize("hours", [0.5, 4.0, 30.0])
def test_even_hours_by_hand(hours: float) -> None:
    # All alike: spread evenly, h hours search each place rate x h / all water over.
    squares = strips(4)
    belief = believed(squares, np.ones((4, 1)))
    rates = np.full((4, 1), 20_000.0)
    gain = -np.expm1(-20_000.0 * hours / 300_000)
    assert even_hours(belief, rates, gain) == pytest.approx(hours)


def test_two_layers_take_evenly_twice_as_long() -> None:
    squares = strips(4, ("a", "b"))
    belief = believed(squares, np.ones((4, 2)))
    gain = -np.expm1(-20_000.0 * 3 / 300_000)
    assert even_hours(belief, np.full((4, 2), 20_000.0), gain) == pytest.approx(6)


def test_no_hours_spread_evenly_find_what_cannot_be_searched() -> None:
    squares = strips(2)
    belief = believed(squares, np.ones((2, 1)))
    assert even_hours(belief, np.array([[20_000.0], [0.0]]), 0.6) == np.inf


@given(st.integers(0, 2**32 - 1))
def test_the_best_hours_are_never_worse_than_even_ones(seed: int) -> None:
    rng = np.random.default_rng(seed)
    squares = strips(4)
    belief = believed(squares, rng.uniform(0.1, 3, (4, 1)))
    rates = np.full((4, 1), 30_000.0)
    shared = share_hours(
        belief, rates, np.ones(4, dtype=bool), np.zeros((5, 5)), 6.0, least_h=0.0
    )
    even_h = even_hours(belief, rates, shared.after.chance - belief.chance)
    assert even_h >= 6.0 - 1e-6


@given(st.integers(0, 6), st.integers(0, 2**32 - 1))
def test_the_way_round_against_every_order(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    at = rng.uniform(0, 1, (count + 1, 2))
    runs = np.hypot(*(np.subtract.outer(axis, axis) for axis in at.T))
    to = rng.random(count) < 0.9
    found, order = way_round(to, runs)
    assert sorted(order) == np.flatnonzero(to).tolist()
    if not to.any():
        assert found == 0
        return
    stops = [0, *(one + 1 for one in order), 0]
    assert found == pytest.approx(sum(runs[a, b] for a, b in pairwise(stops)))
    best = shortest_way(to, runs)
    assert best - 1e-9 <= found
    if to.sum() <= 2:
        assert found == pytest.approx(best)
    # The nearest next is within 1 + log2(n) / 2 of the shortest (Rosenkrantz, Stearns
    # and Lewis 1977, from memory).
    assert found <= (1 + np.ceil(np.log2(to.sum() + 1)) / 2) * best + 1e-9


def test_the_way_round_is_near_the_shortest() -> None:
    longer = []
    for seed in range(60):
        at = np.random.default_rng(seed).uniform(0, 1, (6, 2))
        runs = np.hypot(*(np.subtract.outer(axis, axis) for axis in at.T))
        to = np.ones(5, dtype=bool)
        longer.append(way_round(to, runs)[0] / shortest_way(to, runs))
    assert np.mean(longer) < 1.1
    assert max(longer) < 1.4


def test_the_way_to_where_a_boat_goes_anyhow_comes_off_its_hours() -> None:
    # The best water is the first strip, 250 m out; something else calls it to the last,
    # 750 m out: at 1 km an hour that is 1.5 h of running instead of half an hour.
    squares = strips(2)
    belief = believed(squares, np.array([[5.0], [0.0]]))
    rates, runs = np.full((2, 1), 20_000.0), in_line(squares, 1000)
    mine, last = np.ones(2, dtype=bool), np.array([False, True])
    plain, called = (
        share_hours(belief, rates, mine, runs, 4, least_h=LEAST_H, also=also)
        for also in (None, last)
    )
    out_m = [patch.easting for patch in squares.patches]
    assert plain.run_h == pytest.approx(2 * out_m[0] / 1000)
    assert called.run_h == pytest.approx(2 * out_m[1] / 1000)
    for shared in (plain, called):
        (spell,) = shared.spells
        assert spell.patch == 0
        assert spell.hours + shared.run_h == pytest.approx(4)
