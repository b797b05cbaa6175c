"""Totals by day and by pair, and whose water is whose: sets against their areas."""

from datetime import date

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from sweptwater.swept.ledger import BoatLine
from sweptwater.swept.totals import alone, day_lines, first_come, pair_lines

ONE, TWO = date(2027, 6, 8), date(2027, 6, 9)

boxes = st.builds(
    lambda x, y, w, h: box(x, y, x + w, y + h),
    *(st.integers(0, 40), st.integers(0, 40)),
    *(st.integers(1, 30), st.integers(1, 30)),
)


@given(st.lists(boxes, max_size=5))
def test_each_spot_is_the_first_ones(drawn: list[Polygon]) -> None:
    parts = first_come(dict(enumerate(drawn)))
    whole = shapely.union_all(drawn)
    assert sum(part.area for part in parts.values()) == pytest.approx(whole.area)
    for key, part in parts.items():
        before = shapely.union_all(drawn[:key])
        assert part.area == pytest.approx(drawn[key].difference(before).area)


@given(st.lists(boxes, max_size=5))
def test_water_is_ones_alone_or_several_peoples(drawn: list[Polygon]) -> None:
    parts, several = alone(dict(enumerate(drawn)))
    for key, part in parts.items():
        others = shapely.union_all([*drawn[:key], *drawn[key + 1 :]])
        assert part.area == pytest.approx(drawn[key].difference(others).area)
    # Inclusion and exclusion: what all of it is, less what is somebody's alone.
    whole = shapely.union_all(drawn).area
    assert several.area == pytest.approx(whole - sum(p.area for p in parts.values()))


def line(day: date, pair: str, **changed: float) -> BoatLine:
    values = dict.fromkeys(
        (
            *("start_s", "end_s", "fishing_s", "motoring_s", "ashore_s"),
            *(
                "unknown_s",
                "doubtful_s",
                "anchored_s",
                "drift_m",
                "drift_error",
                "swept_m2",
            ),
            "new_m2",
        ),
        0.0,
    )
    return BoatLine(day=day, pair=pair, drifts=1, **(values | changed))


def test_days_add_up() -> None:
    boats = [
        line(TWO, "Heron", fishing_s=60, new_m2=50),
        line(ONE, "Heron", fishing_s=100, new_m2=100),
        line(ONE, "Grebe", fishing_s=20, new_m2=20),
    ]
    swept = {TWO: box(50, 0, 150, 1), ONE: box(0, 0, 100, 1)}
    first, second = day_lines(boats, swept, water_m2=1000)
    assert (first.day, first.boats, first.drifts, first.fishing_s) == (ONE, 2, 2, 120)
    assert (first.swept_m2, first.new_m2, first.fished_share) == (100, 120, 0.1)
    assert (second.boats, second.fishing_s, second.new_m2) == (1, 60, 50)
    # Half of the second day's water was fished before.
    assert second.fished_share == pytest.approx(0.15)


def test_pairs_add_up() -> None:
    boats = [
        line(ONE, "Heron", fishing_s=100, drift_m=7),
        line(TWO, "Heron", fishing_s=60, drift_m=3),
        line(ONE, "Grebe", fishing_s=20),
    ]
    swept = {"Heron": box(0, 0, 10, 1), "Grebe": box(8, 0, 12, 1)}
    heron, grebe = pair_lines(boats, swept, alone(swept)[0])
    assert (heron.pair, heron.days, heron.drifts) == ("Heron", 2, 2)
    assert (heron.fishing_s, heron.drift_m) == (160, 10)
    assert (heron.swept_m2, heron.alone_m2) == (10, 8)
    assert (grebe.swept_m2, grebe.alone_m2) == (4, 2)
