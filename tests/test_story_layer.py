"""The wrong layer: a bank three times over in bright sun, and only its top was fished.

Right is: "top: done; below 8 ft: never", near the head of tomorrow's list.
"""

import numpy as np
import pytest
import shapely

from sweptwater.units import FOOT_M
from sweptwater_demo.mile import MILE_FRAME
from sweptwater_demo.sky import INVENTED
from sweptwater_demo.story_bank import DEEP_M, BankStory, story_bank


@pytest.fixture(scope="module")
def told() -> BankStory:
    return story_bank()


def test_the_bank_was_drifted_three_times_over_the_same_water(told: BankStory) -> None:
    truth = told.story.truth
    assert len(truth.drifts) == 3
    for drift in truth.drifts:
        speed_m_s = drift.length_m / (drift.end_s - drift.start_s)
        assert speed_m_s == pytest.approx(0.4, rel=0.03)
    lanes = [shapely.LineString(truth.path[rows]) for rows in truth.drift_rows()]
    for lane in lanes:
        off_m = shapely.distance(told.story.bank, shapely.points(lane.coords))
        assert 18 < off_m.min() <= off_m.max() < 73  # in the boat band: 20 to 80 yd
    # Over the same water: lanes side by side within a cast of each other all along.
    assert max(shapely.hausdorff_distance(lane, lanes[0]) for lane in lanes) < 22
    assert shapely.covers(told.story.water, shapely.LineString(truth.path))


def test_the_water_there_is_22_ft_deep(told: BankStory) -> None:
    assert pytest.approx(22 * FOOT_M) == DEEP_M
    found = told.soundings
    places = np.column_stack(MILE_FRAME.to_metres(found.lon, found.lat))
    off_m = shapely.distance(told.story.bank, shapely.points(places))
    assert found.depth_m[off_m > 10] == pytest.approx(22 * FOOT_M, abs=0.01)
    assert found.depth_m.min() > 0
    assert shapely.contains_xy(told.story.water, *places.T).all()


def test_it_was_blank_on_floating_lines_in_bright_sun(told: BankStory) -> None:
    assert [(row.drift, row.rod) for row in told.rows] == [
        (number, rod) for number in (1, 2, 3) for rod in ("bow", "stern")
    ]
    for row in told.rows:
        assert (row.told, row.counts.offers) == ("blank", 0)
        assert (row.setup.line, row.setup.sink_in_s) == ("floating", 0)
        assert INVENTED in row.note
    (sky,) = [note for note in told.notes if note.kind == "sky"]
    assert sky.value == "bright"
    assert sky.at is not None
    assert told.rows[0].start is not None
    assert sky.at < told.rows[0].start
