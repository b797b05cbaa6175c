"""Areas that many small shapes share with one large one, in one pass."""

from collections.abc import Sequence

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats


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
