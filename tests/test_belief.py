"""What is believed of a water: sums by hand, Bayes' rule, lessons, hopes, stocking."""

from math import erf, exp, log, pi, sqrt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from bayes import unlucky_search
from search_made import HALVES, POOL, a_pass, bank, pool, slope
from sweptwater.arrays import Floats
from sweptwater.practice.search import SearchRules
from sweptwater.search.belief import DEEPEST, LEAST, SHALLOW_M, Belief, prior
from sweptwater.search.passes import pass_over, searched
from sweptwater.search.squares import Squares
from sweptwater.search.stocking import after_stocking
from sweptwater.search.teaching import Lesson, lesson_times, lessons, taught
from sweptwater.units import FOOT_M

ALONE = SearchRules(together=1)
EVEN = pool(POOL, HALVES, layers=("all",))
WEST = EVEN.easting < 500
WEST_BANK = bank(7, box(0, 0, 100, 1000))


def believed(where: dict[str, float], chances: dict[str, float]) -> Belief:
    """Return a belief over strips of one width, by sector."""
    wide_m = 1000 / len(where)
    parts = {
        name: box(i * wide_m, 0, (i + 1) * wide_m, 1000) for i, name in enumerate(where)
    }
    squares = pool(POOL, parts, layers=("all",))
    names = [squares.patches[patch].sector or "" for patch in squares.patch]
    counts = {name: names.count(name) for name in where}
    hopes = np.array([where[name] / counts[name] for name in names])
    done = np.array([-log(1 - chances.get(name, 0.0)) for name in names])
    return Belief(squares, prior(squares, ALONE, hopes=hopes), done[:, None])


def in_sector(belief: Belief, each: Floats, name: str) -> float:
    """Return a sum over the squares of a sector."""
    squares = belief.squares
    mine = np.array([squares.patches[p].sector == name for p in squares.patch])
    return float(each[mine].sum())


def test_two_sectors_by_hand() -> None:
    # A twice as likely as B, and half searched: 10/15 -> 5, and 5/15 stay 5.
    belief = believed({"A": 2, "B": 1}, {"A": 0.5})
    assert in_sector(belief, belief.before, "A") == pytest.approx(2 / 3)
    assert in_sector(belief, belief.unfound, "A") == pytest.approx(1 / 3)
    assert in_sector(belief, belief.unfound, "B") == pytest.approx(1 / 3)
    assert belief.chance == pytest.approx(1 / 3)


BAYES = [
    # A published worked formula: shifting probabilities after Cooper, Search is an
    # Emergency, 4th ed., 1995 (formula seen, figures recomputed).
    ([0.4, 0.35, 0.25], [0.5, 0, 0], [0.25, 0.4375, 0.3125]),
    # With a tenth elsewhere, where nobody searched: derived by Bayes' rule.
    ([0.5, 0.4, 0.1], [0.6, 0.2, 0.0], [0.322581, 0.516129, 0.161290]),
]


@pytest.mark.parametrize(("where", "chances", "after"), BAYES)
def test_blank_water_moves_belief_by_bayes_rule(
    where: list[float], chances: list[float], after: list[float]
) -> None:
    names = ["A", "B", "C"]
    belief = believed(
        dict(zip(names, where, strict=True)), dict(zip(names, chances, strict=True))
    )
    left = belief.unfound / belief.unfound.sum()
    found = [in_sector(belief, left, name) for name in names]
    assert found == pytest.approx(after, abs=1e-6)
    before = [in_sector(belief, belief.before, name) for name in names]
    assert found == pytest.approx(unlucky_search(before, chances).tolist())
    assert belief.chance == pytest.approx(np.dot(before, chances))


@given(st.integers(0, 2**32 - 1), st.floats(0, 5))
def test_cautiously_is_never_above_at_best(seed: int, most: float) -> None:
    rng = np.random.default_rng(seed)
    squares = pool(POOL, HALVES, depths=slope())
    factor = rng.uniform(0, most, squares.there.shape) * squares.there
    belief = Belief(squares, prior(squares, ALONE), factor)
    which = rng.random(len(squares)) < 0.3
    for layer in (None, 0, 1, 2):
        low, high = belief.chance_in(which, layer), belief.at_best_in(which, layer)
        assert 0 <= low <= high + 1e-12
        assert high <= 1


def test_both_chances_at_once_over() -> None:
    # Koopman's random search, and regular lanes: Washburn, Search and Detection, 2.4.
    belief = Belief(EVEN, prior(EVEN, ALONE), np.ones(EVEN.there.shape))
    assert belief.chance_in(WEST) == pytest.approx(1 - exp(-1))
    assert belief.at_best_in(WEST) == pytest.approx(erf(sqrt(pi) / 2))
    assert belief.chance_in(np.zeros(len(EVEN), dtype=bool)) == 0


