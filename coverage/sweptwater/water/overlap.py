"""Areas that many small shapes share with one large one, in one pass."""

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.water.shapes import GRID_M, polygonal


class Overlay:
    """A large shape cut into tiles, so that small shapes meet only what is near.

    Parameters
    ----------
    shape
        In metres; may be empty.
    side_m
        The tiles' side.

    Examples
    --------
    >>> big = Overlay(shapely.box(0, 0, 1000, 1000))
    >>> big.areas_m2([shapely.box(-5, 0, 5, 10), shapely.box(-9, -9, -5, -5)]).tolist()
    [50.0, 0.0]
    """

    def __init__(self, shape: Area, side_m: float = 400.0) -> None:
        self.tiles = cut_tiles(shape, side_m)
        self._tree = shapely.STRtree(self.tiles)

    def areas_m2(self, shapes: Sequence[Area]) -> Floats:
        """Return the area that each of some shapes shares with the large one."""
        array = np.array(shapes, dtype=object)
        shape, tile = self._tree.query(array, predicate="intersects")
        shared = shapely.area(shapely.intersection(array[shape], self.tiles[tile]))
        total = np.bincount(shape, weights=shared, minlength=len(array))
        return total.astype(np.float64)


class Known:
    """Water that grows shape by shape, kept in tiles so that each touches but a few.

    Examples
    --------
    >>> known = Known()
    >>> known.add(shapely.box(0, 0, 10, 10)), known.add(shapely.box(5, 0, 15, 10))
    (100.0, 50.0)
    """

    def __init__(self, side_m: float = 400.0) -> None:
        self._side_m = side_m
        self._tiles: dict[tuple[int, int], BaseGeometry] = {}

    def add(self, shape: Area) -> float:
        """Add a shape in metres, and return the area of it that is new, in m2."""
        new_m2 = 0.0
        for key, part in self._parts(shape):
            before = self._tiles.get(key)
            after = (
                part
                if before is None
                else shapely.union(before, part, grid_size=GRID_M)
            )
            new_m2 += after.area - (0.0 if before is None else before.area)
            self._tiles[key] = after
        return max(0.0, new_m2)

    def _parts(self, shape: Area) -> Iterator[tuple[tuple[int, int], BaseGeometry]]:
        if shape.is_empty:
            return
        side_m = self._side_m
        west, south, east, north = (math.floor(edge / side_m) for edge in shape.bounds)
        for x in range(west, east + 1):
            for y in range(south, north + 1):
                tile = shapely.box(
                    x * side_m, y * side_m, (x + 1) * side_m, (y + 1) * side_m
                )
                part = polygonal(shapely.intersection(shape, tile))
                if part.area > 0:
                    yield (x, y), part


def uncovered(shape: Area, others: Iterable[Area]) -> Area:
    """Return what of a shape no other covers.

    Examples
    --------
    >>> left = uncovered(shapely.box(0, 0, 4, 1), [shapely.box(1, 0, 2, 1)])
    >>> left.area
    3.0
    """
    for other in others:
        if shape.is_empty:
            break
        if shape.intersects(other):
            shape = polygonal(shapely.difference(shape, other, grid_size=GRID_M))
    return shape


def cut_tiles(shape: Area, side_m: float) -> np.ndarray:
    """Return a shape cut up by a grid of squares; nothing, of an empty one."""
    if shape.is_empty:
        return np.array([], dtype=object)
    west, south, east, north = shape.bounds
    # Neighbours share their edge to the last bit, so that no hairline parts them.
    xs = west + side_m * np.arange(np.ceil((east - west) / side_m) + 1)
    ys = south + side_m * np.arange(np.ceil((north - south) / side_m) + 1)
    i, j = (k.ravel() for k in np.indices((len(xs) - 1, len(ys) - 1)))
    boxes = shapely.box(xs[i], ys[j], xs[i + 1], ys[j + 1])
    shapely.prepare(shape)
    boxes = boxes[shapely.intersects(shape, boxes)]
    return shapely.intersection(boxes, shape)
