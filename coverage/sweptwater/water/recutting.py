"""Changing a division by hand: moving one end of a cut, or holding some cuts.

Cuts are numbered from 1, in the order in which the division has them.
"""

from collections.abc import Collection, Sequence

import numpy as np
import shapely
import shapely.ops
from scipy.optimize import linear_sum_assignment
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.errors import SectorError
from sweptwater.water.chords import TRIM_M
from sweptwater.water.faces import (
    NODE_M,
    STRIP_M,
    Shapes,
    area_with_vertices,
    cut_faces,
    cuts_between,
    dissolve,
    distinct_nodes,
    join_faces,
    keep_areas,
    shared_edges,
    with_vertices,
)
from sweptwater.water.sectors import (
    Division,
    check_shares,
    check_water,
    cuts_in_order,
    divide_by_area,
)

ON_LINE_M = 1e-3
"""An end of a cut so near to the shore or to another cut ends there."""


def find_cuts(sectors: Sequence[Area]) -> tuple[LineString, ...]:
    """Return the cuts between sectors that share their edges vertex by vertex.

    They come in the order of the sectors that they part.

    Examples
    --------
    >>> halves = [shapely.box(0, 0, 50, 100), shapely.box(50, 0, 300, 100)]
    >>> [round(cut.length) for cut in find_cuts(halves)]
    [100]
    """
    faces = np.array(sectors, dtype=object)
    return cuts_in_order(sectors, cuts_between(faces, np.arange(len(faces))))


def move_end(
    fishable: Area,
    division: Division,
    cut_number: int,
    end: int,
    to_xy: tuple[float, float],
) -> Division:
    """Move one end of a cut along the shore, the other cuts being held.

    The sectors keep their order, and their areas change. A cut that ended on the moved
    one still does, at the same share of its length. A cut that went on from an island
    for the moved one goes, if that now reaches the bank.

    Parameters
    ----------
    fishable
        The water that was divided, in metres.
    cut_number
        Which cut, counting from 1.
    end
        0 for its first end, 1 for its last.
    to_xy
        The wanted place; the end goes to the shore nearest to it.

    Raises
    ------
    SectorError
        If there is no such cut or end, or if the moved cut would leave the water,
        cross another, or no longer part the water.

    Examples
    --------
    >>> division = divide_by_area(shapely.box(0, 0, 300, 100), [1, 1])
    >>> end = 0 if division.cuts[0].coords[0][1] > 50 else 1
    >>> moved = move_end(shapely.box(0, 0, 300, 100), division, 1, end, (190, 120))
    >>> [round(sector.area, -2) for sector in moved.sectors]
    [17000.0, 13000.0]
    """
    check_water(fishable)
    cut = division.cuts[_index(division, cut_number)]
    if end not in (0, 1):
        raise SectorError(f"a cut has the ends 0 and 1, and no end {end}")
    if not np.isfinite(to_xy).all():
        raise SectorError(
            f"the place to move cut {cut_number} to has no position: give it again"
        )
    water = _whole(division)
    if Point(cut.coords[-end]).distance(water.boundary) > ON_LINE_M:
        raise SectorError(
            f"cut {cut_number} ends there on another one, in open water: move an end "
            "that lies on the bank, or divide so that all cuts go from bank to bank"
        )
    nearest = shapely.shortest_line(water.boundary, Point(to_xy))
    moved = _with_end(cut, end, shapely.get_coordinates(nearest)[0])
    cuts = [_following(other, cut, moved) for other in division.cuts]
    cuts[cut_number - 1] = moved
    _check_moved(water, cuts, cut_number)
    fault = (
        f"cut {cut_number} would no longer part the water there: move that end to "
        "another place"
    )
    needed = _without_relays(division, cut_number, cuts)
    try:
        return _assembled(division.sectors, cuts, water, fault)
    except SectorError:
        if len(needed) == len(cuts):
            raise
    return _assembled(division.sectors, needed, water, fault)


def _without_relays(
    division: Division, number: int, cuts: Sequence[LineString]
) -> list[LineString]:
    """Return the cuts without those that went on from an island for a cut.

    They part the same two sectors, and have nothing to do once it reaches the bank.
    """
    beside = [_beside(division.sectors, cut) for cut in division.cuts]
    return [
        cut
        for index, cut in enumerate(cuts)
        if index == number - 1 or beside[index] != beside[number - 1]
    ]


def _beside(sectors: Sequence[Area], cut: LineString) -> list[int]:
    middle = cut.interpolate(0.5, normalized=True)
    near = shapely.distance(list(sectors), middle) < STRIP_M
    return [int(number) for number in np.flatnonzero(near)]


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
    lines = [division.cuts[_index(division, number)] for number in numbers]
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
    return _assembled(
        sectors,
        cuts_in_order(sectors, cuts),
        _whole(division),
        f"with {_called(numbers)} held the others cannot be redone: hold those that "
        "go on from its ends as well, or none",
    )


def _index(division: Division, number: int) -> int:
    count = len(division.cuts)
    if not 1 <= number <= count:
        has = {0: "no cut", 1: "cut 1 only", 2: "cuts 1 and 2"}.get(
            count, f"cuts 1 to {count}"
        )
        raise SectorError(
            f"there is no cut {number}: the division has {has}; look at its list again"
        )
    return number - 1


