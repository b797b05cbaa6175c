"""Pieces of water that share noded edges: cut, who touches whom, join, dissolve."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.errors import SectorError

Shapes = npt.NDArray[np.object_]
"""An array of shapely geometries."""

STRIP_M = 0.02
"""Width of bridges that join unconnected water and of dykes that join islands."""

NODE_M = 1e-6
"""An end of a cut so near to an edge lies on it."""

CRUMB_M2 = 1e-4
"""What is smaller is a slip of rounding, not water."""


def cut_faces(water: Area, lines: Sequence[BaseGeometry]) -> Shapes:
    """Return the pieces into which lines cut the water, as polygons.

    Neighbours share their vertices exactly, so that dissolving leaves no slivers.
    Ends of lines that reach no bank and no other line cut nothing.
    """
    noded = shapely.union_all([water.boundary, *lines])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts([noded])))
    shapely.prepare(water)
    return np.asarray(faces[shapely.intersects(water, _inner_points(faces))])


def shared_edges(faces: Sequence[BaseGeometry] | Shapes) -> tuple[Ints, Shapes]:
    """Return the segments that two faces share.

    Returns
    -------
    pairs
        Shape (segments, 2): the numbers of the two faces, the smaller first.
    segments
        Shape (segments,): the shared segments, as lines.
    """
    edges, owner = _edges(faces)
    order = np.lexsort(edges.T)
    edges, owner = edges[order], owner[order]
    same = (edges[1:] == edges[:-1]).all(axis=1) & (owner[1:] != owner[:-1])
    pairs = np.sort(np.column_stack([owner[:-1][same], owner[1:][same]]), axis=1)
    return pairs, np.asarray(shapely.linestrings(edges[1:][same].reshape(-1, 2, 2)))


def join_faces(faces: Shapes, owners: Ints) -> Ints:
    """Return the owners once the faces of nobody (-1) have joined a neighbour.

    Each joins the owner with whom it shares most edge, the best placed first; those
    that touch nobody's edge go to the nearest owner.
    """
    owners = owners.copy()
    pairs, segments = shared_edges(faces)
    length_m = shapely.length(segments)
    both = np.concatenate([pairs, pairs[:, ::-1]])
    both_m = np.concatenate([length_m, length_m])
    edge_m = np.zeros((len(faces), owners.max() + 1))
    while (owners < 0).any():
        edge_m[:] = -1
        use = (owners[both[:, 0]] < 0) & (owners[both[:, 1]] >= 0)
        # Even an edge too short for numbers beats none, so that the loop ends.
        edge_m[both[use, 0], owners[both[use, 1]]] = 0
        np.add.at(edge_m, (both[use, 0], owners[both[use, 1]]), both_m[use])
        if not use.any():
            return _join_nearest(faces, owners)
        face, owner = np.unravel_index(edge_m.argmax(), edge_m.shape)
        owners[face] = owner
    return owners


def dissolve(faces: Shapes, owners: Ints) -> tuple[Area, ...]:
    """Return the union of the faces of each owner, 0 first."""
    return tuple(
        _tidy(shapely.coverage_union_all(faces[owners == owner]))
        for owner in range(int(owners.max()) + 1)
    )


def cuts_between(faces: Shapes, owners: Ints) -> tuple[LineString, ...]:
    """Return the lines between faces of different owners, bank to bank.

    Each lies between two owners only, and ends wherever it comes to the shore.
    """
    pairs, segments = shared_edges(faces)
    sides = np.sort(owners[pairs], axis=1)
    shore = _shore_vertices(faces)
    cuts: list[LineString] = []
    for one, other in np.unique(sides[sides[:, 0] != sides[:, 1]], axis=0):
        between = (sides == (one, other)).all(axis=1)
        merged = shapely.line_merge(MultiLineString(list(segments[between])))
        for line in shapely.get_parts(merged):
            cuts += _parted_at(line, shore)
    return tuple(cuts)


def _shore_vertices(faces: Shapes) -> set[tuple[float, float]]:
    """Return the vertices of the edges that one face alone has."""
    edges, _ = _edges(faces)
    unique, count = np.unique(edges, axis=0, return_counts=True)
    ends = unique[count == 1].reshape(-1, 2)
    return set(map(tuple, ends.tolist()))


def _parted_at(
    line: LineString, vertices: set[tuple[float, float]]
) -> list[LineString]:
    """Return the parts of a line between those of its vertices."""
    xy = [(x, y) for x, y, *_ in line.coords]
    stops = [
        index for index, vertex in enumerate(xy[1:-1], start=1) if vertex in vertices
    ]
    ends = [0, *stops, len(xy) - 1]
    return [LineString(xy[a : b + 1]) for a, b in pairwise(ends)]


def bridge_pieces(water: Area) -> Polygon:
    """Return the water with its unconnected pieces joined by the shortest bridges.

    The bridges, `STRIP_M` wide, form a tree: no piece is reached by two ways.

    Raises
    ------
    SectorError
        If a bridge does not hold, as at a spike of no width.
    """
    pieces = shapely.get_parts(water)
    pieces = pieces[np.argsort(-shapely.area(pieces), kind="stable")]
    joined = shapely.union_all(
        [*pieces, *(strip_along(way) for _, way in shortest_tree(pieces))]
    )
    parts = shapely.get_parts(joined)
    if len(parts) > 1:
        raise SectorError(
            "the water is in pieces that cannot be joined: look whether the outline "
            "and the zones out of bounds cross oddly, or draw the lines (--lines)"
        )
    return Polygon(parts[0])


def shortest_tree(pieces: Shapes) -> list[tuple[int, LineString]]:
    """Return the shortest lines that join all pieces to the first and each other.

    One a piece but the first: the piece that it joins to, and the line.
    """
    ways: list[tuple[int, LineString]] = [(0, LineString())] * len(pieces)
    nearest = np.zeros(len(pieces), dtype=np.int64)
    apart_m = shapely.distance(pieces, pieces[0])
    apart_m[0] = np.inf
    for _ in pieces[1:]:
        new = apart_m.argmin()
        parent = int(nearest[new])
        ways[new] = (parent, shapely.shortest_line(pieces[new], pieces[parent]))
        now_m = shapely.distance(pieces, pieces[new])
        nearest = np.where(now_m < apart_m, new, nearest)
        apart_m = np.where(np.isinf(apart_m), np.inf, np.minimum(apart_m, now_m))
        apart_m[new] = np.inf
    return ways[1:]


def distinct_nodes(xy: Floats) -> Floats:
    """Return the points but for those that are all but an earlier one."""
    kept = np.zeros((0, 2))
    for point in np.unique(xy, axis=0):
        if not len(kept) or np.hypot(*(kept - point).T).min() > NODE_M:
            kept = np.vstack([kept, point])
    return kept


def with_vertices(line: LineString, nodes: Floats) -> LineString:
    """Return the line with those of the nodes that lie on it as vertices.

    A vertex that is all but a node moves there.
    """
    points = np.asarray(shapely.points(nodes))
    near = shapely.dwithin(points, line, NODE_M)
    if not near.any():
        return line
    xy = shapely.get_coordinates(line)
    points, nodes = points[near], nodes[near]
    vertex, node = shapely.STRtree(points).query(
        shapely.points(xy), predicate="dwithin", distance=NODE_M
    )
    xy[vertex] = nodes[node]
    new = np.setdiff1d(np.arange(len(nodes)), node)
    edges = np.asarray(shapely.linestrings(np.stack([xy[:-1], xy[1:]], axis=1)))
    edge = shapely.STRtree(edges).nearest(points[new])
    along_m = shapely.line_locate_point(edges[edge], points[new])
    order = np.lexsort([along_m, edge])
    return LineString(np.insert(xy, edge[order] + 1, nodes[new][order], axis=0))


def area_with_vertices(area: Area, nodes: Floats) -> Area:
    """Return the area with those of the nodes that lie on its edge as vertices."""
    parts = [
        Polygon(*_rings_with_vertices(part, nodes)) for part in shapely.get_parts(area)
    ]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def _rings_with_vertices(
    polygon: Polygon, nodes: Floats
) -> tuple[LineString, list[LineString]]:
    outer, *inner = (
        with_vertices(LineString(ring), nodes)
        for ring in (polygon.exterior, *polygon.interiors)
    )
    return outer, inner


def edge_middles(xy: Floats) -> Shapes:
    """Return the middles of the edges between vertices, as points."""
    return np.asarray(shapely.points((xy[1:] + xy[:-1]) / 2))


def strip_along(way: LineString) -> Polygon:
    """Return a strip `STRIP_M` wide along a line and just beyond its ends."""
    return way.buffer(STRIP_M / 2, cap_style="square")


def keep_areas(shape: BaseGeometry) -> Area:
    """Return the polygons of a shape, without stray points, lines and crumbs."""
    parts = shapely.get_parts(shapely.get_parts([shape]))
    return _tidy(MultiPolygon(list(parts[shapely.area(parts) > CRUMB_M2])))


def _join_nearest(faces: Shapes, owners: Ints) -> Ints:
    owned = np.flatnonzero(owners >= 0)
    for face in np.flatnonzero(owners < 0):
        nearest = shapely.distance(faces[owned], faces[face]).argmin()
        owners[face] = owners[owned[nearest]]
    return owners


def _inner_points(faces: Shapes) -> Shapes:
    return np.asarray(shapely.point_on_surface(faces))


def _edges(faces: Sequence[BaseGeometry] | Shapes) -> tuple[Floats, Ints]:
    rings, face = shapely.get_rings(
        np.asarray(shapely.get_parts(faces, return_index=False)), return_index=True
    )
    part_face = shapely.get_parts(faces, return_index=True)[1]
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    inside = ring[1:] == ring[:-1]
    start, end = xy[:-1][inside], xy[1:][inside]
    swap = (start[:, 0] > end[:, 0]) | (
        (start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1])
    )
    start[swap], end[swap] = end[swap].copy(), start[swap].copy()
    owner = part_face[face[ring[:-1][inside]]]
    return np.hstack([start, end]), np.asarray(owner, dtype=np.int64)


def _tidy(area: BaseGeometry) -> Area:
    parts = shapely.get_parts(area)
    if len(parts) == 1:
        return Polygon(parts[0])
    return MultiPolygon(list(parts))
