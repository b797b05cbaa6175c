"""Fast drifts and slow engines, told apart by how the boat came to its speed."""

import numpy as np
import pytest

from sweptwater.arrays import Floats
from sweptwater.practice.settings import Rules
from sweptwater.tracks.anchor import at_anchor
from sweptwater.tracks.courses import downwind, gusts, leaving
from sweptwater.tracks.smooth import Path

RULES = Rules()
CUT_M_S = 1.0


def _path(east_m_s: Floats) -> Path:
    """Return a path along one line, a fix a second, with these speeds eastward."""
    count = len(east_m_s)
    nothing, stretch = np.zeros(count), np.zeros(count, dtype=np.int64)
    time_s = np.arange(float(count))
    return Path(time_s, np.cumsum(east_m_s), nothing, east_m_s, nothing, stretch, 1.0)


def _speeds(*parts: tuple[int, float]) -> Floats:
    return np.concatenate([np.full(seconds, m_s) for seconds, m_s in parts])


def test_a_gust_within_a_drift_is_fishing() -> None:
    speed = _speeds((300, 0.85), (30, 1.15), (300, 0.85))
    motoring = speed > CUT_M_S
    gusty = gusts(~motoring, motoring, _path(speed), CUT_M_S)
    assert np.array_equal(gusty, motoring)


@pytest.mark.parametrize("after", [(20, 0.2), (20, 0.0)])
def test_a_boat_that_stops_to_drift_had_its_engine_on(after: tuple[int, float]) -> None:
    speed = _speeds((60, 1.05), after, (300, 0.85))
    motoring = speed > CUT_M_S
    assert not gusts(~motoring, motoring, _path(speed), CUT_M_S).any()


@pytest.mark.parametrize(("engine_m_s", "drift_m_s"), [(1.3, 0.85), (1.2, 0.4)])
def test_an_engine_is_no_gust(engine_m_s: float, drift_m_s: float) -> None:
    """Too much faster, or the drifts so slow that no gust gets over the cut."""
    speed = _speeds((300, drift_m_s), (60, engine_m_s), (300, drift_m_s))
    motoring = speed > CUT_M_S
    assert not gusts(~motoring, motoring, _path(speed), CUT_M_S).any()


@pytest.mark.parametrize(
    ("fast_m_s", "came_back", "found"),
    [(0.95, False, True), (1.2, True, True), (1.2, False, False), (1.6, True, False)],
)
def test_a_whole_drift_over_the_cut_may_be_one(
    fast_m_s: float, came_back: bool, found: bool
) -> None:
    """Hardly faster than the others; or somewhat, straight after a way upwind."""
    way_m_s = -1.4 if came_back else 1.4
    speed = _speeds((400, 0.8), (60, way_m_s), (200, fast_m_s), (60, 1.4), (400, 0.8))
    fishing = np.repeat([True, False, True], [400, 320, 400])
    off = np.where(speed < 0, 180.0, 0.0)
    marked = downwind(fishing, ~fishing, off, _path(speed), RULES)
    assert marked[460:660].all() == found
    assert not marked[:460].any()
    assert not marked[660:].any()


@pytest.mark.parametrize(("out_m_s", "found"), [(1.2, True), (0.9, False)])
def test_a_boat_leaves_the_shore_under_engine(out_m_s: float, found: bool) -> None:
    """The drifts go at 0.8 m/s, and hardly one of them starts ashore."""
    speed = _speeds((300, 0.0), (10, 0.5), (100, out_m_s), (5, 0.1), (600, 0.8))
    ashore = np.arange(len(speed)) < 300
    marked = leaving(~ashore, ashore, _path(speed), RULES)
    assert marked[300:410].all() == found
    assert not marked[410:].any()


@pytest.mark.parametrize(("near_m_s", "spells"), [(0.06, 0), (0.0, 1)])
def test_slow_time_in_a_slow_drift_is_no_anchoring(
    near_m_s: float, spells: int
) -> None:
    speed = _speeds((300, 0.06), (350, near_m_s), (300, 0.06))
    still = np.repeat([False, True, False], [300, 350, 300])
    assert len(at_anchor(_path(speed), still, 0, len(speed))) == spells
