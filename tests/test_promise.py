"""What a way to lay drifts buys: closed forms, against unions of plain buffers."""

from math import cos, hypot, pi, radians, tan

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import LineString, box

from lanes_theory import (
    leg_width_m,
    parallel_share,
    start_loss_m2,
    zigzag_factor,
    zigzag_share,
)
from sweptwater.arrays import Area
from sweptwater.practice.settings import Spread
from sweptwater.search.laws import coverage_factor
from sweptwater.swept.spread import sweep_drift
from sweptwater.tracks.drifts import Drift

FAN = Spread()

ZIGZAGS = [
    (400, 200, 30, 0.285326672),
    (400, 200, 80, 0.654621125),
    (400, 100, 30, 0.513263081),
    (300, 600, 60, 0.262842712),
    (300, 600, 300, 0.914213562),
    (500, 120, 40, 0.558738399),
]
"""Band, period and strip in metres, and the share covered: derived by integrating the
covered length over the band, 1 - (1 - s)^2 with s = w hypot(H, p / 2) / (H p)."""


def factor_of(band_m: float, period_m: float, width_m: float) -> float:
    return zigzag_factor(width_m, band_m=band_m, period_m=period_m)


def drawn(band_m: float, period_m: float, width_m: float) -> shapely.Polygon:
    """Return the strip about 20 periods of a zig-zag."""
    way = LineString([(i * period_m / 2, (i % 2) * band_m) for i in range(41)])
    return way.buffer(width_m / 2, quad_segs=64)


# Coverage factors


@pytest.mark.parametrize(
    ("apart_m", "width_m", "share"), [(40, 30, 0.75), (30, 30, 1.0), (20, 30, 1.0)]
)
def test_parallel_drifts(apart_m: float, width_m: float, share: float) -> None:
    # Tracks evenly apart cover min(1, w / d): Choset, Coverage for robotics, 2000.
    factor = coverage_factor(width_m, 1000, 1000 * apart_m)
    assert parallel_share(factor) == pytest.approx(share, abs=1e-12)
    lanes = [(k + 0.5) * apart_m for k in range(10)]
    strips = [box(0, y - width_m / 2, 1000, y + width_m / 2) for y in lanes]
    band = box(0, 0, 1000, 10 * apart_m)
    covered = shapely.union_all(strips).intersection(band).area / band.area
    assert parallel_share(factor) == pytest.approx(covered, abs=1e-9)


def test_no_fewer_parallel_drifts_cover_a_band_of_400_m() -> None:
    # ceil(B / w) = 14 of 30 m each.
    shares = [parallel_share(coverage_factor(30, n * 1e3, 4e5)) for n in (13, 14)]
    assert shares[0] < 1 == shares[1]


# Zig-zags


@pytest.mark.parametrize(("band_m", "period_m", "width_m", "share"), ZIGZAGS)
def test_zigzags(band_m: float, period_m: float, width_m: float, share: float) -> None:
    factor = factor_of(band_m, period_m, width_m)
    assert zigzag_share(factor) == pytest.approx(share, abs=1e-8)
    window = box(5 * period_m, 0, 15 * period_m, band_m)
    covered = drawn(band_m, period_m, width_m).intersection(window).area / window.area
    assert zigzag_share(factor) == pytest.approx(covered, abs=1e-9)


@given(st.floats(50, 500), st.floats(0.2, 3), st.floats(0.05, 2.2))
@example(400, 0.5, 1.0)
def test_any_zigzag_against_the_union(band_m: float, of: float, factor: float) -> None:
    period_m = of * band_m
    width_m = factor * band_m * period_m / (2 * hypot(band_m, period_m / 2))
    assert factor_of(band_m, period_m, width_m) == pytest.approx(factor)
    # So wide a strip begins before the first turn: enough periods on either side.
    window = box(7 * period_m, 0, 13 * period_m, band_m)
    if width_m > 6 * period_m:
        return
    covered = drawn(band_m, period_m, width_m).intersection(window).area / window.area
    assert zigzag_share(factor) == pytest.approx(covered, abs=1e-9)


