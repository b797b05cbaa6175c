"""Which line reaches which depth, and which to take."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sweptwater.errors import SweptwaterError
from sweptwater.jobs.measures import (
    parse_length_m,
    parse_speed_m_s,
)
from sweptwater.jobs.sinking_words import advice_text
from sweptwater.plan.sinking import (
    LineReach,
    Throw,
    line_reach,
    lines_for,
    slowest_drift_m_s,
)
from sweptwater.practice.tackle import LINES, Line, TackleRules

RULES = TackleRules()
YARD, FOOT, IN_S = 0.9144, 0.3048, 0.0254  # agreement of 1959

throws = st.builds(
    Throw,
    drift_m_s=st.floats(0.03, 0.8),
    cast_m=st.floats(8, 30),
    retrieve_m_s=st.just(0.0) | st.floats(0.01, 1.2),
    worked_m_s=st.just(0.0) | st.floats(0.01, 1.2),
)


def reaches(throw: Throw, rules: TackleRules = RULES) -> list[LineReach]:
    return [line_reach(line, throw, rules, depths_m=(1, 3)) for line in rules.lines]


def advice(throw: Throw, depth_m: float, drogue_m_s: float | None = None) -> str:
    slower: list[LineReach] = []
    if drogue_m_s:
        slower = reaches(Throw(drogue_m_s, throw.cast_m, throw.retrieve_m_s))
    return advice_text(reaches(throw), slower, throw, depth_m, RULES, "imperial")


@pytest.mark.parametrize(
    ("length_m", "drift_m_s", "in_s", "time_s", "depth_m"),
    [
        (20, 0.4, 3, 50.0, 3.81),
        (20, 0.4, 7, 50.0, 8.89),
        (20, 0.4, 1.5, 50.0, 1.905),
        (20, 0.2, 3, 100.0, 7.62),
        (25, 0.5, 5, 50.0, 6.35),
    ],
)
def test_overrun_and_useful(
    length_m: float, drift_m_s: float, in_s: float, time_s: float, depth_m: float
) -> None:
    """The rate times cast over drift; 0.6 of it is useful (common practice)."""
    found = line_reach(Line("x", in_s * IN_S), Throw(drift_m_s, length_m), RULES)
    assert (found.overrun_s, found.overrun_depth_m) == pytest.approx((time_s, depth_m))
    assert found.useful_depth_m == pytest.approx(0.6 * depth_m)
    assert found.useful_low_m == pytest.approx(0.45 * depth_m)
    assert found.useful_high_m == pytest.approx(0.75 * depth_m)
    assert found.sink_in_s == pytest.approx(in_s)


@pytest.mark.parametrize(
    ("depth_m", "in_s", "count_s"),
    [(1, 1.5, 26.247), (3, 3, 39.370), (5, 5, 39.370), (6, 7, 33.746)],
)
def test_counts(depth_m: float, in_s: float, count_s: float) -> None:
    """Depth over rate (the formula from memory)."""
    line = Line("x", in_s * IN_S)
    found = line_reach(line, Throw(0.4, 20), RULES, depths_m=[depth_m])
    assert found.countdown[0].s == pytest.approx(count_s, abs=1e-3)
    late = line_reach(line, Throw(0.75, 20), RULES, depths_m=[depth_m])
    assert (found.countdown[0].in_time, late.countdown[0].in_time) == (
        count_s < 50,
        count_s < 20 / 0.75,
    )


@settings(max_examples=60)
@given(throws)
def test_what_holds_for_every_line(throw: Throw) -> None:
    found = reaches(throw)
    for one, line in zip(found, RULES.lines, strict=True):
        assert one.useful_low_m <= one.useful_depth_m <= one.useful_high_m
        assert one.useful_depth_m <= one.overrun_depth_m <= throw.cast_m
        in_all = sum(layer.s for layer in one.layers)
        left = Throw(throw.drift_m_s, throw.cast_m, 0.0, throw.worked_m_s)
        assert in_all <= line_reach(line, left, RULES).overrun_s * (1 + 1e-9)
        assert len(one.countdown) == (2 if line.sink_m_s else 0)
    depths_m = [one.useful_depth_m for one in found]
    assert depths_m == sorted(depths_m)  # a faster line, a deeper fly
    slower = Throw(throw.drift_m_s / 2, throw.cast_m, throw.retrieve_m_s)
    for one, other in zip(found, reaches(slower), strict=True):
        assert other.useful_depth_m >= one.useful_depth_m


@settings(max_examples=60)
@given(throws, st.floats(0.3, 12))
def test_the_lines_for_a_depth(throw: Throw, depth_m: float) -> None:
    found = reaches(throw)
    good = lines_for(found, depth_m)
    assert {one.line for one in good} == {
        one.line for one in found if one.useful_depth_m >= depth_m
    }
    assert [one.sink_in_s for one in good] == sorted(one.sink_in_s for one in good)


def test_the_slowest_drift_is_where_a_line_just_reaches() -> None:
    line, cast_m = LINES[4], 20.0
    speed_m_s = slowest_drift_m_s(line, 3.0, cast_m, RULES)
    for factor, reached in ((0.99, True), (1.01, False)):
        found = line_reach(line, Throw(factor * speed_m_s, cast_m), RULES)
        assert (found.useful_depth_m >= 3.0) == reached


AT_24 = Throw(24 * YARD / 60, 25 * YARD)
"""Story of the wrong layer: 24 yards a minute (0.37 m/s) and a cast of 25 yards.

