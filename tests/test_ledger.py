"""Shares by sector, bank and boat, on water whose answers are plain."""

from datetime import date

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from sweptwater.frame import Frame
from sweptwater.practice.settings import BankRules
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import stack_drifts
from sweptwater.swept.ledger import (
    Fished,
    assign_banks,
    boat_lines,
    done_pieces,
    sector_lines,
)
from sweptwater.swept.pace import Pace, bank_pace, rest_of_banks
from sweptwater.swept.shore import bank_lines
from sweptwater.tracks.drifts import DayAfloat, Drift
from sweptwater.water.banks import lay_banks
from sweptwater.water.overlap import Known
from sweptwater.water.venue import Venue

LAKE = box(0, 0, 2000, 1000)
WEST, EAST = box(0, 0, 1000, 1000), box(1000, 0, 2000, 1000)
VENUE = Venue(Frame(0.0, 52.0), LAKE, Polygon(), ())
RULES = BankRules(stretch_m=500, water_m=100, piece_m=25)
DAY = date(2027, 6, 8)


def _boat(
    *swept: Polygon, pair: str = "Heron", day: date = DAY, start_s: float = 0.0
) -> BoatDay:
    drifts = tuple(
        Drift(start_s + np.array([0.0, 200.0]), np.array([0.0, 60.0]), np.zeros(2))
        for _ in swept
    )
    spent = 200.0 * len(swept)
    afloat = DayAfloat(
        drifts, (), start_s, start_s + 2 * spent, spent, spent, 0, 0, 0, 0, 1.0, 1.0
    )
    return BoatDay(pair, day, afloat, swept)


def _lines(*boats: BoatDay):  # type: ignore[no-untyped-def]
    sectors = {"A": WEST, "B": EAST}
    pieces = assign_banks(lay_banks(VENUE, RULES), sectors)
    stack = stack_drifts([shape for boat in boats for shape in boat.swept])
    done = done_pieces(pieces, stack.once)
    fished = Fished(boats, stack, done)
    lines = sector_lines(sectors, {"A": "Heron"}, fished, pieces, reset_s=240)
    days = {boat.day: boat.stack.once for boat in boats}
    swept = [shape for boat in boats for shape in boat.swept]
    return lines, bank_lines(pieces, done, stack.once, days, drifts=swept)


def test_nothing_fished_is_nought_everywhere() -> None:
    (west, east), banks = _lines()
    assert (west.sector, west.pair, east.pair) == ("A", "Heron", "")
    assert west.water_m2 == east.water_m2 == 1e6
    assert west.fished_share == west.bank_fished_m == 0
    assert west.drifts_over == {"1": 0, "2": 0, "3+": 0}
    assert west.bank_left_drifts is None
    assert west.bank_m + east.bank_m == pytest.approx(6000)
    assert all(bank.last_day is None for bank in banks)


def test_water_across_an_edge_is_shared_out() -> None:
    (west, east), _ = _lines(_boat(box(900, 400, 1300, 500)))
    assert west.fished_m2 == pytest.approx(10_000)
    assert east.fished_m2 == pytest.approx(30_000)
    assert east.fished_share == pytest.approx(0.03)


def test_two_drifts_over_the_same_water_count_two() -> None:
    (west, _), _ = _lines(_boat(box(0, 400, 100, 500), box(50, 400, 150, 500)))
    assert west.drifts_over == pytest.approx({"1": 10_000, "2": 5_000, "3+": 0})
    assert west.fished_m2 == pytest.approx(15_000)


def test_bank_is_done_where_half_the_water_before_it_is() -> None:
    """Half of 100 m out does it; 49 m does not."""
    enough, short = box(200, 0, 400, 51), box(1200, 0, 1400, 49)
    (west, east), banks = _lines(_boat(enough, short))
    assert west.bank_fished_m == pytest.approx(200, abs=26)
    assert east.bank_fished_m == 0
    assert sum(bank.done_m for bank in banks) == west.bank_fished_m
    touched = [bank for bank in banks if bank.last_day == DAY]
    assert {bank.sector for bank in touched} == {"A", "B"}


def test_a_bank_tells_its_last_day() -> None:
    later = date(2027, 6, 10)
    shape = box(0, 300, 60, 700)
    _, banks = _lines(_boat(shape), _boat(shape, day=later, pair="Teal"))
    assert {bank.last_day for bank in banks if bank.fished_m2 > 0} == {later}


