"""Planning 3,500 acres for three pairs: drifts, order, ways, and the turns of the wind.

The bar is 20 s of processor time on a quiet machine, in whichever wind. Run with

    pytest tests/benchmarks/bench_plan.py -o addopts='' -s

SECONDS=0 drops the bar on a slow machine.
"""

import os
import resource
import time

import pytest

from outside import outside
from plan_made import FORCE_4, Waters, real_water
from sweptwater.offers.wind import Wind
from sweptwater.plan.candidates import possible_drifts
from sweptwater.plan.day import plan_day
from sweptwater.plan.turns import wind_turns
from sweptwater.units import ACRE_M2
from sweptwater.water.ways import Ways

COUNTS = os.environ.get("SECONDS", "1") == "1"
MOST_S = 20.0
MOST_MB = 600.0


def planned(waters: Waters, from_deg: float) -> dict[str, float]:
    """Plan the day of each pair; return what each part took, in seconds."""
    wind = Wind(from_deg, FORCE_4)
    lay, ways = waters.lay(wind), Ways(waters.venue.fishable)
    took = dict.fromkeys(("drifts", "day", "turns"), 0.0)
    for sector in waters.sectors:
        marks = [time.process_time()]
        possible = possible_drifts(
            lay, sector, waters.bands, waters.bank_water, waters.venue.fishable
        )
        marks.append(time.process_time())
        day = plan_day(
            possible, ways, waters.jetty, wind, lay.speed_m_s, waters.settings
        )
        assert day.stops
        marks.append(time.process_time())
        wind_turns(waters.lay, sector, waters.bands, ways, waters.jetty, wind.speed_m_s)
        marks.append(time.process_time())
        for part, begun, done in zip(took, marks, marks[1:], strict=False):
            took[part] += done - begun
    return took


@pytest.mark.parametrize("from_deg", [0.0, 225.0, 270.0])
def test_three_pairs_on_3500_acres(from_deg: float) -> None:
    outside("lakes")
    waters = real_water("nhd_lake_mendota", 14.16e6)
    assert waters.venue.fishable.area == pytest.approx(3500 * ACRE_M2, rel=1e-3)
    took = planned(waters, from_deg)
    total_s = sum(took.values())
    print(f"\nwind from {from_deg:.0f}: {total_s:.1f} s", end="")
    print(", ".join([""] + [f"{part} {s:.1f}" for part, s in took.items()]))
    if COUNTS:
        assert total_s < MOST_S


def test_what_it_holds_in_memory() -> None:
    outside("lakes")
    planned(real_water("nhd_lake_mendota", 14.16e6), 225.0)
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nmost memory of the process: {most_mb:.0f} MB")
    assert most_mb < MOST_MB
