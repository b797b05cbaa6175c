"""How long our cuts are beside those of a connected minimum-cut partition.

Run it as ``python tests/benchmarks/cuts_table.py [--shares 1,1,1] [lakes...]``; the
lakes lie in ../shared/data/lakes (see INDEX.md there), each piece of a multipolygon
being judged by its largest polygon alone, since a partition of one graph needs it
connected. The partition is METIS's, through pymetis: Karypis & Kumar, Multilevel k-way
partitioning scheme for irregular graphs, J. Parallel Distrib. Comput. 48, 1998; k-way,
contiguous, 1 % imbalance (ufactor 10), the least cut of 20 seeds among those whose
parts are connected and balanced. It may be 1 % unequal and turns at each cell; ours is
equal and straight.

The grid has some 4,000 cells of water. Three judges:

plain
    Cells are those whose centre lies in the water, all alike; two are joined if the
    line between their centres lies in the water (so not across a spit or an island).
    The largest connected component is parted; what is not in it is "left". Cut: number
    of cut edges times the cell's side.
wet
    Each connected piece of water in a cell is a node of its own, weighted by its area,
    and joined to those beyond the cell's edges by the wet length of the common edge.
    Nothing is left away, and each partition is a true one of the water. Cut: the wet
    length cut.
straight
    The wet partition's cuts, each chain of edges between the same two parts
    straightened by Douglas and Peucker with a tolerance of one cell, so that stairs do
    not count. It may run over land then, and be shorter than any true cut.
"""

import argparse
import json
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pymetis
import pyogrio
import shapely
from pyproj import Transformer
from scipy import sparse
from shapely import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats, Ints
from sweptwater.frame import Frame
from sweptwater.units import ACRE_M2
from sweptwater.water.sectors import divide_by_area

LAKES = Path(__file__).resolve().parents[3] / "shared" / "data" / "lakes"
CELLS = 4000
SEEDS = 20
IMBALANCE = 0.01
UNITS = 1000
"""METIS weighs in whole numbers: thousandths of a cell's area or side."""


@dataclass(frozen=True)
class Graph:
    """Cells of water, and how they hang together.

    Parameters
    ----------
    cell_m
        The side of a cell.
    weight
        What each node weighs, whole numbers.
    edges
        Shape (edges, 2): the nodes joined.
    edge_m
        The length of each common edge.
    lines
        The common edges.
    left
        The share of the water that is in none of the nodes.
    """

    cell_m: float
    weight: Ints
    edges: Ints
    edge_m: Floats
    lines: Floats
    left: float


@dataclass(frozen=True)
class Cut:
    """The least cut of a graph: its length, and that of its straightened chains."""

    length_m: float
    straight_m: float


@dataclass(frozen=True)
class Row:
    """One water judged."""

    name: str
    acres: float
    islands: int
    ours_m: float
    seconds: float
    plain: Cut
    wet: Cut
    left: float


def names() -> list[str]:
    """Return the names of the real waters, in order; none where they are absent."""
    return [name for name, _ in waters()]


def waters(only: Sequence[str] = ()) -> Iterator[tuple[str, Polygon]]:
    """Yield the real waters, or those named, each in metres of its own frame."""
    for path in sorted(LAKES.glob("*.geojson")):
        items = json.loads(path.read_text(encoding="utf-8"))["features"]
        shapes = [shapely.from_geojson(json.dumps(item["geometry"])) for item in items]
        for number, shape in enumerate(shapes, 1):
            name = path.stem + (f"_{number}" if len(shapes) > 1 else "")
            if not only or name in only or path.stem in only:
                yield name, _in_metres(shapely.force_2d(shape))
    for path in sorted(LAKES.glob("*/*.shp")):
        if not only or path.stem in only:
            crs = pyogrio.read_info(path)["crs"]
            (shape,) = shapely.from_wkb(pyogrio.raw.read(path)[2])
            to_degrees = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
            feet = shapely.get_coordinates(shape)
            degrees = shapely.set_coordinates(
                shapely.force_2d(shape), np.column_stack(to_degrees.transform(*feet.T))
            )
            yield path.stem, _in_metres(degrees)


def _in_metres(shape: BaseGeometry) -> Polygon:
    parts = shapely.get_parts(shape)
    largest = parts[shapely.area(parts).argmax()]
    west, south, east, north = largest.bounds
    metres = Frame(lon=(west + east) / 2, lat=(south + north) / 2).metres(largest)
    assert isinstance(metres, Polygon)
    return metres