def _check_ends_held(division: Division, held: Sequence[int]) -> None:
    """Refuse to hold a cut without the one that it ends on."""
    shore = _whole(division).boundary
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


def _whole(division: Division) -> Area:
    """Return the water with the ends of all cuts as vertices of its edge."""
    whole = shapely.coverage_union_all(list(division.sectors))
    return keep_areas(whole)


def _with_end(cut: LineString, end: int, new_xy: Floats) -> LineString:
    """Return a cut with another end; its bends stay, if they are any to speak of."""
    xy = shapely.get_coordinates(cut)
    if shapely.hausdorff_distance(cut, LineString(xy[[0, -1]])) < 3 * STRIP_M:
        xy = xy[[0, -1]]
    xy[-end] = new_xy
    return LineString(xy)


def _following(other: LineString, cut: LineString, moved: LineString) -> LineString:
    """Return a cut with the ends that lie on the moved cut's inner part moved along."""
    xy = shapely.get_coordinates(other)
    for end in (0, -1):
        point = Point(xy[end])
        tips = shapely.boundary(cut)
        if point.distance(cut) < ON_LINE_M < point.distance(tips):
            share = cut.project(point, normalized=True)
            xy[end] = moved.interpolate(share, normalized=True).coords[0]
    return other if (xy == shapely.get_coordinates(other)).all() else LineString(xy)


def _check_moved(water: Area, cuts: Sequence[LineString], number: int) -> None:
    moved = cuts[number - 1]
    inner = shapely.ops.substring(moved, TRIM_M, moved.length - TRIM_M)
    if moved.length < 3 * TRIM_M or not _stays(water, inner):
        raise SectorError(
            f"cut {number} would leave the water: move that end to a place that can be "
            "seen from the other end"
        )
    for other, cut in enumerate(cuts, 1):
        if other != number and inner.intersects(_trimmed(cut)):
            raise SectorError(
                f"cut {number} would cross cut {other}: move that end to its own side "
                "of it"
            )


def _stays(water: Area, inner: BaseGeometry) -> bool:
    return water.covers(inner) and not water.boundary.intersects(inner)


def _trimmed(cut: LineString) -> BaseGeometry:
    return shapely.ops.substring(cut, TRIM_M, cut.length - TRIM_M)


def _pieces(
    division: Division, lines: Sequence[LineString]
) -> tuple[tuple[Area, ...], Ints]:
    """Return the pieces into which lines part the water, and each sector's piece.

    A line that does not part it alone is left as a slit.
    """
    water = _whole(division)
    faces = cut_faces(water, lines)
    main = _overlap_m2(division.sectors, faces).argmax(axis=1)
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


def _drawn_on(cut: LineString, lines: Sequence[LineString]) -> LineString:
    """Return a cut with ends on the side of a line's slit drawn on to the line."""
    xy = shapely.get_coordinates(cut)
    for end in (0, -1):
        for line in lines:
            way = shapely.shortest_line(Point(xy[end]), line)
            if NODE_M < way.length < STRIP_M:
                xy[end] = shapely.get_coordinates(way)[1]
    return LineString(xy)


def _walls(piece: Area, lines: Sequence[LineString]) -> list[LineString]:
    """Return the lines, with the sides of their slits, that are near a piece."""
    near = [line for line in lines if line.dwithin(piece, STRIP_M)]
    return near + [LineString(_slit(line).exterior) for line in near]


def _matched(old: Sequence[Area], new: Sequence[Area], weights: Floats) -> list[int]:
    """Return for each old sector the new one of its share that overlaps it most."""
    overlap_m2 = _overlap_m2(old, new)
    unlike = weights[:, None] != weights[None]
    overlap_m2[unlike] = -overlap_m2.sum() - 1
    return linear_sum_assignment(overlap_m2, maximize=True)[1].tolist()


def _assembled(
    wanted: Sequence[Area], cuts: Sequence[LineString], water: Area, fault: str
) -> Division:
    """Return the water parted along the cuts, each sector as near as can be to wanted.

    Raises
    ------
    SectorError
        With the words of `fault`, if not all of the cuts lie between two sectors.
    """
    # Noding needs a vertex where a cut ends on the shore or on another cut.
    ends = [shapely.get_coordinates(cut)[[0, -1]] for cut in cuts]
    nodes = distinct_nodes(np.vstack([np.zeros((0, 2)), *ends]))
    water = area_with_vertices(water, nodes)
    lines = [with_vertices(cut, nodes) for cut in cuts]
    faces = cut_faces(water, lines)
    if len(faces) < len(wanted):
        raise SectorError(fault)
    overlap_m2 = _overlap_m2(faces, wanted)
    owners = overlap_m2.argmax(axis=1)
    face, owner = linear_sum_assignment(overlap_m2, maximize=True)
    owners[face] = owner
    between_m = sum(line.length for line in cuts_between(faces, owners))
    if abs(between_m - sum(cut.length for cut in cuts)) > len(cuts) * ON_LINE_M:
        raise SectorError(fault)
    return Division(dissolve(faces, owners), tuple(cuts))


def _overlap_m2(
    ones: Sequence[Area] | Shapes, others: Sequence[Area] | Shapes
) -> Floats:
    """Return the common area of each with each, shape (ones, others)."""
    one, other = (np.asarray(list(shapes), dtype=object) for shapes in (ones, others))
    return np.asarray(shapely.area(shapely.intersection(one[:, None], other[None])))
