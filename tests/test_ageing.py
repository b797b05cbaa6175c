"""What is left of what was learned, against half-lives worked out by hand."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.practice.search import DAY_S, SearchRules
from sweptwater.search.ageing import Night, share_left

RULES = SearchRules()
HOUR_S = 3600.0
WEEK_S = 7 * DAY_S

times = st.floats(0, WEEK_S)
nights = st.lists(
    st.builds(
        Night,
        st.integers(0, 7).map(lambda day: day * DAY_S),
        st.none() | st.floats(0, 180),
        st.none() | st.floats(-3, 5),
        st.booleans(),
    ),
    max_size=7,
    unique_by=lambda night: night.midnight_s,
)


def left(
    then_s: float, now_s: float, told: Sequence[Night] = (), rules: SearchRules = RULES
) -> float:
    """Return what is left of one thing."""
    return float(share_left([then_s], now_s, told, rules)[0])


@given(times, nights)
def test_nothing_is_lost_at_once(now_s: float, told: list[Night]) -> None:
    assert left(now_s, now_s, told) == 1
    assert left(now_s + HOUR_S, now_s, told) == 1  # not learned yet: whole


@given(times, times, times, nights)
def test_two_spells_are_one_long_one(
    one_s: float, two_s: float, three_s: float, told: list[Night]
) -> None:
    then, between, now = sorted((one_s, two_s, three_s))
    whole = left(then, between, told) * left(between, now, told)
    assert left(then, now, told) == pytest.approx(whole, rel=1e-9)


@given(times, times, times, nights)
def test_the_older_the_less(
    one_s: float, two_s: float, now_s: float, told: list[Night]
) -> None:
    older, newer = sorted((one_s, two_s))
    shares = share_left([older, newer], max(now_s, newer), told, RULES)
    assert 0 < shares[0] <= shares[1] <= 1
    if newer > older + 1:
        assert shares[0] < shares[1]


@given(times, times, nights)
def test_a_night_only_takes_away(one_s: float, two_s: float, told: list[Night]) -> None:
    then, now = sorted((one_s, two_s))
    assert left(then, now, told) <= left(then, now) * (1 + 1e-12)


@given(st.lists(times, max_size=20), times, nights)
def test_many_at_once_are_as_each(
    then_s: list[float], now_s: float, told: list[Night]
) -> None:
    each = [left(one, now_s, told) for one in then_s]
    assert share_left(then_s, now_s, told, RULES).tolist() == pytest.approx(each)


def test_half_is_left_after_a_day_and_a_half() -> None:
    # A half-life of one to two days: common practice, no source. Powers of one half.
    hours = np.array([0, 36, 72, 12])
    shares = share_left(-hours * HOUR_S, 0.0, (), RULES)
    assert shares == pytest.approx([1, 1 / 2, 1 / 4, 0.793701], abs=1e-6)


@pytest.mark.parametrize(
    ("night", "leaves"),
    [
        (Night(0), 1),
        (Night(0, swing_deg=60), 1),  # so far and no further
        (Night(0, swing_deg=60.1), 0.5),
        (Night(0, cooled_c=1.0), 1),
        (Night(0, cooled_c=1.1), 0.5),
        (Night(0, cooled_c=-4), 1),  # it grew warmer
        (Night(0, cold=True), 0.5),
        (Night(0, cooled_c=2, cold=True), 0.5),  # one cold, told twice
        (Night(0, swing_deg=120, cold=True), 0.25),
    ],
)
def test_what_a_night_leaves_of_the_half_life(night: Night, leaves: float) -> None:
    assert night.leaves(RULES) == leaves
    # From noon to noon of that night is a day, of a half-life of so much of 36 h.
    noon_s = DAY_S / 2
    assert left(-noon_s, noon_s, [night]) == pytest.approx(0.5 ** (24 / 36 / leaves))


def test_a_night_tells_from_noon_to_noon() -> None:
    # From 10:30 to 9:00 of the next day: an hour and a half as ever, and 21 hours that
    # count four times; 85.5 hours in all.
    told = [Night(DAY_S, swing_deg=120, cold=True)]
    share = left(10.5 * HOUR_S, DAY_S + 9 * HOUR_S, told)
    assert share == pytest.approx(0.5 ** (85.5 / 36))
    assert share == pytest.approx(0.192776, abs=1e-6)


def test_each_night_counts_by_itself() -> None:
    told = [Night(DAY_S, swing_deg=120), Night(2 * DAY_S), Night(3 * DAY_S, cold=True)]
    # Three days from noon to noon, of which two count twice: five.
    share = left(DAY_S / 2, 3.5 * DAY_S, told)
    assert share == pytest.approx(0.5 ** (5 * 24 / 36))


def test_other_rules() -> None:
    rules = SearchRules(half_life_s=DAY_S, swing_deg=20, swing_leaves=0.25)
    told = [Night(0, swing_deg=30)]
    assert left(-DAY_S / 2, DAY_S / 2, told, rules) == pytest.approx(1 / 16)
