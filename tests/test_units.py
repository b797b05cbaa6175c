"""Constants against the standards, and numbers as people read them."""

from math import inf, nan

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sweptwater import units
from sweptwater.units import (
    area_text,
    compass_point,
    duration_text,
    length_text,
    share_text,
)


@pytest.mark.parametrize(
    ("value", "standard"),
    [
        # International yard and pound agreement, 1959.
        (units.YARD_M, 0.9144),
        (units.FOOT_M, 0.3048),
        (units.MILE_M, 1609.344),
        (units.ACRE_M2, 4046.8564224),
        (units.MPH_M_S, 0.44704),
        # The hectare is a square hectometre (SI brochure, from memory).
        (units.HECTARE_M2 / units.ACRE_M2, 2.471053815),
        # The international nautical mile is 1852 m, and a knot is one an hour.
        (units.KNOT_M_S, 0.5144444444444445),
    ],
)
def test_constants_are_the_standards(value: float, standard: float) -> None:
    assert value == pytest.approx(standard, rel=1e-9)


@pytest.mark.parametrize(
    ("length_m", "imperial", "metric"),
    [
        (0.0, "0 yd", "0 m"),
        (-0.2, "0 yd", "0 m"),
        (1999.4, "2,187 yd", "1,999 m"),
        (2000.0, "2,187 yd", "2.0 km"),
        (2 * 1609.344 - 0.01, "3,520 yd", "3.2 km"),
        (2 * 1609.344, "2.0 miles", "3.2 km"),
        (1_609_344.0, "1,000.0 miles", "1,609.3 km"),
        (nan, "unknown", "unknown"),
        (inf, "unknown", "unknown"),
    ],
)
def test_lengths(length_m: float, imperial: str, metric: str) -> None:
    assert length_text(length_m) == imperial
    assert length_text(length_m, "metric") == metric


@pytest.mark.parametrize(
    ("acres", "told"),
    [
        (0.0, "0 acres"),
        (-1e-12, "0 acres"),
        (1e-10, "0 acres"),
        (0.004, "<0.01 acres"),
        (0.006, "0.01 acres"),
        (0.949, "0.95 acres"),
        (0.95, "0.95 acres"),
        (0.99, "0.99 acres"),
        (0.996, "1.0 acres"),
        (99.94, "99.9 acres"),
        (99.96, "100 acres"),
        (1234.5678, "1,235 acres"),
        (nan, "unknown"),
    ],
)
def test_areas(acres: float, told: str) -> None:
    assert area_text(acres * units.ACRE_M2) == told


def test_areas_in_hectares() -> None:
    assert area_text(9_500, "metric") == "0.95 ha"
    assert area_text(123_456, "metric") == "12.3 ha"


@given(st.floats(21, 1e9), st.floats(1, 3))
@example(0.949 * units.ACRE_M2, 1.0015)
def test_more_area_never_reads_as_less(area_m2: float, times: float) -> None:
    def read(text: str) -> float:
        return float(text.removesuffix(" acres").replace(",", ""))

    assert read(area_text(area_m2)) <= read(area_text(area_m2 * times))
    # Rounding: half a hundredth, or half a unit of a figure of three.
    assert read(area_text(area_m2)) == pytest.approx(
        area_m2 / units.ACRE_M2, rel=0.051, abs=0.005
    )


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        (0, "0 min"),
        (0.4, "0 min"),
        (0.5, "1 min"),
        (2.5, "3 min"),
        (59.4, "59 min"),
        (59.5, "1 h 00"),
        (60, "1 h 00"),
        (119.6, "2 h 00"),
        (605, "10 h 05"),
        (-0.3, "0 min"),
        (-90, "-1 h 30"),
        (nan, "unknown"),
    ],
)
def test_durations(minutes: float, told: str) -> None:
    assert duration_text(60 * minutes) == told


@pytest.mark.parametrize(
    ("percent", "told"),
    [
        (0, "0 %"),
        (-1e-10, "0 %"),
        (0.05, "<0.1 %"),
        (0.1, "0.1 %"),
        (9.94, "9.9 %"),
        (9.96, "10 %"),
        (99.4, "99 %"),
        (99.5, "99.5 %"),
        (99.9, "99.9 %"),
        (99.95, ">99.9 %"),
        (100, "100 %"),
        (100 + 1e-9, "100 %"),
        (nan, "unknown"),
    ],
)
def test_shares(percent: float, told: str) -> None:
    assert share_text(percent / 100) == told


@given(st.floats(0, 1, exclude_min=True, exclude_max=True))
@example(0.995)
def test_something_is_never_nothing_nor_all(share: float) -> None:
    assert share_text(share) not in ("0 %", "0.0 %", "100 %", "100.0 %")


@pytest.mark.parametrize(
    ("bearing_deg", "point"),
    [
        *((i * 22.5, point) for i, point in enumerate(units.COMPASS_POINTS)),
        (11.2, "N"),
        (11.3, "NNE"),
        (348.8, "N"),
        (348.7, "NNW"),
        (720, "N"),
        (-45, "NW"),
    ],
)
def test_compass_points(bearing_deg: float, point: str) -> None:
    # Sixteen points, each 22.5 degrees wide, N about the first (from memory).
    assert compass_point(bearing_deg) == point


def test_no_bearing_has_no_compass_point() -> None:
    with pytest.raises(ValueError, match="NaN"):
        compass_point(nan)
