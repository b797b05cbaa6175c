"""The parts of an area that lie nearest to some places."""

from itertools import pairwise

import numpy as np
import shapely
from scipy.spatial import Voronoi

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.water.overlap import cut_tiles
from sweptwater.water.shapes import polygonal

TILE_M = 400.0


def parts_nearest(
    area: Area, places: Floats, owner: Ints, count: int
) -> tuple[Area, ...]:
    """Return the part of an area that lies nearest to the places of each owner.

    Parameters
    ----------
    area
        In metres.
    places, owner
        Places, shape (n, 2), and whose each is, from 0 up to `count`.

    Examples
    --------
    >>> places = np.array([(0.0, 0), (0, 10), (10, 0), (10, 10)])
    >>> owner = np.array([0, 1, 0, 1])
    >>> parts = parts_nearest(shapely.box(0, 0, 10, 10), places, owner, 2)
    >>> [part.bounds for part in parts]
    [(0.0, 0.0, 10.0, 5.0), (0.0, 5.0, 10.0, 10.0)]
    """
    places, first = np.unique(places, axis=0, return_index=True)
    owner = owner[first]
    whole = _united(_nearest_cells(places), owner, count)
    tiles = cut_tiles(area, TILE_M)
    cell, tile = shapely.STRtree(tiles).query(whole, predicate="intersects")
    return tuple(
        polygonal(part)
        for part in _united(shapely.intersection(whole[cell], tiles[tile]), cell, count)
    )


def _united(shapes: np.ndarray, owner: Ints, count: int) -> np.ndarray:
    """Return the union of each owner's shapes, empty of one who has none."""
    order = np.argsort(owner, kind="stable")
    bounds = np.searchsorted(owner[order], np.arange(count + 1))
    mine = [shapes[order[a:b]] for a, b in pairwise(bounds)]
    return np.array(
        [some[0] if len(some) == 1 else shapely.union_all(some) for some in mine],
        dtype=object,
    )


def _nearest_cells(places: Floats) -> np.ndarray:
    """Return for each place a polygon of what is nearest to it, far beyond them all.

    Qhull, because the cells of GEOS overlap where places lie along straight shores.
    """
    middle = places.mean(axis=0)
    far_m = 1000 + 10 * float(np.ptp(places, axis=0).max())
    angle = np.radians(np.arange(0, 360, 45))
    frame = far_m * np.column_stack([np.cos(angle), np.sin(angle)])
    diagram = Voronoi(np.vstack([places - middle, frame]))
    regions = [diagram.regions[i] for i in diagram.point_region[: len(places)]]
    corners = diagram.vertices[np.concatenate(regions).astype(np.int64)] + middle
    cell = np.repeat(np.arange(len(places)), [len(region) for region in regions])
    return np.asarray(shapely.convex_hull(shapely.multipoints(corners, indices=cell)))
