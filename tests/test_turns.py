"""When the wind turns: a square pool by hand, whose sides look to the four winds."""

from collections.abc import Mapping

import numpy as np
import pytest
import shapely
from shapely import box

from plan_made import FORCE_4, near_lay, yards
from sweptwater.arrays import Area
from sweptwater.offers.wind import Wind
from sweptwater.plan.lay import Lay
from sweptwater.plan.turns import EIGHT_DEG, Turn, wind_turns
from sweptwater.water.shapes import polygonal
from sweptwater.water.ways import Ways

SIDE_M = 1200.0
POOL = box(0, 0, SIDE_M, SIDE_M)
NEAR_M, FAR_M = yards(20), yards(80)
# The band before each side, but for the corners: 1 north, 2 east, 3 south, 4 west.
INNER = (150.0, SIDE_M - 150)
BANDS: dict[int, Area] = {
    1: box(INNER[0], SIDE_M - FAR_M, INNER[1], SIDE_M - NEAR_M),
    2: box(SIDE_M - FAR_M, INNER[0], SIDE_M - NEAR_M, INNER[1]),
    3: box(INNER[0], NEAR_M, INNER[1], FAR_M),
    4: box(NEAR_M, INNER[0], FAR_M, INNER[1]),
}
JETTY = np.array([SIDE_M / 2, 0.0])


def lay_in(wind: Wind) -> Lay:
    return near_lay(POOL, wind)


def turns(bands: Mapping[int, Area], sector: Area = POOL) -> dict[float, Turn]:
    found = wind_turns(lay_in, sector, bands, Ways(POOL), JETTY, FORCE_4)
    return {turn.wind.from_deg: turn for turn in found}


ALL = turns(BANDS)


def test_eight_winds_as_strong_as_the_day_s() -> None:
    assert tuple(ALL) == EIGHT_DEG == (0, 45, 90, 135, 180, 225, 270, 315)
    assert {turn.wind.speed_m_s for turn in ALL.values()} == {FORCE_4}


@pytest.mark.parametrize(
    ("from_deg", "along", "across"),
    [
        (0, (2, 4), (1, 3)),
        (180, (2, 4), (1, 3)),
        (90, (1, 3), (2, 4)),
        (270, (1, 3), (2, 4)),
        (45, (), (1, 2, 3, 4)),
        (225, (), (1, 2, 3, 4)),
    ],
)
def test_along_and_across(
    from_deg: float, along: tuple[int, ...], across: tuple[int, ...]
) -> None:
    assert (ALL[from_deg].along, ALL[from_deg].across) == (along, across)


def test_the_longest_drift_is_along_a_bank() -> None:
    # 900 m, at 4.5 % of 6.7 m/s within the hour of the settings: one drift.
    turn = ALL[0]
    assert turn.longest_m == pytest.approx(900, abs=1)
    assert turn.longest_s == pytest.approx(900 / (0.045 * 6.7), rel=2e-3)
    # Aslant over 60 yards at 45 degrees; at the band's end a little less.
    assert ALL[45].longest_m == pytest.approx((FAR_M - NEAR_M) * np.sqrt(2), rel=0.05)


def test_the_run_home_from_the_furthest_end() -> None:
    # In a southerly drifts end up north; from there against the wind, at 4 mph.
    turn = ALL[180]
    least_m = SIDE_M - FAR_M
    most_m = float(np.hypot(SIDE_M / 2, SIDE_M))
    boat = lay_in(Wind(0, 1)).settings.boat
    assert least_m / boat.motoring_down_m_s < turn.home_s
    assert turn.home_s < most_m / boat.motoring_up_m_s
    # In a northerly they end in the south, and it is before the wind.
    assert ALL[0].home_s < turn.home_s


def test_only_the_pair_s_own_banks() -> None:
    north = box(0, SIDE_M / 2, SIDE_M, SIDE_M)
    mine = turns(BANDS, north)
    assert mine[0].across == (1,)
    assert mine[0].along == (2, 4)
    assert mine[0].longest_m == pytest.approx(450, abs=1)


def test_a_scrap_of_a_bank_is_nobody_s() -> None:
    scrap = polygonal(shapely.intersection(BANDS[1], box(0, 0, 152, SIDE_M)))
    assert scrap.area < 200
    assert turns({1: scrap})[0] == Turn(Wind(0, FORCE_4), (), (), 0.0, 0.0, 0.0)


def test_a_bank_too_narrow_to_be_drifted_is_left_out() -> None:
    # The band ends a cast short of the shore to which the wind blows: nothing remains.
    strip = {3: box(INNER[0], yards(8), INNER[1], yards(20))}
    turn = turns(strip)[0]
    assert (turn.along, turn.across, turn.home_s) == ((), (), 0.0)
