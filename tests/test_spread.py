"""The cast spread against closed forms.

The fan is the Minkowski sum of the boat (length b, across the wind) and a sector of
radius R and half-angle a: its area is a R^2 + b R, and a straight drift of length L
adds a strip of L times its width, b + 2 R sin a (mixed areas of convex sets; derived
here).
"""

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate

from sweptwater.practice.settings import Spread
from sweptwater.swept.boats import clipped_sweep, sweep_drifts
from sweptwater.swept.spread import sweep_drift
from sweptwater.tracks.drifts import Drift

FAN = Spread()
FAN_M2 = radians(FAN.half_angle_deg) * FAN.cast_m**2 + FAN.boat_m * FAN.cast_m


def _drift(*places: tuple[float, float], speed_m_s: float = 0.3) -> Drift:
    line = np.array(places, dtype=float)
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return Drift(along / speed_m_s, line[:, 0], line[:, 1])


@given(
    length=st.floats(15, 3000),
    course=st.floats(0, 360),
    boat=st.floats(1, 8),
    cast=st.floats(5, 40),
    half=st.floats(5, 85),
)
@settings(max_examples=60, deadline=None)
def test_a_straight_drift_sweeps_strip_and_fan(
    length: float, course: float, boat: float, cast: float, half: float
) -> None:
    spread = Spread(boat_m=boat, cast_m=cast, half_angle_deg=half)
    end = (length * sin(radians(course)), length * cos(radians(course)))
    swept = sweep_drift(_drift((0, 0), end), spread)
    a = radians(half)
    fan_m2 = a * cast**2 + boat * cast
    expected_m2 = length * (boat + 2 * cast * sin(a)) + fan_m2
    assert swept.area == pytest.approx(expected_m2, rel=1e-2 * fan_m2 / expected_m2)
    assert spread.width_m == pytest.approx(boat + 2 * cast * sin(a))


def test_nothing_upwind_of_the_boat_is_swept() -> None:
    swept = sweep_drift(_drift((0, 0), (0, 500)), FAN)
    west, south, east, north = swept.bounds
    assert south == pytest.approx(0, abs=1e-6)
    assert north == pytest.approx(500 + FAN.cast_m, rel=1e-3)
    assert east - west == pytest.approx(FAN.width_m)


def test_the_fan_faces_the_wind_that_is_known() -> None:
    """Steered 30 degrees off the wind, the strip is cos(30) of the width."""
    course = radians(30)
    drift = _drift((0, 0), (1000 * sin(course), 1000 * cos(course)))
    swept = sweep_drift(drift, FAN, downwind_deg=0.0)
    expected_m2 = 1000 * cos(course) * FAN.width_m + FAN_M2
    assert swept.area == pytest.approx(expected_m2, rel=2e-3)


def test_a_round_spread_is_a_stadium() -> None:
    """2 r L + pi r^2: the Minkowski sum of a segment and a disc."""
    swept = sweep_drift(_drift((0, 0), (1000, 0)), Spread(shape="round", reach_m=25))
    assert swept.area == pytest.approx(2 * 25 * 1000 + pi * 625, rel=1e-3)


@pytest.mark.parametrize(
    ("turns_deg", "expected_m2"),
    [
        ([90], 101829.369),
        ([60], 101929.901),
        ([120], 101535.462),
        ([100, -100, 100, -100], 251165.773),
    ],
)
def test_a_round_spread_along_a_bent_path(
    turns_deg: list[float], expected_m2: float
) -> None:
    """2 r L + pi r^2 - r^2 sum(tan(t/2) - t/2) for legs of 1,000 m and r = 25 m.

    Derived from the swept area of a polyline and checked with unions.
    """
    formula_m2 = (
        50 * 1000 * (len(turns_deg) + 1)
        + pi * 625
        - 625 * sum(tan(radians(abs(t)) / 2) - radians(abs(t)) / 2 for t in turns_deg)
    )
    assert formula_m2 == pytest.approx(expected_m2, abs=0.01)
    course, place, places = 90.0, np.zeros(2), [(0.0, 0.0)]
    for turn in [0.0, *turns_deg]:
        course += turn
        place = place + 1000 * np.array([sin(radians(course)), cos(radians(course))])
        places.append((float(place[0]), float(place[1])))
    swept = sweep_drift(_drift(*places), Spread(shape="round", reach_m=25))
    assert swept.area == pytest.approx(expected_m2, rel=1e-4)


@pytest.mark.parametrize(
    ("height", "period", "swath", "expected"),
    [
        (400, 200, 30, 0.285326672),
        (400, 200, 80, 0.654621125),
        (400, 100, 30, 0.513263081),
        (300, 600, 60, 0.262842712),
    ],
)
def test_a_zigzag_covers_c_minus_a_quarter_of_its_square(
    height: float, period: float, swath: float, expected: float
) -> None:
    """F = C - C^2/4 of its band (derived; the figures checked with unions to 1e-12)."""
    corners = [(i * period / 2, (i % 2) * height) for i in range(41)]
    spread = Spread(shape="round", reach_m=swath / 2)
    swept = sweep_drift(_drift(*corners), spread)
    window = shapely.box(5 * period, 0, 15 * period, height)
    assert swept.intersection(window).area / window.area == pytest.approx(
        expected, abs=1e-4
    )


