"""The time between drifts, worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sweptwater.offers.wind import Wind
from sweptwater.plan.legs import (
    SHORTER,
    between_s,
    motoring_s,
    times_between_s,
    way_s,
)
from sweptwater.practice.outing import BoatRules
from sweptwater.units import MPH_M_S

BOAT = BoatRules(reset_s=240, motoring_up_m_s=1.5, motoring_down_m_s=2.5)
SOUTHERLY = Wind(180, 6.7)


@pytest.mark.parametrize(
    ("bearing_deg", "speed_m_s"),
    [(180, 1.5), (0, 2.5), (90, 2.0), (270, 2.0), (60, 2.25), (120, 1.75), (360, 2.5)],
)
def test_speeds_by_the_angle_to_the_wind(bearing_deg: float, speed_m_s: float) -> None:
    # Between the two goes the cosine: 60 degrees off, three quarters of the way.
    assert float(motoring_s(900, bearing_deg, SOUTHERLY, BOAT)) == pytest.approx(
        900 / speed_m_s
    )


def test_a_mile_up_the_wind_and_back() -> None:
    # At 4 mph against it 15 minutes, at 5 mph before it 12.
    boat = BoatRules()
    times = motoring_s([1609.344] * 2, [180, 0], SOUTHERLY, boat)
    assert times.tolist() == pytest.approx([15 * 60, 12 * 60])
    assert boat.motoring_up_m_s == 4 * MPH_M_S


def test_a_way_leg_by_leg() -> None:
    # 300 m against it, 400 across, 500 before it; one of no length.
    way = np.array([[0.0, 0], [0, -300], [400, -300], [400, -300], [400, 200]])
    assert way_s(way, SOUTHERLY, BOAT) == pytest.approx(200 + 200 + 200)
    assert way_s(way[::-1], SOUTHERLY, BOAT) == pytest.approx(120 + 200 + 500 / 1.5)
    assert way_s(way[:1], SOUTHERLY, BOAT) == 0


@pytest.mark.parametrize(
    ("under_way_s", "passed_s"), [(0, 240), (120, 240), (121, 241), (600, 720)]
)
def test_half_a_reset_is_handling(under_way_s: float, passed_s: float) -> None:
    assert float(between_s(under_way_s, BOAT)) == passed_s


def test_every_time_between_a_jetty_and_two_drifts() -> None:
    # The jetty at 0, 0; one drift from 0, 300 to 0, 600; one from 400, 0 to 400, 300.
    ends = np.array([[0.0, 0], [0, 600], [400, 300]])
    starts = np.array([[0.0, 0], [0, 300], [400, 0]])
    ways_m = np.hypot(*np.moveaxis(starts[None] - ends[:, None], -1, 0))
    times = times_between_s(ways_m, ends, starts, SOUTHERLY, BOAT)
    more = 1 + SHORTER
    assert times[0, 0] == 0
    assert times[0, 1] == pytest.approx(300 / 2.5 + 120)
    assert times[0, 2] == pytest.approx(400 / 2.0 + 120)
    assert times[1, 0] == pytest.approx(600 / 1.5 + 120)
    # From 0, 600 to 400, 0: 721 m, whose cosine to the wind is -600 / 721.
    way_m = np.hypot(400, 600)
    speed = 1.5 + (1 - 600 / way_m) / 2
    assert times[1, 2] == pytest.approx(120 + way_m / speed * more)
    # From 400, 300 to 0, 300: 200 s, more than half a re-set.
    assert times[2, 1] == pytest.approx(120 + 200 * more)
    # Back to its own start it is a re-set, and the shorter way counts a little.
    assert times[1, 1] == pytest.approx(120 + 200 * more)


@given(st.floats(0, 5000), st.floats(0, 360), st.floats(0, 360), st.floats(0.5, 3))
def test_never_faster_than_before_the_wind(
    way_m: float, bearing_deg: float, from_deg: float, up_m_s: float
) -> None:
    boat = BoatRules(motoring_up_m_s=up_m_s, motoring_down_m_s=3.0)
    took_s = float(motoring_s(way_m, bearing_deg, Wind(from_deg, 5), boat))
    assert way_m / 3.0 - 1e-9 <= took_s <= way_m / up_m_s + 1e-9
    assert float(between_s(took_s, boat)) >= boat.reset_s
