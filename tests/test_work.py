"""The hours to cover water once, against sums done by hand."""

from math import inf

import pytest

from sweptwater.offers.wind import Wind
from sweptwater.plan.leeway import published
from sweptwater.plan.work import (
    USUAL_WIND_M_S,
    Drifts,
    Pace,
    across_band,
    along_band,
    cover_once_s,
    days_for,
    over_open_water,
    with_runs_s,
    workday_s,
)
from sweptwater.practice.outing import BoatRules, DayRules, PlanRules
from sweptwater.practice.settings import BankRules
from sweptwater.units import YARD_M

MILE_BAND_M2 = 1760 * 60 * YARD_M**2
"""A mile of bank, the boat band from 20 to 80 yards out."""

TWENTY = Pace(20 * YARD_M / 60, BankRules(), BoatRules(), PlanRules())
"""Twenty yards a minute, drifts 30 yards apart, four minutes to re-set."""


def test_a_mile_with_the_wind_on() -> None:
    # 1,760 / 30 = 58.7, so 59 drifts; 60 yards are 3 minutes, and 4 to re-set.
    ladder = across_band(MILE_BAND_M2, TWENTY).whole
    assert ladder.count == 59
    assert ladder.each_s == pytest.approx(7 * 60)
    assert ladder.time_s / 3600 == pytest.approx(6.88, abs=0.01)


def test_a_mile_with_the_wind_along() -> None:
    # Two rows of four: 440 yards are 22 minutes, and 4 to re-set.
    along = along_band(MILE_BAND_M2, TWENTY).whole
    assert along.count == 8
    assert along.each_s == pytest.approx(26 * 60)
    assert along.time_s / 3600 == pytest.approx(3.47, abs=0.01)


def test_a_mile_in_an_unknown_wind_is_half_of_each() -> None:
    by_hand_s = (1760 / 30 * 7 * 60 + 8 * 26 * 60) / 2
    assert cover_once_s(MILE_BAND_M2, 0.0, TWENTY) == pytest.approx(by_hand_s)


def test_a_stretch_that_takes_longer_than_the_longest_drift_is_parted() -> None:
    slow = Pace(4 * YARD_M / 60, BankRules(), BoatRules(), PlanRules())
    # An hour at 4 yards a minute is 240 yards: 1,760 x 60 / (240 x 30) = 14.7.
    along = along_band(MILE_BAND_M2, slow)
    assert along.count == pytest.approx(1760 * 60 / (240 * 30))
    assert along.each_s == pytest.approx(64 * 60)


def test_open_water_is_crossed_and_motored_back() -> None:
    # 2,000 by 2,000 yards, drifts of an hour and 1,200 yards; back up at 4 mph, which
    # is 117.3 yards a minute: 10.2 minutes, and 2 for handling.
    found = over_open_water((2000 * YARD_M) ** 2, TWENTY)
    assert found.count == pytest.approx(2000 * 2000 / (1200 * 30))
    assert found.each_s / 60 == pytest.approx(60 + 2 + 1200 / (4 * 1760 / 60))


def test_a_small_pool_is_crossed_from_bank_to_bank() -> None:
    found = over_open_water((300 * YARD_M) ** 2, TWENTY)
    assert found.count == pytest.approx(10)
    # 15 minutes of drifting; the way back is no longer than what a re-set allows for.
    assert found.each_s / 60 == pytest.approx(15 + 2 + 300 / (4 * 1760 / 60))


def test_runs_make_days_longer() -> None:
    day = DayRules()
    assert workday_s(day) == 8 * 3600 - 50 * 60
    boat = BoatRules(motoring_up_m_s=2.0, motoring_down_m_s=4.0)
    # 4,000 m: 2,000 s up and 1,000 s down, 50 minutes of 7 h 10 each day.
    hours = with_runs_s(100 * 3600, 4000, day, boat) / 3600
    assert hours == pytest.approx(100 * 430 / 380)
    assert days_for(hours * 3600, day) == 16  # 15.8
    assert with_runs_s(3600, 0.0, day, boat) == 3600
    assert with_runs_s(3600, 40_000, day, boat) == inf
    assert days_for(inf, day) is None
    assert days_for(0.0, day) == 0


def test_whole_drifts_do_not_count_one_too_many() -> None:
    assert Drifts(8.0000000000001, 60).whole.count == 8


def test_a_usual_wind_drifts_a_boat_at_twenty_yards_a_minute() -> None:
    speed_m_s = published("out").speed_m_s(Wind(0, USUAL_WIND_M_S))
    assert speed_m_s * 60 / YARD_M == pytest.approx(20, abs=0.5)