@given(angle=st.floats(0, 360), east=st.floats(-1e4, 1e4), seed=st.integers(0, 99))
@settings(max_examples=25, deadline=None)
def test_moving_and_turning_everything_changes_nothing(
    angle: float, east: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    step = np.column_stack([rng.normal(0, 0.2, 300), rng.normal(1, 0.2, 300)])
    line = np.cumsum(step, axis=0)
    turned = shapely.get_coordinates(
        rotate(shapely.LineString(line), angle, origin=(0, 0))
    )
    time_s = np.arange(300.0) * 3
    one = sweep_drift(Drift(time_s, *line.T), FAN)
    other = sweep_drift(Drift(time_s, turned[:, 0] + east, turned[:, 1]), FAN)
    assert other.area == pytest.approx(one.area, rel=1e-3)


@pytest.mark.parametrize("many", [2, 1000])
def test_how_many_fixes_a_straight_drift_has_does_not_matter(many: int) -> None:
    along = np.linspace(0, 800, many)
    swept = sweep_drift(Drift(along / 0.3, along, 0 * along), FAN)
    assert swept.area == pytest.approx(800 * FAN.width_m + FAN_M2, rel=1e-3)


@pytest.mark.parametrize(("amplitude_m", "rate_s"), [(30, 240), (1.5, 60)])
def test_simplifying_costs_less_than_a_thousandth(
    amplitude_m: float, rate_s: float
) -> None:
    """Against the hulls of the fans at every two places, none left out."""
    time_s = np.arange(0, 1800.0)
    east, north = amplitude_m * np.sin(time_s / rate_s), 0.35 * time_s
    swept = sweep_drift(Drift(time_s, east, north), FAN, downwind_deg=0.0)
    hulls = [
        sweep_drift(
            Drift(time_s[i : i + 2], east[i : i + 2], north[i : i + 2]),
            FAN,
            downwind_deg=0.0,
        )
        for i in range(len(time_s) - 1)
    ]
    whole = shapely.union_all(hulls)
    assert swept.area == pytest.approx(whole.area, rel=1e-3)
    assert swept.symmetric_difference(whole).area < 0.015 * whole.area


def test_a_boat_that_lay_still_reaches_all_round() -> None:
    time_s = np.arange(0, 900.0)
    swept = sweep_drift(Drift(time_s, 0 * time_s, 0 * time_s), FAN)
    assert swept.area == pytest.approx(pi * FAN.cast_m**2, rel=2e-3)


def test_swept_water_stops_at_the_shore() -> None:
    lake = shapely.box(-1000, -1000, 5, 1000)
    swept = clipped_sweep(_drift((0, 0), (0, 500)), FAN, lake)
    assert swept.bounds[2] == pytest.approx(5)


@pytest.mark.parametrize("factor", [0.75, 1.25])
def test_a_longer_cast_widens_the_strip(factor: float) -> None:
    scaled = FAN.scaled(factor)
    assert scaled.width_m - FAN.boat_m == pytest.approx(
        factor * (FAN.width_m - FAN.boat_m)
    )
    assert scaled.boat_m == FAN.boat_m


def test_a_cast_over_a_dam_reaches_nothing_beyond() -> None:
    """Two waters with 3 m of stone between; the boat drifts along 8 m off."""
    waters = shapely.MultiPolygon(
        [shapely.box(-500, 0, 0, 2000), shapely.box(3, 0, 500, 2000)]
    )
    swept = clipped_sweep(_drift((-8, 100), (-8, 900)), FAN, waters)
    assert swept.bounds[2] <= 0
    assert swept.area == pytest.approx(800 * (FAN.width_m / 2 + 8), rel=0.05)


def test_a_drift_too_short_to_tell_takes_the_course_of_those_around() -> None:
    time_s = np.array([0.0, 60.0])
    long = _drift((0, 0), (0, 400))
    short = Drift(
        long.time_s[-1] + 60 + time_s, np.array([50.0, 50]), np.array([0, 6.0])
    )
    water = shapely.box(-1000, -1000, 1000, 1000)
    alone, lent = (
        sweep_drifts(drifts, FAN, water)[-1] for drifts in ([short], [long, short])
    )
    assert alone.area == pytest.approx(pi * FAN.cast_m**2 + 12 * FAN.cast_m, rel=0.01)
    assert lent.area == pytest.approx(6 * FAN.width_m + FAN_M2, rel=0.01)
    assert lent.bounds[1] >= -1e-6


def test_a_bend_keeps_its_heading_between_the_places_of_a_thinned_path() -> None:
    """Half an hour north, then half an hour east: the fan turns on the way."""
    time_s = np.arange(3600.0)
    north = 0.3 * np.minimum(time_s, 1800)
    east = 0.3 * np.maximum(time_s - 1800, 0)
    thinned = sweep_drift(Drift(time_s, east, north), FAN)
    dense = Drift(time_s, east + 0.21 * (np.arange(3600) % 2), north)
    assert thinned.area == pytest.approx(sweep_drift(dense, FAN).area, rel=0.01)


def test_a_zigzag_faces_the_wind_and_not_its_legs() -> None:
    """Steered 45 degrees either side, three minutes each: the fan faces east."""
    time_s = np.arange(3600.0)
    side = np.where((time_s // 180) % 2, 1.0, -1.0)
    east, north = 0.5 * time_s * cos(radians(45)), np.cumsum(0.5 * side * sin(pi / 4))
    drift = Drift(time_s, east, north)
    own = sweep_drift(drift, FAN)
    known = sweep_drift(drift, FAN, downwind_deg=90.0)
    assert own.symmetric_difference(known).area < 0.05 * known.area
