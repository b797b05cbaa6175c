"""What memory adds to the recorded: sets against their areas, times against sums."""

from datetime import date

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from sweptwater.frame import Frame
from sweptwater.practice.settings import BankRules, Spread
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.ledger import assign_banks, done_pieces, from_memory
from sweptwater.swept.memory import (
    MemoryDay,
    Recalled,
    beyond,
    longest_free,
    memory_lines,
    part_of,
    recorded_spans,
    sweep_recalled,
    wet_parts,
    with_memory,
)
from sweptwater.tracks.drifts import DayAfloat, Drift
from sweptwater.water.banks import lay_banks
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Venue

boxes = st.builds(
    lambda x, y, w, h: box(x, y, x + w, y + h),
    *(st.integers(0, 40), st.integers(0, 40)),
    *(st.integers(1, 30), st.integers(1, 30)),
)
DAY = date(2027, 6, 8)
LAKE = box(0, 0, 2000, 1000)


def straight(start_s: float, end_s: float) -> Drift:
    return Drift(np.array([start_s, end_s]), np.array([0.0, 60.0]), np.zeros(2))


def way(start_s: float, end_s: float, *places: tuple[float, float]) -> Drift:
    easting, northing = np.transpose(places)
    return Drift(np.array([start_s, end_s]), easting, northing)


def remembered(*shapes: Polygon, day: date = DAY, pair: str = "Grebe") -> MemoryDay:
    drifts = (Recalled(straight(0, 600), shape, "a to b", 2) for shape in shapes)
    return MemoryDay(pair, day, tuple(drifts))


@given(st.lists(boxes, max_size=4), st.lists(boxes, max_size=4))
def test_recorded_and_remembered_are_all_that_was_swept(
    recorded: list[Polygon], told: list[Polygon]
) -> None:
    days = [remembered(shape, day=date(2027, 6, n + 1)) for n, shape in enumerate(told)]
    tracks = polygonal(shapely.union_all(recorded))
    memory = beyond(days, tracks)
    whole = shapely.union_all([*recorded, *told])
    assert tracks.area + memory.area == pytest.approx(whole.area)
    assert with_memory(tracks, memory).area == pytest.approx(whole.area)
    assert tracks.intersection(memory).area == pytest.approx(0)
    lines = memory_lines(days, recorded)
    assert sum(line.new_m2 for line in lines) == pytest.approx(memory.area, abs=1e-6)
    for line, shape in zip(lines, told, strict=True):
        assert line.swept_m2 == pytest.approx(shape.area)
        assert line.new_m2 <= line.swept_m2 + 1e-6


def test_lines_add_up_the_drifts_of_a_day() -> None:
    twice = remembered(box(0, 0, 60, 30), box(0, 0, 60, 30))
    (line,) = memory_lines([twice], [box(0, 0, 30, 30)])
    assert (line.drifts, line.drift_m, line.told_s) == (2, 120, 1200)
    assert (line.swept_m2, line.new_m2) == (1800, 900)
    assert beyond([twice], Polygon()).area == 1800


def boat(
    *spans: tuple[float, float], ends: tuple[float, float], unknown_s: float
) -> BoatDay:
    drifts = tuple(straight(*span) for span in spans)
    afloat = DayAfloat(drifts, (), *ends, 0, 0, 0, unknown_s, 0, 0, 1.0, 1.0)
    return BoatDay("Grebe", DAY, afloat, tuple(box(0, 0, 1, 1) for _ in drifts))


def total(spans: list[tuple[float, float]]) -> float:
    return sum(end_s - start_s for start_s, end_s in spans)


def test_a_record_without_holes_has_all_of_its_day() -> None:
    """Motoring for twenty minutes is no hole, nor is lunch."""
    day = boat(
        (0, 3000), (4200, 6000), (9600, 12_000), ends=(-300, 13_000), unknown_s=0
    )
    spans = recorded_spans(day)
    assert total(spans) == 13_300
    assert longest_free(0, 12_000, spans)[1] == 12_000
    assert longest_free(0, 12_000, spans)[0] == 12_000


