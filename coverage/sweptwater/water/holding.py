"""Changing a division by hand: holding some cuts while the others are made again.

Cuts are numbered from 1, in the order in which the division has them.
"""

from collections.abc import Collection, Sequence

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.errors import SectorError
from sweptwater.water.faces import (
    NODE_M,
    STRIP_M,
    cut_faces,
    dissolve,
    join_faces,
    keep_areas,
    shared_edges,
)
from sweptwater.water.recutting import (
    assembled,
    index_of,
    overlap_m2,
    whole_water,
)
from sweptwater.water.sectors import (
    Division,
    check_shares,
    check_water,
    cuts_in_order,
    divide_by_area,
)


def redo_around(
    fishable: Area, division: Division, held: Collection[int], shares: Sequence[float]
) -> Division:
    """Hold some cuts and redo the others.

    The held cuts part the water into pieces. Each piece is divided anew, by area, among
    the sectors that were in it, their shares being kept in proportion to each other.
    The sectors keep their order; of those with equal shares each takes the place where
    it overlaps most with its old self. A held cut that parts the water only together
    with others, as at an island, is held as well; the sectors beside it may then be a
    hair (a centimetre's width along it) off their shares.

    Parameters
    ----------
    fishable
        The water that was divided, in metres.
    held
        The numbers of the cuts to hold, counting from 1.
    shares
        Weights of the sectors, in their order, in any unit.

    Raises
    ------
    SectorError
        If there is no such cut, if there is not one share for each sector, or if a
        cut cannot be held without another, or a piece not be divided.
    """
    check_water(fishable)
    weights = check_shares(shares)
    if len(weights) != len(division.sectors):
        raise SectorError(
            f"there are {len(weights)} shares for {len(division.sectors)} sectors: "
            "give one for each"
        )
    numbers = sorted(set(held))
    lines = [division.cuts[index_of(division, number)] for number in numbers]
    _check_ends_held(division, numbers)
    pieces, owners = _pieces(division, lines)
    sectors: list[Area] = list(division.sectors)
    cuts = list(lines)
    for piece, shape in enumerate(pieces):
        inside = np.flatnonzero(owners == piece).tolist()
        part = divide_by_area(
            shape,
            weights[inside].tolist(),
            shut=_walls(shape, lines),
            junctions=False,
        )
        cuts += [_drawn_on(cut, lines) for cut in part.cuts]
        for number, sector in zip(inside, part.sectors, strict=True):
            sectors[number] = sector
    # Shapes that lost a hair along a held cut get it back when all is put together.
    order = _matched(division.sectors, sectors, weights)
    sectors = [sectors[number] for number in order]
    return assembled(
        sectors,
        cuts_in_order(sectors, cuts),
        whole_water(division),
        f"with {_called(numbers)} held the others cannot be redone: hold those that "
        "go on from its ends as well, or none",
    )


def _check_ends_held(division: Division, held: Sequence[int]) -> None:
    """Refuse to hold a cut without the one that it ends on."""
    shore = whole_water(division).boundary
    for number in held:
        cut = division.cuts[number - 1]
        for end in (Point(cut.coords[0]), Point(cut.coords[-1])):
            if end.distance(shore) < STRIP_M:
                continue
            for other, beside in enumerate(division.cuts, 1):
                if other not in held and end.distance(beside) < STRIP_M:
                    raise SectorError(
                        f"cut {number} ends on cut {other}: hold cut {other} as well, "
                        "or neither"
                    )


def _called(numbers: Sequence[int]) -> str:
    return f"cut{'s' if len(numbers) > 1 else ''} " + ", ".join(map(str, numbers))


def _pieces(
    division: Division, lines: Sequence[LineString]
) -> tuple[tuple[Area, ...], Ints]:
    """Return the pieces into which lines part the water, and each sector's piece.

    A line that does not part it alone is left as a slit.
    """
    water = whole_water(division)
    faces = cut_faces(water, lines)
    main = overlap_m2(division.sectors, faces).argmax(axis=1)
    used = np.unique(main)
    owners = np.full(len(faces), -1)
    owners[used] = np.arange(len(used))
    owners = join_faces(faces, owners)
    edges = shapely.union_all(shared_edges(faces)[1])
    slits = [
        _slit(line)
        for line in lines
        if not line.interpolate(0.5, normalized=True).dwithin(edges, NODE_M)
    ]
    pieces = dissolve(faces, owners)
    if slits:
        pieces = tuple(_without(piece, shapely.union_all(slits)) for piece in pieces)
    return pieces, owners[main]


def _slit(line: LineString) -> Polygon:
    """Return a hair-wide strip along a line, and on beyond its ends."""
    xy = shapely.get_coordinates(line)
    for end, inner in ((0, 1), (-1, -2)):
        out = xy[end] - xy[inner]
        xy[end] += 10 * STRIP_M * out / np.hypot(*out)
    return LineString(xy).buffer(STRIP_M / 2, cap_style="flat", join_style="mitre")


def _without(piece: Area, slits: BaseGeometry) -> Area:
    parts = [shapely.get_parts(polygon - slits) for polygon in shapely.get_parts(piece)]
    # A crumb beside a slit is no water of its own.
    largest = [these[shapely.area(these).argmax()] for these in parts]
    return keep_areas(shapely.union_all(largest))


def _walls(piece: Area, lines: Sequence[LineString]) -> list[LineString]:
    """Return the lines, with the sides of their slits, that are near a piece."""
    near = [line for line in lines if line.dwithin(piece, STRIP_M)]
    return near + [LineString(_slit(line).exterior) for line in near]


def _drawn_on(cut: LineString, lines: Sequence[LineString]) -> LineString:
    """Return a cut with ends on the side of a line's slit drawn on to the line."""
    xy = shapely.get_coordinates(cut)
    for end in (0, -1):
        for line in lines:
            way = shapely.shortest_line(Point(xy[end]), line)
            if NODE_M < way.length < STRIP_M:
                xy[end] = shapely.get_coordinates(way)[1]
    return LineString(xy)


def _matched(old: Sequence[Area], new: Sequence[Area], weights: Floats) -> list[int]:
    """Return for each old sector the new one of its share that overlaps it most."""
    shared_m2 = overlap_m2(old, new)
    unlike = weights[:, None] != weights[None]
    shared_m2[unlike] = -shared_m2.sum() - 1
    return linear_sum_assignment(shared_m2, maximize=True)[1].tolist()
