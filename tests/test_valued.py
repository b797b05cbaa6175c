"""Drifts valued by what they may meet: sums by hand, square by square."""

from math import exp

import numpy as np
import pytest
import shapely
from shapely import box

from search_made import pool
from sweptwater.plan.candidates import Candidates
from sweptwater.plan.planned import PlannedDrift
from sweptwater.plan.setups import WayToFish
from sweptwater.plan.valued import SCALE_M2, Again, after_drifts, valued
from sweptwater.search.belief import Belief

SPEED_M_S = 0.5
TOGETHER = 4.0


def way(search_m2_s: float) -> WayToFish:
    """Return how a layer is fished, so much a second by both rods."""
    return WayToFish("any", 3.0, 0.0, "out", SPEED_M_S, 1.0, True, search_m2_s)


def candidates(*waters: shapely.Polygon) -> Candidates:
    """Return drifts of 200 m, each sweeping some water that is its own."""
    drifts = tuple(
        PlannedDrift(
            np.array([[water.bounds[0], 0.0], [water.bounds[0], 200.0]]), "open"
        )
        for water in waters
    )
    swept = np.array(waters, dtype=object)
    new_m2 = shapely.area(swept)
    return Candidates(drifts, swept, new_m2, new_m2.copy())


def believed(
    west: float, east: float, layers: tuple[str, ...] = ("top", "deep")
) -> Belief:
    """Return a belief of so much in the west and in the east, a column a layer."""
    water = box(0, 0, 400, 400)
    squares = pool(water, {"A": water}, layers=layers)
    weight = np.where(squares.easting < 200, west, east) / len(squares)
    before = np.outer(weight, np.arange(len(layers)) + 1.0)
    return Belief(squares, before / before.sum(), np.zeros_like(before))


WEST, EAST = box(0, 0, 100, 400), box(300, 0, 400, 400)


def test_a_drift_is_worth_the_chance_that_it_meets_what_was_not_met() -> None:
    belief = believed(1.0, 1.0, layers=("all",))
    found = valued(candidates(WEST), belief, [way(6.0)], together=TOGETHER)
    # 400 s at 6 m2 a second, four times over, on a quarter of 160,000 m2.
    factor = TOGETHER * 400 * 6 / 40_000
    assert found.possible.worth == pytest.approx([SCALE_M2 * (1 - exp(-factor)) / 4])
    assert found.layers.tolist() == [[0, 0]]


def test_of_two_drifts_that_over_likelier_water_is_worth_more() -> None:
    belief = believed(3.0, 1.0)
    found = valued(candidates(WEST, EAST), belief, [way(6.0)] * 2, together=TOGETHER)
    one, other = found.possible.worth.tolist()
    assert one == pytest.approx(3 * other)


@pytest.mark.parametrize(
    ("rates", "together", "layers"),
    [
        # Twice as many fish lie deep: little searched, both rods go there.
        ((6.0, 6.0), 1.0, [1, 1]),
        # Much searched, a second rod adds less there than one at the top.
        ((6.0, 6.0), 60.0, [0, 1]),
        ((6.0, 0.1), 1.0, [0, 0]),
        ((0.1, 6.0), 1.0, [1, 1]),
    ],
)
def test_rods_take_the_layers_in_which_they_meet_most(
    rates: tuple[float, float], together: float, layers: list[int]
) -> None:
    ways = [way(rate) for rate in rates]
    found = valued(candidates(WEST), believed(1, 1), ways, together=together)
    assert found.layers.tolist() == [layers]


def test_water_that_drifts_searched_in_vain_is_worth_less() -> None:
    belief, possible = believed(1.0, 1.0), candidates(WEST, EAST)
    ways = [way(6.0)] * 2
    before = valued(possible, belief, ways, together=TOGETHER)
    after = after_drifts(
        belief, [WEST], [200.0], before.layers[:1].tolist(), ways, together=TOGETHER
    )
    # What it was worth is what is met: no fish that nobody met is left of it.
    met = float(before.possible.worth[0]) / SCALE_M2
    assert after.chance == pytest.approx(met)
    again = valued(possible, after, ways, together=TOGETHER)
    assert again.possible.worth[0] < before.possible.worth[0]
    assert again.possible.worth[1] == pytest.approx(before.possible.worth[1])


def test_a_find_is_tried_again_first_for_as_long_as_it_takes() -> None:
    beside = box(10, 0, 110, 400)
    possible = candidates(WEST, beside, EAST)
    find = Again(EAST, layer=1, seconds=300.0)
    plain, found = (
        valued(possible, believed(9, 1), [way(6.0)] * 2, together=TOGETHER, again=again)
        for again in ((), (find,))
    )
    assert found.possible.worth.argmax() == 2
    assert found.layers[2].tolist() == [1, 1]
    assert found.possible.worth[:2].tolist() == plain.possible.worth[:2].tolist()
    # One drift takes 400 s: a second over the same ground is only as it was.
    twice = valued(
        candidates(EAST, EAST),
        believed(9, 1),
        [way(6.0)] * 2,
        together=TOGETHER,
        again=(find,),
    )
    first, second = twice.possible.worth.tolist()
    assert first > second


def test_no_drifts_have_no_worth() -> None:
    none = Candidates((), np.array([], dtype=object), np.zeros(0), np.zeros(0))
    found = valued(none, believed(1, 1), [way(6.0)] * 2, together=1.0)
    assert found.layers.shape == (0, 2)
