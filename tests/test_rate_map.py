"""Rates about each place: against sums done directly, and what must always hold."""

import json

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from outside import lake_parts
from sweptwater.arrays import Area, Floats
from sweptwater.offers.rate_areas import LEAST_HOURS, rate_areas
from sweptwater.offers.rate_map import (
    BANDWIDTH_M,
    EDGE,
    RateMap,
    Spots,
    joined,
    rate_map,
    spread,
)
from sweptwater.water.shapes import polygonal, water_frame

HERE = np.zeros((1, 2))
hours_st = st.floats(0.1, 50)
counts = st.integers(0, 30)
means = st.floats(0.05, 5)


def _spot(weight: float, easting: float = 0.0, northing: float = 0.0) -> Spots:
    return Spots(np.array([easting]), np.array([northing]), np.array([weight]))


def _drifts(seed: int, many: int, *, size_m: float = 3000) -> tuple[Spots, Spots]:
    """Return offers and pieces of straight drifts, better in the east."""
    rng = np.random.default_rng(seed)
    starts = rng.uniform(0, size_m, (many, 2))
    ways = rng.normal(0, 1, (many, 2))
    along = np.linspace(0, 500, 40)[None, :, None] * ways[:, None] / 1.3
    where = (starts[:, None] + along).reshape(-1, 2)
    effort = Spots(where[:, 0], where[:, 1], np.full(len(where), 1 / 40))
    found = rng.poisson(effort.weight * np.where(where[:, 0] > size_m / 2, 1.0, 0.2))
    return Spots(where[:, 0], where[:, 1], found.astype(float)), effort


def _plain(spots: Spots, at: Floats) -> Floats:
    """Return the kernel's sums over all spots, one by one."""
    off = at[:, None] - np.column_stack([spots.easting, spots.northing])[None]
    away = np.hypot(off[..., 0], off[..., 1])
    kernel = np.where(
        away < EDGE * BANDWIDTH_M, (1 - (away / (EDGE * BANDWIDTH_M)) ** 2) ** 2, 0
    )
    return kernel @ spots.weight


@pytest.mark.parametrize(
    ("start", "mean", "found", "spent", "rate"),
    [
        # Gamma(2, 1) and three in 12.5 hours (worked out from the formula).
        (2, 2.0, 3, 12.5, 0.37037037),
        # Gamma(10, 2) and eleven in four gives Gamma(21, 6): Johnson, Ott, Dogucu,
        # Bayes Rules!, chapter 5.
        (10, 5.0, 11, 4, 21 / 6),
    ],
)
def test_starts_and_counts_of_others(
    start: float, mean: float, found: float, spent: float, rate: float
) -> None:
    told = rate_map(_spot(found), _spot(spent), HERE, mean=mean, start_offers=start)
    assert told.rate == pytest.approx([rate], abs=1e-8)


def test_sums_are_those_done_directly() -> None:
    offers, effort = _drifts(1, 60)
    at = np.random.default_rng(2).uniform(-500, 3500, (300, 2))
    rates = rate_map(offers, effort, at, mean=0.6)
    found, hours = _plain(offers, at), _plain(effort, at)
    assert rates.hours == pytest.approx(hours, rel=0.01, abs=0.005)
    judge = (1 + found) / (1 / 0.6 + hours)
    assert rates.rate == pytest.approx(judge, rel=0.01)


def test_kernel_spreads_by_its_bandwidth() -> None:
    # Numerically, over the plane: the standard deviation each way is the bandwidth.
    grid = np.arange(-500, 501, 5.0)
    at = np.stack(np.meshgrid(grid, grid), axis=-1).reshape(-1, 2)
    weight = rate_map(_spot(0), _spot(1), at, mean=1.0).hours
    sd = np.sqrt(np.average(at[:, 0] ** 2, weights=weight))
    assert sd == pytest.approx(BANDWIDTH_M, rel=0.005)