def plain_graph(water: Polygon) -> Graph:
    """Return the cells whose centre is in the water, alike, largest component only."""
    cell_m, x, y = _grid(water)
    columns, rows = (
        axis.ravel()
        for axis in np.meshgrid(np.arange(len(x) - 1), np.arange(len(y) - 1))
    )
    centre = np.column_stack([x[columns] + cell_m / 2, y[rows] + cell_m / 2])
    shapely.prepare(water)
    wet = shapely.contains_xy(water, centre)
    node = np.full((len(x), len(y)), -1)
    node[columns[wet], rows[wet]] = np.arange(wet.sum())
    pairs, lines = [], []
    for right, up in ((1, 0), (0, 1)):
        other = node[columns[wet] + right, rows[wet] + up]
        pairs.append(np.column_stack([np.arange(len(other)), other])[other >= 0])
        far = centre[wet][other >= 0] + cell_m / 2
        near = far - cell_m * np.array([up, right])
        lines.append(np.stack([near, far], axis=1))
    edges, edge_lines = np.vstack(pairs), np.concatenate(lines)
    between = np.asarray(shapely.linestrings(centre[wet][edges]))
    good = shapely.contains(water, between)
    edges, edge_lines = edges[good], edge_lines[good]
    count = int(wet.sum())
    parts = _components(count, edges)
    keep = parts == np.bincount(parts).argmax()
    number = np.cumsum(keep) - 1
    good = keep[edges[:, 0]]
    edges = number[edges[good]]
    left = 1 - float(keep.sum()) / count
    weight = np.ones(int(keep.sum()), dtype=np.int64)
    edge_m = np.full(len(edges), cell_m)
    return Graph(cell_m, weight, edges, edge_m, edge_lines[good], left)


def wet_graph(water: Polygon) -> Graph:
    """Return all pieces of water in the cells, joined by wet lengths."""
    cell_m, x, y = _grid(water)
    west, south = (axis.ravel() for axis in np.meshgrid(x[:-1], y[:-1]))
    cells = shapely.box(west, south, west + cell_m, south + cell_m)
    shapely.prepare(water)
    cells = cells[shapely.intersects(water, cells)]
    inside = shapely.contains(water, cells)
    cut = shapely.get_parts(shapely.get_parts(water & cells[~inside]))
    pieces = np.concatenate([cells[inside], cut])
    pieces = pieces[shapely.area(pieces) > 1e-6 * cell_m**2]
    edges, lines = _wet_edges(water, pieces, (x, y), cell_m)
    weight = np.maximum(np.rint(shapely.area(pieces) / cell_m**2 * UNITS), 1)
    edge_m = np.hypot(*(lines[:, 1] - lines[:, 0]).T)
    return Graph(cell_m, weight.astype(np.int64), edges, edge_m, lines, 0.0)


def _wet_edges(
    water: Polygon, pieces: np.ndarray, axes: tuple[Floats, Floats], cell_m: float
) -> tuple[Ints, Floats]:
    """Return which pieces share wet stretches of the cells' edges, and those."""
    x, y = axes
    corner = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    along_y = np.stack([corner[:, :-1], corner[:, 1:]], axis=2).reshape(-1, 2, 2)
    along_x = np.stack([corner[:-1], corner[1:]], axis=2).reshape(-1, 2, 2)
    tree = shapely.STRtree(pieces)
    pairs, lines = [], []
    for ends, beyond in ((along_y, (1, 0)), (along_x, (0, 1))):
        sides = np.asarray(shapely.linestrings(ends))
        sides = sides[shapely.intersects(water, sides)]
        wet = shapely.get_parts(shapely.line_merge(shapely.get_parts(water & sides)))
        wet = wet[shapely.length(wet) > 1e-6 * cell_m]
        middle = shapely.get_coordinates(
            shapely.line_interpolate_point(wet, 0.5, normalized=True)
        )
        owner = np.full((2, len(wet)), -1)
        for side, sign in enumerate((-1, 1)):
            points = shapely.points(middle + 1e-7 * sign * cell_m * np.array(beyond))
            which, piece = tree.query(points, predicate="intersects")
            owner[side, which] = piece
        good = (owner >= 0).all(axis=0)
        pairs.append(owner.T[good])
        coordinates = [line.coords for line in wet[good]]
        lines += [(line[0], line[-1]) for line in coordinates]
    return np.vstack(pairs), np.array(lines)


