"""Whether rates differ: published p-values and intervals, and families of them."""

from math import inf, isnan

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.multitest import multipletests

from sweptwater.offers.compare import (
    RULE,
    central_p,
    holm,
    ratio_interval,
    verdicts,
)

Four = tuple[float, float, float, float]

CENTRAL_P: dict[Four, float] = {
    # M. P. Fay, Testing the ratio of two Poisson rates, 2022 (published).
    (2, 17877, 9, 16660): 0.05011,
    # Twice the smaller binomial tail, worked out in another library; the inputs of the
    # first are R's example of poisson.test.
    (11, 800, 21, 3011): 0.1120173,
    (5, 10, 15, 10): 0.0413895,
    (0, 10, 3, 10): 0.25,
}

INTERVALS: dict[Four, tuple[float, float]] = {
    # M. P. Fay (as above).
    (2, 17877, 9, 16660): (0.02177406, 1.0005491),
    # R's poisson.test example (output from memory).
    (11, 800, 21, 3011): (0.8584264, 4.2772659),
    # Clopper and Pearson's interval by another library; counts of Gu, Ng, Tang,
    # Schucany, Biometrical Journal, 2008, example 1.
    (60, 51477.5, 30, 54308.7): (1.3397357, 3.3883656),
    (5, 10, 15, 10): (0.0947764, 0.9648136),
    (0, 10, 3, 10): (0.0, 2.4199519),
}

few = st.integers(0, 60)
spent = st.floats(0.1, 200)
factors = st.floats(1, 5)


@pytest.mark.parametrize("four", CENTRAL_P, ids=str)
def test_p_values_of_others(four: Four) -> None:
    assert central_p(*four) == pytest.approx(CENTRAL_P[four], abs=5e-6)


def test_one_tail_of_gu_and_others() -> None:
    # Gu and others 2008, example 1: 0.000428; the two-sided p is twice that.
    p = central_p(60, 51477.5, 30, 54308.7)
    assert p / 2 == pytest.approx(0.000428, abs=5e-7)


@pytest.mark.parametrize(
    ("four", "ratio"),
    [
        ((2, 17877, 9, 16660), 0.2070941557),  # M. P. Fay (as above)
        ((11, 800, 21, 3011), 1.971488),  # R's poisson.test example (from memory)
        ((60, 51477.5, 30, 54308.7), 2.10999757175465),  # Gu and others (as above)
    ],
)
def test_ratios_of_others(four: Four, ratio: float) -> None:
    mine, hours, others, rest = four
    ((held, _),) = verdicts([(mine, hours), (others, rest)]).tables
    assert held.ratio == pytest.approx(ratio, abs=5e-7)


def test_a_rate_against_a_known_one() -> None:
    # Fifteen in 400 against 0.05: the central p of R's packages, by statsmodels' tests.
    # A rate is as good as known where very many hours tell of it.
    many = 1e9
    assert central_p(15, 400, 0.05 * many, many) == pytest.approx(
        0.313026269279486, abs=1e-5
    )


@pytest.mark.parametrize("four", INTERVALS, ids=str)
def test_intervals_of_others(four: Four) -> None:
    assert ratio_interval(*four) == pytest.approx(INTERVALS[four], abs=1e-6)


def test_none_on_one_side() -> None:
    assert ratio_interval(0, 10, 3, 10)[0] == 0
    assert ratio_interval(3, 10, 0, 10)[1] == inf
    assert ratio_interval(0, 10, 0, 10) == (0, inf)
    assert ratio_interval(3, 0, 2, 10) == (0, inf)
    assert central_p(0, 10, 0, 10) == central_p(3, 0, 2, 10) == 1


@given(few, spent, few, spent)
def test_a_judge_agrees(mine: int, hours: float, theirs: int, rest: float) -> None:
    assume(mine + theirs > 0)
    judge = stats.binomtest(mine, mine + theirs, hours / (hours + rest))
    tails = [
        stats.binomtest(mine, mine + theirs, hours / (hours + rest), side).pvalue
        for side in ("less", "greater")
    ]
    p = central_p(mine, hours, theirs, rest)
    assert p == pytest.approx(min(1, 2 * min(tails)), rel=1e-7, abs=1e-12)
    ends = judge.proportion_ci(0.95, "exact")
    low, high = (
        end / (1 - end) * rest / hours if end < 1 else inf
        for end in (ends.low, ends.high)
    )
    # The judge finds its ends by search.
    assert ratio_interval(mine, hours, theirs, rest) == pytest.approx(
        (low, high), rel=1e-5, abs=1e-9
    )


