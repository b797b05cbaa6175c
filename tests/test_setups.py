"""How a layer is fished, and what part of the time on a water is fishing: by hand."""

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.plan.setups import (
    BOTHER,
    NEARLY,
    fishing_share,
    way_to_fish,
    working_depth_m,
)
from sweptwater.plan.sinking import Throw, line_reach, lines_for
from sweptwater.practice.outing import BoatRules, Drogue, PlanRules
from sweptwater.practice.reach import Spread
from sweptwater.practice.search import SearchRules
from sweptwater.practice.tackle import TackleRules

TACKLE, RULES, SPREAD = TackleRules(), SearchRules(), Spread()
SPEEDS: dict[Drogue, float] = {"out": 0.4, "in": 0.22}
BOAT = BoatRules(reset_s=240, motoring_up_m_s=2.0)
PLAN = PlanRules(longest_s=3600, shortest_m=30)


@pytest.mark.parametrize(
    ("length_m", "drift_m_s", "share"),
    [
        # 600 s of drift; 240 s of re-set, or 120 + 90 s back: the longer.
        (180, 0.3, 600 / 840),
        # 2,000 s of drift; 120 + 400 s back are more than the re-set.
        (800, 0.4, 2000 / 2520),
        # Never longer than an hour: 720 m at 0.2 m/s; 120 + 360 s back.
        (5000, 0.2, 3600 / 4080),
        # Never shorter than 30 m: 100 s of drift.
        (5, 0.3, 100 / 340),
        (500, 0.0, 1.0),  # a boat that lies still has nowhere to come back from
    ],
)
def test_the_part_of_the_time_that_is_fishing(
    length_m: float, drift_m_s: float, share: float
) -> None:
    assert fishing_share(length_m, drift_m_s, BOAT, PLAN) == pytest.approx(share)


@pytest.mark.parametrize(
    ("layer", "bed_m", "depth_m"),
    [
        (0, inf, 0.0),
        (1, inf, 2.0),  # half-way from 1 to 3 m
        (2, inf, 4.5),  # 1.5 m below its top
        (1, 1.8, 1.5),  # 0.3 m off the bed
        (1, 1.1, 1.0),  # but not above the layer
        (2, 2.0, 2.0),  # which lies below this bed
    ],
)
def test_where_in_a_layer_flies_are_to_work(
    layer: int, bed_m: float, depth_m: float
) -> None:
    tackle = replace(TACKLE, layers_m=(1.0, 3.0))
    assert working_depth_m(layer, tackle, bed_m) == pytest.approx(depth_m)


speeds = st.floats(0.05, 1.2)


@given(st.integers(0, 3), speeds, st.floats(0.3, 1.0), st.floats(0.5, 15))
def test_a_line_reaches_as_sinking_says(
    layer: int, out_m_s: float, slower: float, bed_m: float
) -> None:
    both: dict[Drogue, float] = {"out": out_m_s, "in": slower * out_m_s}
    way = way_to_fish(layer, both, TACKLE, RULES, SPREAD, bed_m=bed_m)
    assert way.depth_m == working_depth_m(layer, TACKLE, bed_m)
    assert way.drift_m_s == both[way.drogue]
    reaching = {
        drogue: lines_for(
            [
                line_reach(line, Throw(speed, TACKLE.cast_m), TACKLE)
                for line in TACKLE.lines
            ],
            way.depth_m,
        )
        for drogue, speed in both.items()
    }
    if way.depth_m == 0:
        assert way.reaches
        assert (way.sink_in_s, way.count_s) == (0.0, 0.0)
        return
    names = [reach.line for reach in reaching[way.drogue]]
    assert way.reaches == (way.line in names) == any(reaching.values())
    if not way.reaches:
        assert way.drogue == "in"
        assert way.sink_in_s == pytest.approx(
            max(line_reach(x, Throw(1, 1), TACKLE).sink_in_s for x in TACKLE.lines)
        )