@given(counts, hours_st, means)
def test_all_at_one_place_is_a_gamma_distribution(
    found: int, hours: float, mean: float
) -> None:
    # Gamma(1 + x, 1 / mean + t), by another library.
    rates = rate_map(_spot(found), _spot(hours), HERE, mean=mean)
    judge = stats.gamma(1 + found, scale=1 / (1 / mean + hours))
    assert rates.rate == pytest.approx(judge.mean(), rel=1e-9)
    ends = (rates.low[0], rates.high[0])
    assert ends == pytest.approx(judge.ppf([0.025, 0.975]), rel=1e-7)


@given(counts, hours_st, means, st.floats(1.01, 50), st.floats(0, 6.28))
def test_far_off_is_exactly_the_mean(
    found: int, hours: float, mean: float, far: float, way: float
) -> None:
    edge_m = EDGE * BANDWIDTH_M
    at = HERE + far * edge_m * np.array([np.cos(way), np.sin(way)])
    rates = rate_map(_spot(found), _spot(hours), at, mean=mean)
    assert rates.rate[0] == mean
    assert rates.hours[0] == 0
    assert rates.low[0] < mean < rates.high[0]


@given(counts, hours_st, means, st.floats(2, 10))
def test_more_fishing_at_the_same_rate_narrows_the_range(
    found: int, hours: float, mean: float, times: float
) -> None:
    # At the mean, so that the rate itself stays.
    def width(rates: RateMap) -> float:
        return float(rates.high[0] - rates.low[0])

    little = rate_map(_spot(mean * hours), _spot(hours), HERE, mean=mean)
    much = rate_map(_spot(mean * hours * times), _spot(hours * times), HERE, mean=mean)
    assert width(much) < width(little)
    clustered = rate_map(_spot(found), _spot(hours), HERE, mean=mean, factor=times)
    singles = rate_map(_spot(found), _spot(hours), HERE, mean=mean)
    off = abs(clustered.rate[0] - mean) - abs(singles.rate[0] - mean)
    assert off <= 1e-12


@given(st.integers(0, 20), st.sampled_from([0.25, 0.5, 2, 8]))
def test_units_do_not_matter(seed: int, unit: float) -> None:
    offers, effort = _drifts(seed, 5, size_m=600)
    at = np.random.default_rng(seed).uniform(0, 600, (20, 2))
    one = rate_map(offers, effort, at, mean=0.5)
    minutes = Spots(effort.easting, effort.northing, effort.weight * 60)
    by_minutes = rate_map(offers, minutes, at, mean=0.5 / 60)
    assert by_minutes.rate * 60 == pytest.approx(one.rate, rel=1e-9)
    assert by_minutes.high * 60 == pytest.approx(one.high, rel=1e-9)

    def scaled(spots: Spots) -> Spots:
        return Spots(spots.easting * unit, spots.northing * unit, spots.weight)

    larger = rate_map(
        scaled(offers),
        scaled(effort),
        at * unit,
        mean=0.5,
        bandwidth_m=BANDWIDTH_M * unit,
    )
    assert larger.rate == pytest.approx(one.rate, rel=1e-9)