@given(few, spent, few, spent, factors)
def test_interval_and_p_never_contradict_each_other(
    mine: int, hours: float, theirs: int, rest: float, factor: float
) -> None:
    p = central_p(mine, hours, theirs, rest, factor)
    assume(abs(p - 0.05) > 1e-9)
    low, high = ratio_interval(mine, hours, theirs, rest, factor)
    assert (low <= 1 <= high) == (p > 0.05)


@given(few, spent, few, spent, factors)
def test_either_way_round_is_the_same(
    mine: int, hours: float, theirs: int, rest: float, factor: float
) -> None:
    one = central_p(mine, hours, theirs, rest, factor)
    other = central_p(theirs, rest, mine, hours, factor)
    assert one == pytest.approx(other, rel=1e-9, abs=1e-14)
    assert 0 <= one <= 1


@given(st.integers(0, 20), spent, st.integers(0, 20), spent, st.integers(2, 5))
def test_clustered_offers_count_for_as_many_fewer(
    mine: int, hours: float, theirs: int, rest: float, factor: int
) -> None:
    clustered = central_p(mine * factor, hours, theirs * factor, rest, factor)
    assert clustered == pytest.approx(central_p(mine, hours, theirs, rest))


@settings(max_examples=15)  # the judge is slow
@given(st.lists(st.floats(0, 1), min_size=1, max_size=20))
def test_holm_agrees_with_a_judge(p_values: list[float]) -> None:
    judge = multipletests(p_values, method="holm")[1]
    assert holm(p_values) == pytest.approx(judge, abs=1e-12)


def test_holm_of_nothing() -> None:
    assert holm([]).tolist() == []


def test_two_rows_are_one_comparison_told_on_both() -> None:
    family = verdicts([(20, 10), (2, 10)])
    one, other = family.tables[0]
    assert family.comparisons == 1
    assert one.verdict == other.verdict == "clear"
    assert (one.direction, other.direction) == ("more", "fewer")
    assert one.ratio == pytest.approx(10)
    assert other.ratio == pytest.approx(0.1)


def test_tables_of_one_page_are_one_family() -> None:
    # 15 and 4 in as many hours: p = 0.019 alone, and too much after three others.
    alone = verdicts([(15, 10), (4, 10)])
    assert alone.tables[0][0].verdict == "clear"
    even = [(10, 10), (10, 10)]
    among = verdicts([(15, 10), (4, 10)], even, even, even)
    assert among.comparisons == 4
    assert among.tables[0][0].verdict == "leaning"
    assert among.tables[0][0].p == alone.tables[0][0].p
    assert among.tables[0][0].p_of_all == pytest.approx(4 * alone.tables[0][0].p)


def test_a_row_without_hours_is_not_compared() -> None:
    family = verdicts([(20, 10), (2, 10), (0, 0)], [(5, 5)], [])
    assert family.comparisons == 2
    nobody, alone = family.tables[0][2], family.tables[1][0]
    assert nobody.verdict == alone.verdict == "too little to tell"
    assert isnan(nobody.p)
    assert nobody.direction == alone.direction == ""
    assert family.tables[2] == ()


def test_clusters_take_a_verdict_back() -> None:
    rows = [(15, 10), (4, 10)]
    assert verdicts(rows).tables[0][0].verdict == "clear"
    assert verdicts(rows, factor=2.0).tables[0][0].verdict == "too little to tell"
    each = verdicts(rows, rows, factor=[1.0, 2.0])
    assert [table[0].verdict for table in each.tables] == [
        "clear",
        "too little to tell",
    ]


def test_no_offers_at_all_tell_nothing() -> None:
    family = verdicts([(0, 5), (0, 7), (0, 9)])
    assert family.comparisons == 3
    assert {held.verdict for held in family.tables[0]} == {"too little to tell"}


def test_the_rule_is_one_sentence_and_says_what_is_done() -> None:
    assert RULE.count(".") == 1
    for verdict in ("clear", "leaning", "too little to tell"):
        assert verdict in RULE


def test_chance_alone_seldom_parts_equal_rates() -> None:
    rng = np.random.default_rng(5)
    pairs = rng.poisson(6.0, (2000, 2))
    false = np.mean([central_p(a, 12, b, 12) < 0.05 for a, b in pairs.tolist()])
    assert false < 0.05