@pytest.mark.parametrize("told", [{}, {"hopes": 3.0}, {"taught": 0.2}])
def test_what_is_believed_adds_up_to_one(told: dict[str, float]) -> None:
    squares = pool(POOL, HALVES, (WEST_BANK,), depths=slope())
    more: dict[str, Any] = {
        "hopes": np.where(squares.easting < 300, told.get("hopes", 1.0), 1.0),
        "taught": np.full(squares.there.shape, told.get("taught", 1.0)),
    }
    before = prior(squares, ALONE, **more)
    assert before.sum() == pytest.approx(1)
    assert (before[squares.there] > 0).all()
    assert not before[~squares.there].any()


def test_a_bank_counts_by_its_setting() -> None:
    squares = pool(POOL, banks=(WEST_BANK,), layers=("all",))
    before = prior(squares, SearchRules(shore_counts=4))
    by_bank = float(before[squares.by_bank].sum())
    assert by_bank == pytest.approx(4 * 0.1 / (4 * 0.1 + 0.9))


def test_shallow_water_counts_by_its_depth() -> None:
    # Common practice, no source: less the shallower it is than 8 ft.
    squares = pool(POOL, layers=("all",), depths=slope())
    before = prior(squares, ALONE).ravel()
    full = before.max()
    for depth_m, share in [(1.125, 1.125 / (8 * FOOT_M)), (2.625, 1.0), (9.125, 1.0)]:
        near = np.argmin(np.abs(squares.depth_m - depth_m))
        assert squares.depth_m[near] == pytest.approx(depth_m)
        assert before[near] == pytest.approx(share * full)


def test_the_stones_are_not_quite_hopeless() -> None:
    squares = pool(POOL, layers=("all",), depths=slope(fall=0.005))
    before = prior(squares, ALONE).ravel()
    assert squares.depth_m.min() / SHALLOW_M < LEAST
    assert before.min() == pytest.approx(LEAST * before.max())


def test_layers_that_are_there_share_evenly_but_for_the_lowest() -> None:
    squares = pool(POOL, depths=slope())
    before = prior(squares, ALONE)
    shares: list[list[float]] = [[1.0], [1.0, 1.0], [1.0, 1.0, DEEPEST]]
    for count, parts in enumerate(shares, 1):
        row = before[np.flatnonzero(squares.there.sum(axis=1) == count)[0], :count]
        assert row / row.sum() == pytest.approx(np.array(parts) / sum(parts))


def test_one_layer_alone_is_no_lowest() -> None:
    assert prior(EVEN, ALONE) == pytest.approx(1 / 1600)


def test_hopes_are_times_as_likely() -> None:
    before = prior(EVEN, ALONE, hopes=np.where(WEST, 3.0, 1.0))
    assert before[WEST].sum() == pytest.approx(0.75)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=5))
def test_blank_drifts_move_belief_elsewhere(parts: list[float]) -> None:
    swept = box(0, 0, 250, 1000)
    passes = [a_pass(swept, p * swept.area, drift=i) for i, p in enumerate(parts)]
    before, mine = prior(EVEN, ALONE), EVEN.easting < 250
    shares = []
    for count in range(len(passes) + 1):
        over = pass_over(passes[:count], EVEN)
        done = searched(over, EVEN, np.ones(count), ALONE)
        belief = Belief(EVEN, before, done)
        shares.append(belief.unfound[mine].sum() / belief.unfound.sum())
        left = exp(-sum(parts[:count]))
        assert shares[-1] == pytest.approx(0.25 * left / (0.75 + 0.25 * left))
    assert sorted(shares, reverse=True) == pytest.approx(shares)


@pytest.mark.parametrize(
    ("offers", "expected", "believe", "times"),
    [(0, 0, 3, 1.0), (9, 3, 3, 2.0), (0, 3, 3, 0.5), (6, 0, 6, 2.0), (0, 6, 6, 0.5)],
)
def test_lessons_by_hand(
    offers: float, expected: float, believe: float, times: float
) -> None:
    # The mean of a Gamma with shape k + x and rate k + e (Johnson, Ott and Dogucu,
    # Bayes Rules!, chapter 5).
    assert lesson_times(offers, expected, believe) == pytest.approx(times)


def kinds(found: tuple[Lesson, ...], of: str) -> dict[int, Lesson]:
    """Return the lessons about one thing, by kind."""
    return {one.kind: one for one in found if one.of == of}


