"""Drifts over it: counted right however the stacks are merged."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from sweptwater.swept.layered import EMPTY, merge_stacks, stack_drifts

BOXES = st.lists(
    st.tuples(
        st.integers(0, 12), st.integers(0, 12), st.integers(1, 8), st.integers(1, 8)
    ),
    min_size=1,
    max_size=9,
)


@given(boxes=BOXES, cut=st.integers(0, 9))
@settings(max_examples=60, deadline=None)
def test_counts_are_those_of_every_cell(
    boxes: list[tuple[int, int, int, int]], cut: int
) -> None:
    """Boxes on whole numbers: count how many lie over each unit square."""
    over = np.zeros((20, 20), dtype=int)
    for x, y, width, height in boxes:
        over[x : x + width, y : y + height] += 1
    shapes = [box(x, y, x + w, y + h) for x, y, w, h in boxes]
    for stack in (
        stack_drifts(shapes),
        merge_stacks([stack_drifts(shapes[:cut]), stack_drifts(shapes[cut:])]),
    ):
        assert stack.once.area == pytest.approx((over >= 1).sum())
        assert stack.twice.area == pytest.approx((over >= 2).sum())
        assert stack.thrice.area == pytest.approx((over >= 3).sum())
        bands = {band: shape.area for band, shape in stack.bands.items()}
        assert bands["1"] == pytest.approx((over == 1).sum(), abs=1e-6)
        assert bands["2"] == pytest.approx((over == 2).sum(), abs=1e-6)
        assert bands["3+"] == pytest.approx((over >= 3).sum(), abs=1e-6)


def test_two_drifts_over_the_same_water_count_two() -> None:
    stack = stack_drifts([box(0, 0, 10, 10)] * 2)
    assert stack.twice.area == pytest.approx(100)
    assert stack.thrice.is_empty


def test_no_drifts_are_an_empty_stack() -> None:
    assert stack_drifts([]) == EMPTY
    assert merge_stacks([EMPTY, EMPTY]).once.is_empty


def test_shapes_that_touch_in_points_and_lines_keep_only_areas() -> None:
    stack = stack_drifts([box(0, 0, 1, 1), box(1, 0, 2, 1), box(2, 1, 3, 2)])
    assert stack.once.area == pytest.approx(3)
    assert stack.twice.is_empty
    assert all(p.geom_type == "Polygon" for p in shapely.get_parts(stack.once))
