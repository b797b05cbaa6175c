"""Planned against done, on strips and on drifts that went off their line."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from sweptwater.arrays import Area
from sweptwater.plan.done import FISHED, PARTLY, Done, done_drifts
from sweptwater.practice.settings import Spread
from sweptwater.swept.spread import sweep_drift
from sweptwater.tracks.drifts import Drift
from sweptwater.units import YARD_M

FAN = Spread()


def swept(course_deg: float, length_yd: float, side_yd: float = 0.0) -> Area:
    """Return what a drift sweeps in a wind that blows to the north."""
    angle, length_m = np.radians(course_deg), length_yd * YARD_M
    east = side_yd * YARD_M + np.array([0, length_m * np.sin(angle)])
    drift = Drift(np.array([0.0, 600]), east, np.array([0, length_m * np.cos(angle)]))
    return sweep_drift(drift, FAN, downwind_deg=0.0)


@pytest.mark.parametrize(
    ("share", "verdict"),
    [
        (1, "fished"),
        (0.61, "fished"),
        (0.59, "partly"),
        (0.16, "partly"),
        (0.14, "not"),
    ],
)
def test_by_the_share_that_was_swept(share: float, verdict: str) -> None:
    (done,) = done_drifts([box(0, 0, 30, 100)], box(-50, -50, 80, 100 * share))
    assert done.verdict == verdict
    assert done.share == pytest.approx(share)
    assert (FISHED, PARTLY) == (0.6, 0.15)


@pytest.mark.parametrize("none", [Polygon(), MultiPolygon(), box(90, 90, 99, 99)])
def test_nothing_was_swept(none: Polygon) -> None:
    assert done_drifts([box(0, 0, 30, 100)], none) == (Done(0.0, "not"),)


def test_what_sweeps_nothing_was_not_fished() -> None:
    assert done_drifts([Polygon()], box(0, 0, 1, 1)) == (Done(0.0, "not"),)
    assert done_drifts([], box(0, 0, 1, 1)) == ()


def test_touching_is_not_fishing() -> None:
    assert done_drifts([box(0, 0, 30, 100)], box(30, 0, 60, 100))[0].verdict == "not"


@pytest.mark.parametrize(
    ("course_deg", "length_yd", "verdict"),
    [
        (0, 60, "fished"),
        (7, 60, "fished"),  # a ladder's drift that went off by what is usual
        (15, 60, "fished"),
        (5, 200, "fished"),
        (10, 200, "partly"),  # half of it, as the module says
        (20, 200, "partly"),
        (180, 200, "not"),  # the wrong way
    ],
)
def test_off_the_line(course_deg: float, length_yd: float, verdict: str) -> None:
    (done,) = done_drifts([swept(0, length_yd)], swept(course_deg, length_yd))
    assert done.verdict == verdict


def test_off_by_ten_degrees_over_200_yards_still_half() -> None:
    (done,) = done_drifts([swept(0, 200)], swept(10, 200))
    assert done.share == pytest.approx(0.5, abs=0.06)


def test_the_lane_beside_is_another_one() -> None:
    planned = [swept(0, 60, side_yd=30 * lane) for lane in range(3)]
    verdicts = [done.verdict for done in done_drifts(planned, swept(0, 60, side_yd=30))]
    assert verdicts[1] == "fished"
    assert "fished" not in (verdicts[0], verdicts[2])


@given(st.floats(0, 1), st.floats(0, 1))
def test_more_swept_is_never_less_done(one: float, other: float) -> None:
    less, more = sorted((one, other))
    plan = [box(0, 0, 30, 100)]
    shares = [done_drifts(plan, box(0, 0, 30, 100 * s))[0].share for s in (less, more)]
    assert shares[0] <= shares[1] + 1e-12
