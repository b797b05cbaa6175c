"""Many boat-days as one: merged as a tree whose every branch is kept.

A branch is made of the first boat-days, as many as a power of two, and of the rest; so
that one boat-day more at the end leaves nearly all branches as they were.
"""

from collections.abc import Callable, Sequence

import shapely

from sweptwater.arrays import Area
from sweptwater.jobs.boats import Boats, Reader
from sweptwater.practice.cache import key_of
from sweptwater.practice.settings import Spread
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.layered import EMPTY, Stack, merge_stacks
from sweptwater.water.shapes import polygonal

Shapes = tuple[Area, ...]


def merged_stack(boats: Boats, chosen: Sequence[BoatDay]) -> Stack:
    """Return the water that boat-days swept once, twice and three times."""
    if not chosen:
        return EMPTY

    def leaf(index: int) -> Shapes:
        stack = chosen[index].stack
        return stack.once, stack.twice, stack.thrice

    def join(one: Shapes, other: Shapes) -> Shapes:
        stack = merge_stacks([Stack(*one), Stack(*other)])
        return stack.once, stack.twice, stack.thrice

    return Stack(*_tree(boats.reader, boats.keys_of(chosen), "stack", leaf, join))


def swept_with(boats: Boats, chosen: Sequence[BoatDay], spread: Spread) -> Area:
    """Return the water that boat-days would have swept with another cast spread."""
    shapes = [boats.reader.swept_with(boat, spread) for boat in chosen]
    return polygonal(shapely.union_all(shapes))


def _tree(
    reader: Reader,
    keys: Sequence[str],
    what: str,
    leaf: Callable[[int], Shapes],
    join: Callable[[Shapes, Shapes], Shapes],
) -> Shapes:
    """Return all leaves joined; what was joined before is taken as it was kept."""

    def branch(first: int, last: int) -> Shapes:
        if last - first == 1:
            return leaf(first)
        key = key_of(what, *keys[first:last])

        def make() -> Shapes:
            middle = first + (1 << (last - first - 1).bit_length() - 1)
            return join(branch(first, middle), branch(middle, last))

        return reader.shapes(key, make)

    return branch(0, len(keys))
