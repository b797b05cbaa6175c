"""Rates and their ranges: published intervals, and how often they hold the truth."""

from math import inf, isnan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.rates import confint_poisson

from sweptwater.offers.rates import Rate, garwood, rate_of

GARWOOD = {
    0: (0.0, 3.688879),
    1: (0.025318, 5.571643),
    2: (0.242209, 7.224688),
    3: (0.618672, 8.767273),
    4: (1.089865, 10.241589),
    5: (1.623486, 11.668332),
    6: (2.201894, 13.059474),
    7: (2.814363, 14.422675),
    8: (3.453832, 15.763189),
    9: (4.115373, 17.084803),
    10: (4.795389, 18.390356),
}
"""95 %. Garwood, Biometrika 28, 1936. Printed: the upper end of 0 (3.689, manual of the
R package epitools, pois.exact) and those of 10 (4.80, 18.39, a calculator's page); the
others by half chi-squared quantiles in another library."""

GARWOOD_25 = {0.90: (17.38, 34.92), 0.95: (16.18, 36.90), 0.99: (14.0, 41.0)}
"""GraphPad, How QuickCalcs computes the confidence interval of a count."""

JEFFREYS = {
    0: (0.000491, 2.511943),
    1: (0.107898, 4.674202),
    2: (0.415606, 6.416251),
    3: (0.844935, 8.006382),
    5: (1.907874, 10.960025),
    10: (5.141449, 17.739438),
}
"""95 %, from Gamma(n + 1/2, 1), worked out in another library."""

counts = st.integers(0, 200)
hours_st = st.floats(0.05, 500)
means = st.one_of(st.none(), st.floats(0.01, 10))
widths = st.floats(1, 4)


@pytest.mark.parametrize("count", GARWOOD)
def test_exact_interval_is_garwoods(count: int) -> None:
    assert garwood(count, 1) == pytest.approx(GARWOOD[count], abs=1e-6)


@pytest.mark.parametrize("level", GARWOOD_25)
def test_exact_interval_at_other_levels(level: float) -> None:
    assert garwood(25, 1, level=level) == pytest.approx(GARWOOD_25[level], abs=0.006)


@pytest.mark.parametrize("count", JEFFREYS)
def test_jeffreys_interval(count: int) -> None:
    rate = rate_of(count, 1)
    low, high = JEFFREYS[count]
    # Without an offer we begin at nothing.
    assert (rate.low, rate.high) == pytest.approx((low if count else 0, high), abs=1e-6)


def test_fifteen_in_four_hundred() -> None:
    # Reference results of R packages in statsmodels' own test of rates.
    exact = (0.0209884653319583, 0.0618505471787146)
    assert garwood(15, 400) == pytest.approx(exact, abs=1e-12)
    from_jeffreys = (0.0219234232268444, 0.0602898619930649)
    rate = rate_of(15, 400)
    assert (rate.low, rate.high) == pytest.approx(from_jeffreys, abs=1e-12)


def test_rule_of_three() -> None:
    # -ln 0.05: the upper limit of nothing at 95 % on one side (epitools, pois.daly).
    assert garwood(0, 1, level=0.90)[1] == pytest.approx(2.995732, abs=1e-6)


def test_three_in_twelve_and_a_half_hours() -> None:
    # Garwood's interval of 3, over the hours; worked out in another library.
    rate = rate_of(3, 12.5)
    assert (rate.exact_low, rate.exact_high) == pytest.approx(
        (0.04949376, 0.70138184), abs=1e-8
    )


@given(counts, hours_st)
def test_both_intervals_agree_with_a_judge(count: int, hours: float) -> None:
    judge = confint_poisson(count, hours, method="exact-c")
    assert garwood(count, hours) == pytest.approx(np.nan_to_num(judge), rel=1e-9)
    judge = confint_poisson(count, hours, method="jeff")
    rate, low = rate_of(count, hours), judge[0] if count else 0
    assert (rate.low, rate.high) == pytest.approx((low, judge[1]), rel=1e-9)


def test_start_and_offers_add_up_as_gamma_distributions_do() -> None:
    # Gamma(a, b) and x in t hours make Gamma(a + x, b + t): Johnson, Ott, Dogucu, Bayes
    # Rules!, chapter 5, where Gamma(10, 2) and 11 in 4 make Gamma(21, 6). Here a is 1/2
    # and b is 1/2 over three times the mean.
    rate = rate_of(11, 40, mean=0.5)
    judge = stats.gamma(11.5, scale=1 / (40 + 0.5 / 1.5))
    assert (rate.low, rate.high) == pytest.approx(judge.ppf([0.025, 0.975]), rel=1e-9)