The boat is over the fly after 62.5 s, by when 3 in/s makes 15.6 ft and 5 in/s 26 ft;
0.6 of that is 9.4 and 15.6 ft (by hand)."""


def test_advice_for_a_depth() -> None:
    assert advice(AT_24, 15 * FOOT) == (
        "At 24 yd a minute and a 25 yd cast 3 in/s works to about 9 ft; for 15 ft take "
        "5 in/s."
    )
    assert advice(AT_24, 15 * FOOT, 0.56 * AT_24.drift_m_s).endswith(
        "for 15 ft take 5 in/s, or put the drogue in: then 3 in/s does."
    )


def test_advice_where_nothing_reaches() -> None:
    assert advice(AT_24, 30 * FOOT, 0.56 * AT_24.drift_m_s).endswith(
        "7 in/s works to about 22 ft; nothing that you carry works at 30 ft so fast: "
        "put the drogue in and take 6 in/s."
    )
    # 0.6 x 7 in/s (0.5833 ft/s) x 75 ft / 55 ft = 0.4773 ft/s: 9.545 yd a minute.
    assert advice(AT_24, 55 * FOOT, 0.56 * AT_24.drift_m_s).endswith(
        "nothing that you carry works at 55 ft, even with the drogue in: 7 in/s needs "
        "a drift of 9.5 yd a minute for that, or a longer cast."
    )


def test_advice_where_the_retrieve_is_what_keeps_flies_up() -> None:
    fast = Throw(AT_24.drift_m_s, AT_24.cast_m, 0.8, 0.8)
    assert advice(fast, 15 * FOOT).endswith(  # 180 inches at 5 a second
        "count 5 in/s down for 36 seconds first, or work it more slowly."
    )


def test_advice_with_floating_lines_alone() -> None:
    only = TackleRules(lines=(Line("floating", 0.0),))
    told = advice_text(reaches(AT_24, only), (), AT_24, 3.0, only, "metric")
    assert told == (
        "At 22 m a minute and a 23 m cast nothing that you carry works at 3.0 m: no "
        "line sinks."
    )


def test_advice_where_every_line_reaches() -> None:
    told = advice(AT_24, 1 * FOOT)
    assert told == (
        "At 24 yd a minute and a 25 yd cast for 1.0 ft take slow intermediate."
    )


@pytest.mark.parametrize(
    ("text", "length_m"),
    [
        *(("25", 22.86), ("25yd", 22.86), ("25 yards", 22.86), ("20 m", 20.0)),
        *(("15ft", 4.572), ("15'", 4.572), ("4,5m", 4.5), (" 15 FEET ", 4.572)),
    ],
)
def test_lengths(text: str, length_m: float) -> None:
    found = parse_length_m(text, YARD, what="cast", like="25yd")
    assert found == pytest.approx(length_m)


@pytest.mark.parametrize("text", ["", "far", "25 miles", "-3", "0", "1e3", "25 25"])
def test_what_is_no_length(text: str) -> None:
    with pytest.raises(SweptwaterError, match="is no cast: write it like 25yd"):
        parse_length_m(text, YARD, what="cast", like="25yd")


@pytest.mark.parametrize(
    ("text", "speed_m_s"),
    [
        *(("0.4", 0.4), ("0,4", 0.4), ("0.4 m/s", 0.4), ("24yd/min", 0.36576)),
        *(("24 yards a minute", 0.36576), ("24 yd per min", 0.36576)),
        *(("20m/min", 20 / 60), ("60 ft a minute", 0.3048), ("1 mph", 0.44704)),
        *(("1 km/h", 1 / 3.6), ("1 kn", 1852 / 3600), ("0.4 m a second", 0.4)),
    ],
)
def test_speeds(text: str, speed_m_s: float) -> None:
    """The yard is 0.9144 m, the mile 1609.344 m, the knot 1852 m an hour."""
    assert parse_speed_m_s(text) == pytest.approx(speed_m_s)


@pytest.mark.parametrize("text", ["", "slow", "24 yd", "0", "-1", "24 yd/day", "nan"])
def test_what_is_no_speed(text: str) -> None:
    with pytest.raises(SweptwaterError, match="is no speed of a drift: write it like"):
        parse_speed_m_s(text)