def test_the_count_is_depth_over_rate_and_costs_casts_by_hand() -> None:
    # (L - v (c + t)) w / (T + c) for each of two rods, and no more than is reached.
    way = way_to_fish(2, SPEEDS, TACKLE, RULES, SPREAD)
    line = next(one for one in TACKLE.lines if one.name == way.line)
    assert way.count_s == pytest.approx(way.depth_m / line.sink_m_s)
    left_m = SPREAD.cast_m - way.drift_m_s * (way.count_s + RULES.working_s)
    rate = 2 * left_m * RULES.shows_m / (RULES.cycle_s + way.count_s)
    assert rate > 0
    most = SPREAD.width_m * way.drift_m_s
    assert way.search_m2_s == pytest.approx(min(rate, most))


def searches(drogue: Drogue, speed_m_s: float) -> float:
    """Return what the top layer yields with one way of drifting alone, in m2 a second.

    (L - v t) w / T for each of two rods, the boat's water at the most.
    """
    only: dict[Drogue, float] = {drogue: speed_m_s}
    rate = way_to_fish(0, only, TACKLE, RULES, SPREAD, usual=drogue).search_m2_s
    left_m = SPREAD.cast_m - speed_m_s * RULES.working_s
    by_hand = max(0.0, 2 * left_m * RULES.shows_m / RULES.cycle_s)
    assert rate == pytest.approx(min(by_hand, SPREAD.width_m * speed_m_s))
    return rate


@pytest.mark.parametrize("out_m_s", [0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
def test_the_drogue_goes_in_where_it_is_worth_it(out_m_s: float) -> None:
    in_m_s = 0.55 * out_m_s
    both: dict[Drogue, float] = {"out": out_m_s, "in": in_m_s}
    way = way_to_fish(0, both, TACKLE, RULES, SPREAD, usual="out")
    ratio = searches("in", in_m_s) / searches("out", out_m_s)
    assert (way.drogue == "in") == (ratio > BOTHER)


def test_there_are_winds_for_both() -> None:
    found = {
        way_to_fish(0, {"out": v, "in": 0.55 * v}, TACKLE, RULES, SPREAD).drogue
        for v in (0.2, 0.6)
    }
    assert found == {"out", "in"}


def test_a_drogue_that_is_in_stays_in_where_it_hardly_matters() -> None:
    same: dict[Drogue, float] = {"out": 0.3, "in": 0.29}
    for usual in ("out", "in"):
        way = way_to_fish(0, same, TACKLE, RULES, SPREAD, usual=usual)
        assert way.drogue == usual


def test_of_lines_nearly_as_good_the_slowest_stays_in_the_layer() -> None:
    way = way_to_fish(2, SPEEDS, TACKLE, RULES, SPREAD)
    alone = [
        way_to_fish(2, SPEEDS, replace(TACKLE, lines=(line,)), RULES, SPREAD)
        for line in TACKLE.lines
        if line.sink_m_s > 0
    ]
    same = [one for one in alone if one.reaches and one.drogue == way.drogue]
    most = max(one.search_m2_s for one in same)
    good = [one for one in same if one.search_m2_s >= NEARLY * most]
    assert way.sink_in_s == min(one.sink_in_s for one in good)
    assert len(good) > 1


def test_a_line_that_gets_down_only_with_the_drogue_in_and_searches_nothing() -> None:
    # At 0.5 m/s the boat is over the fly long before it has been worked for 400 s.
    slow_casts = replace(RULES, cycle_s=400, working_s=400)
    both: dict[Drogue, float] = {"out": 5.0, "in": 0.5}
    way = way_to_fish(1, both, TACKLE, slow_casts, SPREAD, usual="out")
    assert (way.reaches, way.drogue, way.search_m2_s) == (True, "in", 0.0)


def test_no_line_gets_down_in_a_gale() -> None:
    fast: dict[Drogue, float] = {"out": 5.0, "in": 3.0}
    way = way_to_fish(3, fast, TACKLE, RULES, SPREAD)
    assert not way.reaches
    assert way.drogue == "in"