@given(st.integers(0, 20), st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_where_the_frame_begins_matters_little(
    seed: int, right_m: float, up_m: float
) -> None:
    offers, effort = _drifts(seed, 5, size_m=600)
    at = np.random.default_rng(seed).uniform(0, 600, (20, 2))

    def moved(spots: Spots) -> Spots:
        return Spots(spots.easting + right_m, spots.northing + up_m, spots.weight)

    away = at + np.array([right_m, up_m])
    there = rate_map(moved(offers), moved(effort), away, mean=0.5)
    here = rate_map(offers, effort, at, mean=0.5)
    assert there.rate == pytest.approx(here.rate, rel=0.01)


def test_nobody_fished_anywhere() -> None:
    rates = rate_map(joined(), joined(), HERE, mean=0.4)
    assert rates.rate.tolist() == [0.4]
    none = rate_map(_spot(1), _spot(1), np.zeros((0, 2)), mean=0.4)
    assert none.rate.shape == none.low.shape == (0,)


def test_surely_means_the_whole_range() -> None:
    at = np.array([[0.0, 0], [5000, 0], [9000, 0]])
    offers = joined(_spot(12), _spot(0, 5000))
    effort = joined(_spot(8), _spot(40, 5000))
    rates = rate_map(offers, effort, at, mean=0.3)
    assert rates.surely_above.tolist() == [True, False, False]
    assert rates.surely_below.tolist() == [False, True, False]
    clustered = rate_map(offers, effort, at, mean=0.3, factor=6.0)
    assert not clustered.surely_above.any()


def test_offers_of_a_drift_lie_along_its_pieces() -> None:
    _, pieces = _drifts(3, 1)
    loose = spread(3, pieces)
    assert loose.weight.sum() == pytest.approx(3)
    still = spread(2, Spots(np.zeros(4), np.zeros(4), np.zeros(4)))
    assert still.weight.tolist() == [0.5] * 4
    assert spread(2, joined()).weight.shape == (0,)


def test_ranges_hold_the_truth_where_rates_hardly_change() -> None:
    # A water with one rate, so that smoothing over it hides nothing.
    rng = np.random.default_rng(6)
    at = rng.uniform(500, 2500, (15, 2))
    held = []
    for seed in range(60):
        _, effort = _drifts(seed, 40)
        found = rng.poisson(effort.weight * 0.4).astype(float)
        offers = Spots(effort.easting, effort.northing, found)
        rates = rate_map(offers, effort, at, mean=found.sum() / effort.weight.sum())
        held.append((rates.low <= 0.4) & (rates.high >= 0.4))
    # Rather too wide than too narrow: the mean is known, and the kernel counts less.
    assert np.mean(held) > 0.95


def _lake(name: str) -> Area:
    parts = lake_parts(name)
    frame = water_frame(parts)
    return polygonal(shapely.union_all([frame.metres(part) for part in parts]))


@pytest.mark.parametrize("name", ["nhd_spring_lake_19islands", "nhd_crystal_lake"])
def test_areas_hold_no_land_and_do_not_overlap(name: str) -> None:
    water = _lake(name)
    west, south, east, north = water.bounds
    offers, effort = _drifts(8, 40, size_m=max(east - west, north - south))
    offers, effort = (
        Spots(spots.easting + west, spots.northing + south, spots.weight)
        for spots in (offers, effort)
    )
    areas = rate_areas(offers, effort, water, mean=0.6)
    shapes = [area.shape for area in areas]
    assert len(areas) > 2
    assert all(shape.is_valid for shape in shapes)
    whole = shapely.union_all(shapes)
    assert whole.difference(water).area < 1.0
    assert sum(shape.area for shape in shapes) == pytest.approx(whole.area, abs=1.0)
    json.dumps([shapely.to_geojson(shape) for shape in shapes])


def test_areas_are_what_the_map_says() -> None:
    water = shapely.box(0, 0, 3000, 3000)
    offers, effort = _drifts(1, 80)
    areas = rate_areas(offers, effort, water, mean=0.6)
    for area in areas:
        inside = np.array([area.shape.representative_point().coords[0]])
        # The middle of its square.
        middle = (np.floor(inside / 50) + 0.5) * 50
        rates = rate_map(offers, effort, middle, mean=0.6)
        assert rates.hours[0] >= LEAST_HOURS
        assert area.sure == bool(rates.surely_above[0] or rates.surely_below[0])
        if area.kind == "above":
            assert rates.rate[0] > 0.6
        elif area.kind == "below":
            assert rates.rate[0] < 0.6
    best_first = [
        *(("above", True), ("above", False), ("about", False)),
        *(("below", False), ("below", True)),
    ]
    kinds = [(area.kind, area.sure) for area in areas]
    assert kinds == [kind for kind in best_first if kind in kinds]
    assert len(kinds) >= 3


def test_areas_of_nothing() -> None:
    water = shapely.box(0, 0, 500, 500)
    assert rate_areas(joined(), joined(), water, mean=0.4) == ()
    assert rate_areas(_spot(0), _spot(0.2), water, mean=0.4) == ()
    assert rate_areas(_spot(1), _spot(9), shapely.Polygon(), mean=0.4) == ()