def test_new_water_is_the_first_boats() -> None:
    first = _boat(box(0, 0, 100, 100), start_s=100)
    second = _boat(box(50, 0, 150, 100), pair="Teal", start_s=200)
    later = _boat(box(0, 0, 50, 50), day=date(2027, 6, 9))
    lines = boat_lines([later, second, first])
    assert [(line.day.day, line.pair) for line in lines] == [
        (8, "Heron"),
        (8, "Teal"),
        (9, "Heron"),
    ]
    assert [line.new_m2 for line in lines] == pytest.approx([10_000, 5_000, 0])
    assert [line.swept_m2 for line in lines] == pytest.approx([10_000, 10_000, 2_500])


def test_the_pace_counts_only_drifts_along_the_banks() -> None:
    near = box(0, 0, 2000, 100)
    boat = _boat(box(0, 0, 30, 120), box(40, 0, 70, 120), box(0, 400, 30, 500))
    assert bank_pace([boat], near) == Pace(2, 400.0)
    assert bank_pace([boat], Polygon()) == Pace(0, 0.0)


def test_what_is_left_at_a_pace_is_told_by_sector() -> None:
    """Three drifts did some 300 m of 3,000: the rest goes on like that."""
    rungs = [box(x, 0, x + 100, 90) for x in (200, 300, 400)]
    (west, _), _ = _lines(_boat(*rungs))
    done_m = west.bank_fished_m
    assert done_m == pytest.approx(300, abs=30)
    rest = rest_of_banks(Pace(3, 600.0), bank_m=west.bank_m, done_m=done_m, reset_s=240)
    assert rest is not None
    assert west.bank_left_drifts == rest.drifts
    assert rest.drifts == np.ceil((west.bank_m - done_m) * 3 / done_m)
    assert west.bank_left_s == pytest.approx(rest.drifts * (200 + 240))


def test_too_little_done_is_no_pace() -> None:
    (west, _), _ = _lines(_boat(box(200, 0, 252, 90), box(252, 0, 300, 90)))
    assert west.bank_fished_m > 0
    assert west.bank_left_drifts is None


def test_banks_in_no_sector_belong_to_none() -> None:
    pieces = assign_banks(lay_banks(VENUE, RULES), {"A": WEST})
    assert set(pieces.piece_sector) == {"A", None}


def test_pieces_of_shore_are_whole() -> None:
    pieces = assign_banks(lay_banks(VENUE, RULES), {"A": WEST, "B": EAST})
    assert pieces.piece_m.sum() == pytest.approx(LAKE.length)
    assert set(pieces.piece_sector) == {"A", "B"}
    water = shapely.union_all(list(pieces.piece_water))
    assert water.area == pytest.approx(
        LAKE.area - 1800 * 800, rel=2e-3
    )  # within 100 m of the shore


def test_a_bank_that_a_cast_only_touched_was_not_fished_that_day() -> None:
    _, banks = _lines(_boat(box(200, 0, 212, 20)))
    assert max(bank.fished_m2 for bank in banks) == pytest.approx(240)
    assert all(bank.last_day is None for bank in banks)


def test_new_water_is_right_where_a_shape_only_touches_the_next_tile() -> None:
    """A corner on the tiles' edge leaves lines and points beside the areas."""
    known = Known(side_m=100.0)
    touching = Polygon([(0, 0), (100, 0), (100, 50), (150, 50), (100, 60), (0, 100)])
    assert known.add(touching) == pytest.approx(touching.area, rel=1e-6)
    assert known.add(touching) == pytest.approx(0, abs=0.1)
    assert known.add(box(100, 0, 200, 100)) == pytest.approx(
        box(100, 0, 200, 100).difference(touching).area, rel=1e-4
    )


def test_drifts_over_a_bank_are_counted_one_by_one() -> None:
    # Two drifts along the middle of the south shore, and one that hardly touched it.
    long, brush = box(600, 0, 1400, 40), box(600, 80, 604, 84)
    # Half a metre of 500 m is half a hundredth of a bank's water.
    other, edge = box(0, 900, 200, 960), box(600, 99.5, 1400, 400)
    _, banks = _lines(_boat(long, long, brush, edge), _boat(other))
    for bank, line in zip(lay_banks(VENUE, RULES), banks, strict=True):
        assert line.drifts == sum(
            bank.water.intersection(shape).area > 0.01 * bank.water.area
            for shape in (long, long, brush, edge, other)
        )
        assert line.fished_share == line.fished_m2 / line.water_m2
        assert line.name == ""
    # Banks of 500 m: the long ones went over parts of two, the other over two.
    assert sorted((b.drifts for b in banks), reverse=True)[:4] == [2, 2, 1, 1]