def test_without_a_mean_the_start_is_jeffreys() -> None:
    assert rate_of(5, 8, mean=0.0) == rate_of(5, 8)


def test_no_hours_leave_the_start() -> None:
    nobody = rate_of(0, 0, mean=0.5)
    assert isnan(nobody.rate)
    assert nobody.low == 0
    assert nobody.high == pytest.approx(stats.gamma(0.5, scale=3).ppf(0.975))
    assert (nobody.exact_low, nobody.exact_high) == (0, inf)
    assert rate_of(0, 0).high == inf


def test_nine_in_forty_minutes_of_two_rods() -> None:
    # 9 / (2 x 40/60 h) = 6.75 an hour; the start must not pull that down.
    rate = rate_of(9, 4 / 3, mean=0.3)
    assert rate.rate == pytest.approx(6.75)
    assert rate.low < 4
    assert rate.high > 10


@given(counts, hours_st, means, widths)
def test_range_holds_the_rate(
    count: int, hours: float, mean: float | None, widen: float
) -> None:
    rate = rate_of(count, hours, mean=mean, widen=widen)
    assert 0 <= rate.low <= rate.rate * (1 + 1e-9)
    assert rate.rate < rate.high


@given(counts, hours_st, means, widths, st.floats(1.1, 5))
def test_clusters_widen_the_range_both_ways(
    count: int, hours: float, mean: float | None, widen: float, more: float
) -> None:
    narrow = rate_of(count, hours, mean=mean, widen=widen)
    wide = rate_of(count, hours, mean=mean, widen=widen * more)
    assert wide.high > narrow.high
    assert wide.low < narrow.low or count == 0
    assert (wide.exact_low, wide.exact_high) == (narrow.exact_low, narrow.exact_high)


@given(st.integers(30, 5000), st.floats(1, 3))
def test_widen_says_how_many_times_as_wide(count: int, widen: float) -> None:
    # Of many offers; few make a range lopsided.
    count = int(count * widen**2)
    plain = rate_of(count, 100)
    wide = rate_of(count, 100, widen=widen)
    times = (wide.high - wide.low) / (plain.high - plain.low)
    assert times == pytest.approx(widen, rel=0.05)


@given(counts, hours_st, st.floats(0.01, 10), widths, st.floats(0.01, 100))
def test_the_unit_of_time_does_not_matter(
    count: int, hours: float, mean: float, widen: float, unit: float
) -> None:
    one = rate_of(count, hours, mean=mean, widen=widen)
    other = rate_of(count, hours * unit, mean=mean / unit, widen=widen)
    ends = (other.low * unit, other.high * unit)
    assert ends == pytest.approx((one.low, one.high), rel=1e-9)


@given(st.integers(0, 50), hours_st, st.floats(0.01, 10))
def test_more_hours_at_the_same_rate_narrow_the_range(
    count: int, hours: float, mean: float
) -> None:
    def width(rate: Rate) -> float:
        return rate.high - rate.low

    one = rate_of(count, hours, mean=mean)
    assert width(rate_of(3 * count, 3 * hours, mean=mean)) < width(one)


def _held(true: float, hours: float, mean: float) -> float:
    """Return how often the range holds the truth: a sum over all counts, no chance."""
    many = np.arange(int(true * hours + 8 * np.sqrt(true * hours) + 15))
    held = np.array(
        [
            rate.low <= true <= rate.high
            for rate in (rate_of(int(count), hours, mean=mean) for count in many)
        ]
    )
    return float(stats.poisson(true * hours).pmf(many)[held].sum())


@pytest.mark.parametrize("spaced", ["evenly", "by ratio"])
@pytest.mark.parametrize("differs", [0.3, 0.7, 1.1])
def test_ranges_hold_the_truth_over_the_whole_mix(spaced: str, differs: float) -> None:
    # 0.5 to 40 rod-hours, 0.05 to 3 offers an hour; the practice's mean is off the
    # class's rate by `differs`, a standard deviation of logarithms.
    rng = np.random.default_rng(7)
    low, high = np.array([0.5, 0.05]), np.array([40.0, 3])
    mix = (
        rng.uniform(low, high, (120, 2))
        if spaced == "evenly"
        else np.exp(rng.uniform(np.log(low), np.log(high), (120, 2)))
    )
    off = np.exp(rng.normal(-(differs**2) / 2, differs, len(mix)))
    held = [
        _held(true, hours, true * by)
        for (hours, true), by in zip(mix, off, strict=True)
    ]
    assert 0.93 < np.mean(held) < 0.97


def test_a_little_fishing_leaves_no_absurd_range() -> None:
    # The bare count's end, 3.69 over 0.5 h, says nothing.
    blank = rate_of(0, 0.5, mean=0.3)
    assert blank.high < 0.5 * blank.exact_high