def least_cut(graph: Graph, shares: Sequence[float]) -> Cut:
    """Return the least cut of the connected, balanced partitions METIS finds."""
    count = len(graph.weight)
    edge_weight = np.maximum(np.rint(graph.edge_m / graph.cell_m * UNITS), 1)
    matrix = sparse.coo_array(
        (
            np.tile(edge_weight, 2),
            (graph.edges.T.ravel(), graph.edges[:, ::-1].T.ravel()),
        ),
        shape=(count, count),
    ).tocsr()
    want = np.asarray(shares) / np.sum(shares)
    best = Cut(np.inf, np.inf)
    for seed in range(SEEDS):
        _, part = pymetis.part_graph(
            len(shares),
            pymetis.CSRAdjacency(matrix.indptr.tolist(), matrix.indices.tolist()),
            vweights=graph.weight.tolist(),
            eweights=matrix.data.astype(np.int64).tolist(),
            tpwgts=want.tolist(),
            recursive=False,
            options=pymetis.Options(
                seed=seed, ufactor=round(1000 * IMBALANCE), contig=1
            ),
        )
        owner = np.asarray(part)
        cut = owner[graph.edges[:, 0]] != owner[graph.edges[:, 1]]
        length_m = float(graph.edge_m[cut].sum())
        if length_m < best.length_m and holds(graph, owner, want):
            best = Cut(length_m, _straight_m(graph, owner))
    return best


def holds(graph: Graph, owner: Ints, want: Floats) -> bool:
    """Tell whether the parts are connected and none too big."""
    got = np.bincount(owner, graph.weight, len(want)) / graph.weight.sum()
    # One node more than the bound is the grid's grain, not a fault.
    grain = graph.weight.max() / graph.weight.sum()
    within = graph.edges[owner[graph.edges[:, 0]] == owner[graph.edges[:, 1]]]
    pieces = _components(len(owner), within).max() + 1
    return bool((got <= want * (1 + IMBALANCE) + grain).all() and pieces == len(want))


def _straight_m(graph: Graph, owner: Ints) -> float:
    sides = np.sort(owner[graph.edges], axis=1)
    total_m = 0.0
    for one, two in np.unique(sides[sides[:, 0] != sides[:, 1]], axis=0):
        lines = graph.lines[(sides == (one, two)).all(axis=1)]
        chains = shapely.line_merge(MultiLineString(list(np.round(lines, 6))))
        total_m += shapely.simplify(chains, graph.cell_m).length
    return total_m


def _grid(water: Polygon) -> tuple[float, Floats, Floats]:
    """Return the side of a cell and the grid's lines, in x and y."""
    cell_m = np.sqrt(water.area / CELLS)
    west, south, east, north = water.bounds
    # Half a cell beyond, for water that is a whole number of cells wide.
    x = west - cell_m / 2 + cell_m * np.arange(np.ceil((east - west) / cell_m) + 2)
    y = south - cell_m / 2 + cell_m * np.arange(np.ceil((north - south) / cell_m) + 2)
    return float(cell_m), x, y


def _components(count: int, edges: Ints) -> Ints:
    joined = sparse.coo_array(
        (np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(count, count)
    )
    return sparse.csgraph.connected_components(joined, directed=False)[1].astype(int)


def judge(name: str, water: Polygon, shares: Sequence[float]) -> Row:
    """Return our cut and the partitions' of one water."""
    began = time.process_time()
    division = divide_by_area(water, shares)
    seconds = time.process_time() - began
    plain = plain_graph(water)
    return Row(
        name=name,
        acres=water.area / ACRE_M2,
        islands=len(water.interiors),
        ours_m=sum(cut.length for cut in division.cuts),
        seconds=seconds,
        plain=least_cut(plain, shares),
        wet=least_cut(wet_graph(water), shares),
        left=plain.left,
    )


HEAD = (
    f"{'water':34}{'acres':>9}{'isles':>6}{'ours m':>9}{'plain':>9}{'ratio':>7}"
    f"{'wet':>9}{'ratio':>7}{'straight':>9}{'ratio':>7}{'left':>7}{'time s':>8}"
)


def line(row: Row) -> str:
    """Return a row of the table."""
    told = f"{row.name:34}{row.acres:9,.1f}{row.islands:6}{row.ours_m:9,.0f}"
    for cut_m in (row.plain.length_m, row.wet.length_m, row.wet.straight_m):
        told += f"{cut_m:9,.0f}{row.ours_m / cut_m:7.3f}"
    return told + f"{row.left:7.1%}{row.seconds:8.2f}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--shares", default="1,1,1")
    parser.add_argument("lakes", nargs="*")
    asked = parser.parse_args()
    print(f"shares {asked.shares}\n{HEAD}")
    for name, water in waters(asked.lakes):
        shares = [float(share) for share in asked.shares.split(",")]
        print(line(judge(name, water, shares)), flush=True)


if __name__ == "__main__":
    main()
