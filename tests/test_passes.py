"""What drifts searched, square by square: nothing is lost and nothing counted twice."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from search_made import HALVES, POOL, a_pass, pool, slope
from sweptwater.arrays import Floats
from sweptwater.practice.search import SearchRules
from sweptwater.search.passes import Pass, looks, pass_over, searched
from sweptwater.search.squares import Squares

ALONE = SearchRules(together=1)
"""Fish that lie alone: what is searched adds up."""

STRIP = box(100, 100, 900, 150)
"""40,000 m2, over 32 squares by 2."""

SQUARES = pool(POOL, HALVES, depths=slope())
"""Three layers, from 100 and from 300 m on."""


def factor(
    *passes: Pass,
    squares: Squares = SQUARES,
    rules: SearchRules = ALONE,
    left: Floats | None = None,
    sky: str | None = None,
    since_s: Floats | None = None,
) -> Floats:
    """Return the coverage factor of passes, fresh unless told otherwise."""
    over = pass_over(passes, squares)
    fresh = np.ones(len(passes)) if left is None else left
    return searched(over, squares, fresh, rules, sky=sky, since_s=since_s)


def sum_m2(found: Floats, squares: Squares = SQUARES) -> float:
    """Return how much was searched, overlaps counted again."""
    return float(found.sum() * squares.area_m2)


def test_no_passes_search_nothing() -> None:
    assert factor().shape == (1600, 3)
    assert not factor().any()
    assert not looks(pass_over((), SQUARES), SQUARES).any()


def test_one_strip_by_hand() -> None:
    # 16,000 of 40,000 m2: 0.4 over each of 64 squares, in the layer that was fished.
    found = factor(a_pass(STRIP, 16_000))
    assert (found > 0).sum() == 64
    assert found[found > 0] == pytest.approx(0.4)
    assert not found[:, 1:].any()
    assert factor(
        a_pass(STRIP, 16_000), rules=SearchRules(together=6)
    ) == pytest.approx(6 * found)


strips = st.builds(
    lambda x, y, w, h: box(x, y, x + w, y + h),
    st.floats(0, 900),
    st.floats(0, 900),
    st.floats(1, 100),
    st.floats(1, 100),
)
passes = st.lists(
    st.tuples(strips, st.floats(0, 1), st.sampled_from([None, 0, 1, 2])),
    min_size=1,
    max_size=6,
)


@given(passes)
def test_what_is_searched_is_neither_lost_nor_made(
    told: list[tuple[Polygon, float, int | None]],
) -> None:
    all_of_them = [
        a_pass(swept, part * swept.area, layer, drift=number)
        for number, (swept, part, layer) in enumerate(told)
    ]
    found = factor(*all_of_them)
    whole_m2 = sum(one.searched_m2 for one in all_of_them)
    assert sum_m2(found) == pytest.approx(whole_m2, rel=1e-9, abs=1e-6)
    assert not found[~SQUARES.there].any()
    # One drift more makes no water less searched.
    assert (found >= factor(*all_of_them[:-1]) - 1e-12).all()


def test_a_drift_too_short_for_any_square_is_in_the_nearest() -> None:
    spot = box(110, 110, 111, 111)  # between the middles at 87.5 and 112.5
    over = pass_over([a_pass(spot, 1.0)], SQUARES)
    assert over.part.tolist() == [1.0]
    (square,) = over.square.tolist()
    assert SQUARES.easting[square], SQUARES.northing[square] == (112.5, 112.5)
    assert sum_m2(factor(a_pass(spot, 1.0))) == pytest.approx(1.0)


def test_two_rods_in_one_layer_count_for_no_more_than_was_swept() -> None:
    bow, stern = (a_pass(STRIP, 30_000) for _ in range(2))
    assert sum_m2(factor(bow, stern)) == pytest.approx(STRIP.area)
    # In two layers, or on two drifts, each counts for all it searched.
    assert sum_m2(factor(bow, a_pass(STRIP, 30_000, 1))) == pytest.approx(60_000)
    again = a_pass(STRIP, 30_000, drift=2)
    assert sum_m2(factor(bow, again)) == pytest.approx(60_000)
    for other in ({"pair": "Grebe"}, {"day": date(2027, 6, 9)}):
        one_more = a_pass(STRIP, 30_000, **other)
        assert sum_m2(factor(bow, one_more)) == pytest.approx(60_000)
    # One rod alone reaches no more than the boat's water.
    assert sum_m2(factor(a_pass(STRIP, 90_000))) == pytest.approx(STRIP.area)


def test_an_unknown_layer_is_spread_over_those_there() -> None:
    found = factor(a_pass(STRIP, 16_000, None))
    assert found.sum(axis=1).max() == pytest.approx(0.4)
    swept = found.any(axis=1)
    for count in (2, 3):  # none of the strip has one layer: it begins at 100 m
        here = swept & (SQUARES.there.sum(axis=1) == count)
        assert here.any()
        assert found[here, :count] == pytest.approx(0.4 / count)
        assert not found[here, count:].any()


def test_a_fly_below_the_bed_lay_on_it() -> None:
    found = factor(a_pass(STRIP, 16_000, 2))
    swept, deep = found.any(axis=1), SQUARES.there[:, 2]
    assert found[swept & deep, 2] == pytest.approx(0.4)
    assert (swept & ~deep).any()
    assert found[swept & ~deep, 1] == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("more", "sky", "counts"),
    [
        ({}, None, 1.0),
        ({"told": False}, None, 0.3),
        ({}, "bright", 1.0),
        ({}, "dull", 0.6),
        ({"told": False}, "dull", 0.18),
    ],
)
def test_untold_and_other_light_count_as_set(
    more: dict[str, bool], sky: str | None, counts: float
) -> None:
    rules = SearchRules(together=1, not_told=0.3, other_light=0.6)
    found = factor(a_pass(STRIP, 16_000, **more), rules=rules, sky=sky)
    assert sum_m2(found) == pytest.approx(counts * 16_000)


def test_what_is_old_counts_for_what_is_left_of_it() -> None:
    both = a_pass(STRIP, 16_000), a_pass(STRIP, 16_000, drift=2)
    assert sum_m2(factor(*both, left=np.array([0.25, 1.0]))) == pytest.approx(20_000)


def test_stocking_voids_what_came_before() -> None:
    west = SQUARES.easting < 500
    since_s = np.where(west, 100.0, -np.inf)
    before, after = (a_pass(STRIP, 16_000, end_s=end_s) for end_s in (99.0, 100.0))
    found = factor(before, since_s=since_s)
    assert not found[west].any()
    assert sum_m2(found) == pytest.approx(8_000)
    assert sum_m2(factor(after, since_s=since_s)) == pytest.approx(16_000)


def test_looks_count_layers_and_lights() -> None:
    half = box(100, 100, 500, 150)
    over = [
        a_pass(STRIP, 1.0, 0),
        a_pass(STRIP, 1.0, 0, drift=2),  # once more the same way
        a_pass(half, 1.0, 1),
        a_pass(half, 1.0, 0, sky="dull"),
    ]
    seen = looks(pass_over(over, SQUARES), SQUARES)
    within = (SQUARES.northing > 100) & (SQUARES.northing < 150)
    east = SQUARES.easting
    assert set(seen[within & (east > 100) & (east < 500)].tolist()) == {3}
    assert set(seen[within & (east > 500) & (east < 900)].tolist()) == {1}
    assert not seen[~within].any()