def test_a_phone_that_was_dead_for_hours_leaves_a_hole_there_alone() -> None:
    """Dead from 3,100 to 12,900 s, and motoring for 11 minutes elsewhere."""
    day = boat(
        (0, 3000), (13_000, 15_000), (15_660, 17_000), ends=(0, 17_000), unknown_s=9800
    )
    free = longest_free(0, 17_000, recorded_spans(day))
    assert free == (3000, 13_000)
    assert total(recorded_spans(day)) == 17_000 - 10_000


def test_a_short_silence_is_no_hole() -> None:
    day = boat((0, 3000), (3500, 6000), ends=(0, 6000), unknown_s=400)
    assert total(recorded_spans(day)) == 6000


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_part_of_a_straight_drift_lies_on_it(one: float, other: float) -> None:
    whole = way(100, 200, (0, 0), (30, 40))
    start_s, end_s = (100 + 100 * share for share in sorted((one, other)))
    part = part_of(whole, start_s, end_s)
    assert part.length_m == pytest.approx((end_s - start_s) * 0.5, abs=1e-9)
    assert part.northing == pytest.approx(part.easting * 4 / 3)


def test_from_land_nothing_is_swept() -> None:
    spread = Spread()
    drift = way(0, 900, (-50, 50), (150, 50))
    swept = sweep_recalled(drift, spread, LAKE, LAKE)
    only_wet = way(0, 900, (0, 50), (150, 50))
    assert swept.area == pytest.approx(
        sweep_recalled(only_wet, spread, LAKE, LAKE).area, rel=1e-6
    )
    ashore = way(0, 900, (-90, 50), (-50, 50))
    assert sweep_recalled(ashore, spread, LAKE, LAKE).is_empty


def test_shore_that_is_done_only_with_both() -> None:
    """A recorded third of the water before it, and a remembered third."""
    venue = Venue(Frame(0.0, 52.0), LAKE, Polygon(), ())
    pieces = assign_banks(lay_banks(venue, BankRules(500, 100, 25)), {"A": LAKE})
    recorded, told = box(500, 0, 900, 34), box(500, 34, 900, 70)
    done = done_pieces(pieces, recorded)
    assert not done.any()
    more = from_memory(pieces, done, recorded, told)
    assert pieces.piece_m[more.done_of(pieces)].sum() == pytest.approx(400, abs=26)
    nothing = from_memory(pieces, done, recorded, Polygon())
    assert not nothing.done_of(pieces).any()


some_time = st.tuples(st.integers(0, 50), st.integers(0, 50)).map(
    lambda pair: (float(min(pair)), float(max(pair)))
)


@given(some_time, st.lists(some_time, max_size=5))
def test_the_longest_free_time(
    span: tuple[float, float], taken: list[tuple[float, float]]
) -> None:
    """Against shapely's own difference of boxes."""
    free = longest_free(*span, taken)
    whole = box(span[0], 0, span[1], 1)
    left = whole.difference(shapely.union_all([box(a, 0, b, 1) for a, b in taken]))
    parts = [part.area for part in shapely.get_parts(left)]
    assert free[1] - free[0] == pytest.approx(max(parts, default=0.0))
    assert span[0] <= free[0] <= free[1] <= span[1]
    assert box(free[0], 0, free[1], 1).difference(left).area == pytest.approx(0)


@given(st.lists(st.integers(0, 20), min_size=1, max_size=6, unique=True))
def test_wet_parts_are_in_order_and_whole(cuts: list[int]) -> None:
    line = LineString([(0, 0), (200, 50)])
    land = shapely.union_all([box(10 * x, -60, 10 * x + 5, 110) for x in cuts])
    water = polygonal(box(-50, -50, 250, 100).difference(land))
    parts = wet_parts(line, water)
    wet_m = line.intersection(water).length
    assert sum(part.length for part in parts) == pytest.approx(wet_m)
    starts = [line.project(Point(part.coords[0])) for part in parts]
    ends = [line.project(Point(part.coords[-1])) for part in parts]
    assert starts == sorted(starts)
    assert all(a < b for a, b in zip(starts, ends, strict=True))