def test_the_strip_that_just_covers_the_band() -> None:
    # s = 1: w = H p / hypot(H, p / 2), here 194.0285 m.
    assert zigzag_share(factor_of(400, 200, 194.03)) == 1
    assert zigzag_share(factor_of(400, 200, 190)) < 1
    assert factor_of(400, 200, 194.0285) == pytest.approx(2, abs=1e-6)


def test_once_over_by_a_zigzag_is_three_quarters() -> None:
    assert zigzag_share(1.0) == pytest.approx(0.75, abs=1e-12)


@pytest.mark.parametrize(("band_m", "period_m", "width_m", "share"), ZIGZAGS)
def test_the_edges_of_the_band_get_half_of_the_middle(
    band_m: float, period_m: float, width_m: float, share: float
) -> None:
    # Along the middle min(1, C), along either edge min(1, C / 2).
    del share
    factor = factor_of(band_m, period_m, width_m)
    strip = drawn(band_m, period_m, width_m)
    shares = []
    for y in (1e-6, band_m / 2, band_m - 1e-6):
        line = LineString([(5 * period_m, y), (15 * period_m, y)])
        shares.append(strip.intersection(line).length / line.length)
    edge, middle = min(1, factor / 2), min(1, factor)
    assert shares == pytest.approx([edge, middle, edge], abs=1e-6)


def test_a_zigzag_is_between_chance_and_parallel_drifts() -> None:
    # Random search finds 1 - exp(-C): Koopman (from memory).
    for factor in np.linspace(0.05, 1.95, 39):
        zigzag = zigzag_share(factor)
        assert 1 - np.exp(-factor) < zigzag
        assert factor >= 1 or zigzag < parallel_share(factor)


# What a fan does at starts and off the wind


def swept_by(places: list[tuple[float, float]], spread: Spread) -> Area:
    """Return what one drift sweeps in a wind that blows to the north."""
    xy = np.array(places, dtype=float)
    drift = Drift(np.linspace(0, 1000, len(xy)), xy[:, 0], xy[:, 1])
    return sweep_drift(drift, spread, downwind_deg=0.0)


@pytest.mark.parametrize("off_deg", [0.0, 10.0, 20.0, 28.0, 30.0])
def test_width_of_a_strip_off_the_wind(off_deg: float) -> None:
    # What a translated convex shape sweeps: its own area and width times length.
    ahead = np.array([np.sin(radians(off_deg)), np.cos(radians(off_deg))])
    near, far = (swept_by([(0, 0), tuple(n * ahead)], FAN).area for n in (500, 1500))
    assert leg_width_m(FAN, off_deg) == pytest.approx((far - near) / 1000, rel=2e-3)
    assert leg_width_m(FAN, off_deg) == FAN.width_m * cos(radians(off_deg))


def test_a_round_spread_is_as_wide_whatever_the_wind() -> None:
    spread = Spread("round", reach_m=20)
    assert leg_width_m(spread, 28) == 40
    assert start_loss_m2(spread, 30) == 0


@pytest.mark.parametrize("apart_m", [15.0, 27.4, 30.0])
def test_what_is_left_beside_a_start(apart_m: float) -> None:
    lane = box(-apart_m / 2, 0, apart_m / 2, 200)
    left_m2 = lane.difference(swept_by([(0, 0), (0, 300)], FAN)).area
    assert start_loss_m2(FAN, apart_m) == pytest.approx(left_m2, rel=5e-3)
    # Two right triangles, half of what the lane is wider than the boat.
    half_m = (apart_m - FAN.boat_m) / 2
    assert start_loss_m2(FAN, apart_m) == pytest.approx(
        half_m**2 / tan(radians(40)), rel=1e-12
    )


def test_a_boat_as_long_as_the_lane_is_wide_leaves_nothing() -> None:
    assert start_loss_m2(Spread(boat_m=30), 30) == 0
    assert start_loss_m2(Spread(boat_m=pi), 3) == 0
