"""Which layer a rod's flies fished: by its line, count, retrieve and the drift."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sweptwater.offers.casts import Cast, fly_path
from sweptwater.offers.flies import (
    WORDS_M_S,
    LayerFished,
    layer_at,
    layer_names,
    layer_of,
    line_named,
    line_of,
    retrieve_m_s,
)
from sweptwater.practice.tackle import TackleRules
from sweptwater.practice.tally import SetUp

RULES = TackleRules()
FOOT = 0.3048

setups = st.builds(
    SetUp,
    line=st.sampled_from(["", *(line.name for line in RULES.lines)]),
    sink_in_s=st.none() | st.floats(0, 8),
    count_s=st.none() | st.floats(0, 120),
    retrieve=st.sampled_from(["", "odd", *WORDS_M_S]),
)
speeds = st.none() | st.floats(0, 1)


def fished(setup: SetUp, drift_m_s: float | None = 0.4) -> LayerFished:
    found = layer_of(setup, drift_m_s, RULES)
    assert found is not None
    return found


def test_a_floating_line_has_fished_the_top() -> None:
    """Story of the wrong layer: three drifts at 0.4 m/s over 22 ft, on the top."""
    found = fished(SetUp("floating"))
    assert (found.layer, found.name, found.sure) == (0, "0-3 ft", True)
    assert found.high_m == pytest.approx(3 * FOOT)
    assert fished(SetUp(sink_in_s=0), None) == found
    assert not fished(SetUp("floating", count_s=40)).sure  # heavy flies, a long leader


def test_straight_down_while_the_boat_closes_in() -> None:
    """At 0.4 m/s on 25 yd the boat is over the fly after 57.15 s (25 x 0.9144 / 0.4).

    Counted for 20 s and worked for 0.6 of the 37.15 s that are left, the fly is in the
    middle at 20 + 11.145 s: 3 in/s makes it 2.373 m. By hand, since a static fly and
    one retrieved more slowly than the boat closes in sink alike.
    """
    found = fished(SetUp("3 in/s", count_s=20, retrieve="static"))
    assert found.middle_m == pytest.approx(0.0762 * 31.145, rel=1e-3)
    assert found.low_m == pytest.approx(0.75 * found.middle_m, rel=1e-6)
    assert found.high_m == pytest.approx(1.25 * found.middle_m, rel=1e-6)
    assert (found.name, found.sure, found.not_told) == ("3-8 ft", False, ())


def test_without_a_count_it_is_from_landing_to_the_useful_depth() -> None:
    """Useful is 0.6 of the overrun depth s L / v = 4.355 m (common practice)."""
    found = fished(SetUp("3 in/s", retrieve="static"))
    useful_m = 0.6 * 0.0762 * 25 * 0.9144 / 0.4
    assert found.high_m == pytest.approx(1.25 * useful_m, rel=1e-3)
    assert found.low_m == pytest.approx(0.75 * useful_m / 2, rel=1e-3)
    assert found.middle_m == pytest.approx(0.75 * useful_m, rel=1e-3)
    assert found.not_told == ("count",)


def test_what_was_not_told_is_told_so_and_doubted_more() -> None:
    full = SetUp("5 in/s", count_s=5, retrieve="fast")
    known = fished(full)
    for setup, speed, word in (
        (replace(full, count_s=None), 0.4, "count"),
        (replace(full, retrieve=""), 0.4, "retrieve"),
        (replace(full, retrieve="as my father did"), 0.4, "retrieve"),
        (full, None, "speed"),
    ):
        found = fished(setup, speed)
        assert found.not_told == (word,)
        assert found.high_m - found.low_m > known.high_m - known.low_m + 0.01


@settings(max_examples=40)
@given(setups, speeds, st.floats(-1, 1), st.floats(0, 1), st.floats(0, 1))
def test_the_range_holds_whatever_it_was(
    setup: SetUp, speed: float | None, doubt: float, drift: float, pull: float
) -> None:
    """Any rate within the doubt, any drift and any retrieve that are supposed."""
    found = layer_of(setup, speed, RULES)
    line = line_of(setup, RULES)
    if found is None or line is None or not line.sink_m_s:
        return
    rate_m_s = (1 + RULES.doubt * doubt) * line.sink_m_s
    told_m_s = retrieve_m_s(setup.retrieve)
    low, high = (0.0, 1.2) if told_m_s is None else (0.5 * told_m_s, 1.5 * told_m_s)
    drift_m_s = max(0.15 + 0.3 * drift if speed is None else speed, 0.02)
    count_s, pull_m_s = setup.count_s or 0.0, low + pull * (high - low)
    path = fly_path(Cast(RULES.cast_m, rate_m_s, drift_m_s, count_s, pull_m_s))
    from_s = min(count_s, path.duration_s)
    moments = np.linspace(from_s, from_s + 0.6 * (path.duration_s - from_s), 65)
    middle_m = np.median(np.interp(moments, path.time_s, path.depth_m))
    assert found.low_m - 1e-6 <= middle_m <= found.high_m + 1e-6


def test_what_nobody_told_is_not_guessed() -> None:
    assert layer_of(SetUp(), 0.4, RULES) is None
    assert layer_of(SetUp(count_s=20, retrieve="steady"), 0.4, RULES) is None
    assert layer_of(SetUp("the old one"), 0.4, RULES) is None


def test_a_told_rate_counts_before_the_name() -> None:
    setup = SetUp("floating", sink_in_s=5, count_s=20)
    assert fished(setup) == fished(SetUp("5 in/s", count_s=20))


def test_a_speed_that_is_none() -> None:
    setup = SetUp("3 in/s", count_s=20)
    assert fished(setup, float("nan")) == fished(setup, None)
    setup = replace(setup, retrieve="static")
    assert fished(setup, 0.0).middle_m > fished(setup, 0.1).middle_m


def test_a_sure_layer() -> None:
    assert fished(SetUp("intermediate", count_s=0)).sure
    deep = fished(SetUp("7 in/s", count_s=40))
    assert (deep.name, deep.layer, deep.sure) == ("15+ ft", 3, True)


@settings(max_examples=60)
@given(setups, speeds)
def test_what_holds_for_every_setup(setup: SetUp, speed: float | None) -> None:
    found = layer_of(setup, speed, RULES)
    if found is None:
        assert setup.sink_in_s is None
        assert not setup.line
        return
    assert 0 <= found.low_m <= found.middle_m <= found.high_m <= RULES.cast_m
    names = layer_names(RULES)
    assert found.name == names[found.layer] == names[layer_at(found.middle_m, RULES)]
    ends = {layer_at(depth_m, RULES) for depth_m in (found.low_m, found.high_m)}
    assert found.sure == (ends == {found.layer})


@settings(max_examples=30)
@given(setups, st.floats(0.1, 0.8), st.floats(1.05, 2))
def test_deeper_with_a_slower_boat_and_a_faster_line(
    setup: SetUp, speed: float, more: float
) -> None:
    setup = replace(setup, sink_in_s=2.0, retrieve="static")
    found = fished(setup, speed)
    faster = fished(replace(setup, sink_in_s=2.0 * more), speed)
    assert faster.middle_m > found.middle_m
    assert fished(setup, speed / more).middle_m >= found.middle_m - 1e-9
    longer = fished(replace(setup, count_s=20 * more), speed)
    assert longer.middle_m >= fished(replace(setup, count_s=20), speed).middle_m - 1e-6


def test_names_of_layers() -> None:
    assert layer_names(RULES) == ("0-3 ft", "3-8 ft", "8-15 ft", "15+ ft")
    metric = TackleRules(layers_m=(1.0, 2.5))
    assert layer_names(metric, "metric") == ("0-1 m", "1-2.5 m", "2.5+ m")
    found = layer_of(SetUp("floating"), None, metric, "metric")
    assert found is not None
    assert found.name == "0-1 m"


@pytest.mark.parametrize(
    ("text", "in_s"),
    [
        *(("floating", 0), ("Floater", 0), ("float", 0), ("dry line", 0)),
        *(("intermediate", 1.5), ("Inter", 1.5), ("slow  inter", 0.75)),
        *(("3ips", 3), ("3 in/s", 3), ("2.5 ips", 2.5), ("5 inches a second", 5)),
        *(("class 7", 7), ("type 3", 3), ("6,5ips", 6.5), ("sinker 5", 5)),
        *(("sinking", None), ("fast", None), ("in/s", None), ("", None)),
    ],
)
def test_lines_as_people_call_them(text: str, in_s: float | None) -> None:
    """Common practice, no source."""
    found = line_named(text, RULES.lines)
    assert (found.sink_m_s / 0.0254 if found else None) == pytest.approx(in_s)


def test_the_teams_own_name_of_a_line_counts_first() -> None:
    (own,) = (line for line in RULES.lines if line.name == "7 in/s")
    lines = (*RULES.lines, replace(own, name="the 3ips"))
    assert line_named("The 3ips", lines) == lines[-1]


@pytest.mark.parametrize(
    ("text", "least", "most"),
    [
        *(("static", 0, 0), ("on the hang", 0, 0), ("Figure-of-eight", 0.02, 0.2)),
        *(("slow", 0.02, 0.2), ("steady", 0.15, 0.4), ("fast strip", 0.4, 1)),
        *(("roly-poly", 0.6, 1.2), ("ROLYPOLY", 0.6, 1.2)),
    ],
)
def test_retrieves_as_people_call_them(text: str, least: float, most: float) -> None:
    """Common practice, no source: slow to fast is in order, and metres a second."""
    found = retrieve_m_s(text)
    assert found is not None
    assert least <= found <= most


def test_a_retrieve_that_nobody_knows() -> None:
    assert retrieve_m_s("") is None
    assert retrieve_m_s("as ever, slowly") is None
