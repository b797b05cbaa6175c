"""Dykes: hair-wide strips that make islands part of the shore, so that cuts end there.

A cut may go from bank to bank by way of islands. Where a dyke has one part of the water
on its one side and another on the other, it is itself a stretch of the cut; where both
sides are the same part's it is water again.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiLineString, Polygon

from sweptwater.water.faces import (
    NODE_M,
    Shapes,
    cut_faces,
    edge_middles,
    shortest_tree,
    strip_along,
)


@dataclass(frozen=True)
class Dykes:
    """Dykes of one water, and what is left of it.

    Parameters
    ----------
    water
        The water without the dykes, in one piece.
    strips
        The dykes.
    """

    water: Polygon
    strips: tuple[Polygon, ...] = ()


def dyke_nets(water: Polygon, cuts: MultiLineString) -> list[Dykes]:
    """Return ways to join islands to the shore, the first being none.

    The shore is the outer edge of the water but for earlier cuts.

    The others are the shortest tree that joins all islands to the shore and each other,
    and that part of it where dykes are shorter than their islands are wide.
    """
    isles = np.asarray(shapely.polygons(shapely.get_rings(water)[1:]))
    nets = [Dykes(water)]
    shore = _shore(water, cuts)
    if not len(isles) or shore.is_empty:
        return nets
    tree = shortest_tree(np.array([shore, *isles]))
    ways = np.array([way for _, way in tree], dtype=object)
    width_m = np.sqrt(shapely.area(isles))
    near = [True, *(shapely.length(ways) < width_m).tolist()]
    rooted = _rooted([parent for parent, _ in tree], near)
    for chosen in {tuple(rooted), (True,) * len(isles)}:
        if any(chosen):
            nets.append(_dyked(water, ways[list(chosen)]))
    return nets


def _shore(water: Polygon, cuts: MultiLineString) -> MultiLineString:
    xy = shapely.get_coordinates(water.exterior)
    edges = shapely.linestrings(np.stack([xy[:-1], xy[1:]], axis=1))
    on_cut = shapely.dwithin(edge_middles(xy), cuts, NODE_M)
    return MultiLineString(list(np.asarray(edges)[~on_cut]))


def _rooted(parents: list[int], near: list[bool]) -> list[bool]:
    """Return which pieces hang together with the first by near ways only."""

    def reaches(piece: int) -> bool:
        return piece == 0 or (near[piece] and reaches(parents[piece - 1]))

    return [reaches(piece) for piece in range(1, len(near))]


def _dyked(water: Polygon, ways: Shapes) -> Dykes:
    strips = np.array([strip_along(way) for way in ways])
    faces = cut_faces(water, [shapely.union_all(strips).boundary])
    largest = shapely.area(faces).argmax()
    return Dykes(faces[largest], tuple(np.delete(faces, largest)))
