"""A map of rates from 100 boat-days on 14 km2: a place every 50 m, and its areas."""

import numpy as np
import shapely
from pytest_benchmark.fixture import BenchmarkFixture

from sweptwater.arrays import Floats
from sweptwater.offers.rate_areas import rate_areas
from sweptwater.offers.rate_map import Spots, rate_map

SIZE_M = np.array([4000.0, 3500])


def _season() -> tuple[Spots, Spots]:
    """Return offers and pieces of 2000 drifts, 60 pieces each."""
    rng = np.random.default_rng(0)
    starts = rng.uniform(0, SIZE_M, (2000, 1, 2))
    angle = rng.uniform(0, 2 * np.pi, (2000, 1))
    along = np.linspace(0, 600, 60)
    ways = np.stack([np.cos(angle) * along, np.sin(angle) * along], axis=-1)
    where = (starts + ways).reshape(-1, 2)
    hours = np.full(len(where), 1 / 60)
    found = rng.poisson(0.45 * hours).astype(float)
    easting, northing = where.T
    return Spots(easting, northing, found), Spots(easting, northing, hours)


def _places() -> Floats:
    columns, rows = (np.arange(0, size_m, 50) for size_m in SIZE_M)
    return np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)


def test_rates_about_each_place(benchmark: BenchmarkFixture) -> None:
    offers, effort = _season()
    places = _places()
    benchmark(lambda: rate_map(offers, effort, places, mean=0.45))


def test_water_by_its_rate(benchmark: BenchmarkFixture) -> None:
    offers, effort = _season()
    water = shapely.box(0, 0, *SIZE_M)
    benchmark(lambda: rate_areas(offers, effort, water, mean=0.45))