def school() -> tuple[Squares, tuple[Lesson, ...]]:
    """Return what two drifts of four hours taught: six offers by the bank, none off."""
    squares = pool(POOL, banks=(WEST_BANK,), depths=slope())
    by_bank, off = box(0, 0, 100, 1000), box(600, 0, 700, 1000)
    passes = (
        a_pass(by_bank, 1.0, 0, offers=6, hours=4.0),
        a_pass(off, 1.0, 1, drift=2, hours=4.0),
        a_pass(off, 1.0, 1, drift=3, hours=9.0, told=False),  # silence teaches nothing
    )
    rules = SearchRules(believe=6)
    return squares, lessons(pass_over(passes, squares), squares, rules)


def test_what_offers_teach_of_banks_layers_and_beds() -> None:
    _, found = school()
    for of, good, poor in [("shore", 1, 0), ("layer", 0, 1), ("bed", 0, 2)]:
        told = kinds(found, of)
        assert set(told) == {good, poor}
        # Six in eight hours: three were to be expected in four.
        assert (told[good].offers, told[good].hours) == pytest.approx((6, 4))
        assert told[good].expected == pytest.approx(3)
        assert told[good].times == pytest.approx((6 + 6) / (6 + 3))
        assert told[poor].times == pytest.approx((6 + 0) / (6 + 3))


def test_lessons_make_such_water_likelier_but_do_not_count_twice() -> None:
    squares, found = school()
    times = taught(squares, found)
    by_bank = np.flatnonzero(squares.by_bank)[0]
    off = np.flatnonzero(squares.easting > 650)[0]
    good, poor = 12 / 9, 6 / 9
    assert times[by_bank, 0] == pytest.approx(sqrt(good**3))
    assert times[off, 1] == pytest.approx(sqrt(poor**3))
    assert times[off, 2] == pytest.approx(poor)  # the layer is untried
    assert taught(squares, ()) == pytest.approx(1.0)


def test_clustered_offers_teach_less() -> None:
    squares = pool(POOL, banks=(WEST_BANK,))
    passes = (
        a_pass(box(0, 0, 100, 1000), 1.0, 0, offers=6, hours=4.0),
        a_pass(box(600, 0, 700, 1000), 1.0, 0, drift=2, hours=4.0),
    )
    rules, over = SearchRules(believe=6), pass_over(passes, squares)
    found = kinds(lessons(over, squares, rules, factor=3.0), "shore")
    assert found[1].times == pytest.approx((6 + 2) / (6 + 1))
    assert (found[1].offers, found[1].expected) == pytest.approx((6, 3))


def test_nothing_told_teaches_nothing() -> None:
    quiet = a_pass(POOL, 1.0, told=False, hours=4.0)
    assert lessons(pass_over([quiet], EVEN), EVEN, ALONE) == ()
    assert lessons(pass_over([], EVEN), EVEN, ALONE) == ()


def put_in(time_s: float, at: tuple[float, float] | None) -> Any:
    """Return a stocking."""
    easting, northing = at or (None, None)
    return SimpleNamespace(time_s=time_s, easting=easting, northing=northing)


def test_stocking_makes_water_likelier_and_what_was_learned_void() -> None:
    rules = SearchRules(stocked_within_m=300, stocked_counts=3, half_life_s=100)
    near = np.hypot(EVEN.easting, EVEN.northing) <= 300
    for age_s, times in [(0, 3.0), (100, 2.0), (200, 1.5)]:
        found = after_stocking(EVEN, [put_in(50.0, (0, 0))], 50.0 + age_s, rules)
        assert found.times[near] == pytest.approx(times)
        assert (found.times[~near] == 1).all()
        assert (found.since_s[near] == 50).all()
        assert (found.since_s[~near] == -np.inf).all()


def test_stocking_to_come_or_at_no_place_does_nothing() -> None:
    for one in (put_in(51.0, (0, 0)), put_in(0.0, None)):
        found = after_stocking(EVEN, [one], 50.0, ALONE)
        assert (found.times == 1).all()
        assert (found.since_s == -np.inf).all()


def test_of_two_stockings_the_later_voids_and_the_likelier_counts() -> None:
    rules = SearchRules(stocked_within_m=5000, stocked_counts=3, half_life_s=100)
    both = [put_in(100.0, (0, 0)), put_in(0.0, (0, 0))]
    found = after_stocking(EVEN, both, 100.0, rules)
    assert found.since_s == pytest.approx(100)
    assert found.times == pytest.approx(3)
