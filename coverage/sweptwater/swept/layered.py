"""How many drifts went over each spot.

A stack keeps the shapes swept at least once, twice and three times. Two stacks merge
to one, so that many boat-days are counted as a tree, pairwise, and the cost stays
near that of one plain union.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.water.shapes import GRID_M, polygonal


@dataclass(frozen=True, slots=True)
class Stack:
    """Water swept at least once, at least twice, and three times or more, in metres."""

    once: Area
    twice: Area
    thrice: Area

    @property
    def bands(self) -> dict[str, Area]:
        """The water that just one, just two, and three or more drifts swept."""
        return {
            "1": _less(self.once, self.twice),
            "2": _less(self.twice, self.thrice),
            "3+": self.thrice,
        }


EMPTY = Stack(Polygon(), Polygon(), Polygon())


def stack_drifts(shapes: Sequence[Area]) -> Stack:
    """Return the stack of the shapes that drifts swept, each counted once.

    Examples
    --------
    >>> stack = stack_drifts([shapely.box(0, 0, 2, 1), shapely.box(1, 0, 3, 1)])
    >>> stack.once.area, stack.twice.area, stack.thrice.area
    (3.0, 1.0, 0.0)
    """
    return merge_stacks([Stack(shape, Polygon(), Polygon()) for shape in shapes])


def merge_stacks(stacks: Sequence[Stack]) -> Stack:
    """Return the stack of all drifts of several."""
    level = [stack for stack in stacks if not stack.once.is_empty]
    if not level:
        return EMPTY
    while len(level) > 1:
        pairs = [_merged(*level[i : i + 2]) for i in range(0, len(level) - 1, 2)]
        level = pairs + level[2 * len(pairs) :]
    return level[0]


def _merged(a: Stack, b: Stack) -> Stack:
    if not a.once.intersects(b.once):
        return Stack(
            _union(a.once, b.once), _union(a.twice, b.twice), _union(a.thrice, b.thrice)
        )
    return Stack(
        _union(a.once, b.once),
        _union(a.twice, b.twice, _both(a.once, b.once)),
        _union(a.thrice, b.thrice, _both(a.twice, b.once), _both(a.once, b.twice)),
    )


def _both(a: Area, b: Area) -> BaseGeometry:
    if a.is_empty or b.is_empty:
        return Polygon()
    return shapely.intersection(a, b, grid_size=GRID_M)


def _less(a: Area, b: Area) -> Area:
    if b.is_empty:
        return a
    return polygonal(shapely.difference(a, b, grid_size=GRID_M))


def _union(*shapes: BaseGeometry) -> Area:
    filled = [shape for shape in shapes if not shape.is_empty]
    if len(filled) < 2:
        return polygonal(filled[0]) if filled else Polygon()
    return polygonal(shapely.union_all(filled, grid_size=GRID_M))
