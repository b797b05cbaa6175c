"""A boat-day of 28,800 fixes, from cleaned record to swept water.

The bar is 0.3 s, and a hundredth of what buffering the raw track takes: at one fix a
second the receiver's noise ties it into knots. Both are measured in one run; of the raw
track only an eighth is buffered, since its cost grows faster than its length.
"""

import time

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from shapely import LineString, box

from sweptwater.practice.settings import Rules, Spread
from sweptwater.swept.boats import sweep_day
from sweptwater.tracks.drifts import day_afloat
from sweptwater.tracks.record import Record, clean_record
from sweptwater_demo.scenario import DAYS
from tracks_made import NO_JETTY, Leg, Trip, trip, wander

WATER = box(-5_000, -5_000, 5_000, 5_000)


def _day(drifts: int = 16) -> tuple[Trip, Record]:
    legs = []
    for number in range(drifts):
        legs.append(Leg(1500, 0.3, 20 + 3 * number))
        legs.append(Leg(300, 1.5, 200 + 3 * number, fishing=False))
    way = trip(*legs)
    rng = np.random.default_rng(1)
    noise = wander(len(way.time_s), rng) + rng.normal(0, 0.4, (len(way.time_s), 2))
    places = np.column_stack([way.easting, way.northing]) + noise
    return way, clean_record(way.time_s, places[:, 0], places[:, 1])


def _swept_m2(record: Record) -> float:
    afloat = day_afloat(record, WATER, NO_JETTY, Rules())
    boat = sweep_day("Heron", DAYS[0], afloat, Spread(), WATER)
    return boat.stack.once.area


def test_a_boat_day_against_buffering_its_raw_track(
    benchmark: BenchmarkFixture,
) -> None:
    _, record = _day()
    assert len(record.time_s) >= 28_800
    assert benchmark(_swept_m2, record) > 0
    eighth = len(record.time_s) // 8
    raw = LineString(np.column_stack([record.easting, record.northing])[:eighth])
    began = time.perf_counter()
    raw.buffer(20, quad_segs=16)
    raw_s = 8 * (time.perf_counter() - began)
    assert benchmark.stats is not None
    ours_s = float(benchmark.stats.stats.median)
    benchmark.extra_info["raw buffer over ours"] = raw_s / ours_s
    print(f"\nours {ours_s:.3f} s, raw buffer over {raw_s:.1f} s")
    assert raw_s > 100 * ours_s


@pytest.mark.parametrize("drifts", [8, 16, 32])
def test_cost_grows_with_the_fixes(benchmark: BenchmarkFixture, drifts: int) -> None:
    _, record = _day(drifts)
    benchmark(_swept_m2, record)
    benchmark.extra_info["fixes"] = len(record.time_s)
