"""Changing a division by hand: moving one end of a cut.

Cuts are numbered from 1, in the order in which the division has them.
"""

from collections.abc import Sequence

import numpy as np
import shapely
import shapely.ops
from scipy.optimize import linear_sum_assignment
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.errors import SectorError
from sweptwater.water.chords import TRIM_M
from sweptwater.water.faces import (
    STRIP_M,
    Shapes,
    area_with_vertices,
    cut_faces,
    cuts_between,
    dissolve,
    distinct_nodes,
    keep_areas,
    with_vertices,
)
from sweptwater.water.sectors import (
    Division,
    check_water,
)

ASHORE_M = 50.0
"""A moved end may come ashore so far from where it was wanted."""

ON_LINE_M = 1e-3
"""An end of a cut so near to the shore or to another cut ends there."""


def move_end(
    fishable: Area,
    division: Division,
    cut_number: int,
    end: int,
    to_xy: tuple[float, float],
) -> Division:
    """Move one end of a cut along the shore, the other cuts being held.

    The sectors keep their order, and their areas change. A cut that ended on the moved
    one still does, at the same share of its length. If the other end is on an island
    that comes to lie between, it goes round to the near side. A cut that went on from
    an island for the moved one goes, if that now reaches the bank.

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
    >>> from sweptwater.water.sectors import divide_by_area
    >>> division = divide_by_area(shapely.box(0, 0, 300, 100), [1, 1])
    >>> end = 0 if division.cuts[0].coords[0][1] > 50 else 1
    >>> moved = move_end(shapely.box(0, 0, 300, 100), division, 1, end, (190, 120))
    >>> [round(sector.area, -2) for sector in moved.sectors]
    [17000.0, 13000.0]
    """
    check_water(fishable)
    cut = division.cuts[index_of(division, cut_number)]
    if end not in (0, 1):
        raise SectorError(f"a cut has the ends 0 and 1, and no end {end}")
    if not np.isfinite(to_xy).all():
        raise SectorError(
            f"the place to move cut {cut_number} to has no position: give it again"
        )
    water = whole_water(division)
    if Point(cut.coords[-end]).distance(water.boundary) > ON_LINE_M:
        raise SectorError(
            f"cut {cut_number} ends there on another one, in open water: move an end "
            "that lies on the bank, or divide so that all cuts go from bank to bank"
        )
    nearest = shapely.shortest_line(water.boundary, Point(to_xy))
    moved = _seen(water, _with_end(cut, end, shapely.get_coordinates(nearest)[0]), end)
    cuts = [_following(other, cut, moved) for other in division.cuts]
    cuts[cut_number - 1] = moved
    _check_moved(water, cuts, cut_number)
    fault = (
        f"cut {cut_number} would no longer part the water there: move that end to "
        "another place"
    )
    needed = _without_relays(division, cut_number, cuts)
    try:
        return assembled(division.sectors, cuts, water, fault)
    except SectorError:
        if len(needed) == len(cuts):
            raise
    return assembled(division.sectors, needed, water, fault)


def _seen(water: Area, cut: LineString, end: int) -> LineString:
    """Return a cut both of whose ends see each other, if a little change does it.

    An end on an island goes to the side that the moved end sees, and the moved end to
    where the cut first comes ashore, if that is no further off than `ASHORE_M`.
    """
    if _stays(water, _trimmed(cut)):
        return cut
    other = Point(cut.coords[end - 1])
    rings = [ring for part in shapely.get_parts(water) for ring in part.interiors]
    for isle in rings:
        if other.distance(isle) < ON_LINE_M:
            other = Point(
                shapely.shortest_line(isle, Point(cut.coords[-end])).coords[0]
            )
    way = LineString([other.coords[0], cut.coords[-end]])
    inner = shapely.ops.substring(way, TRIM_M, way.length)
    crossed = shapely.get_coordinates(inner.intersection(water.boundary))
    if not len(crossed):
        return cut
    along_m = min(way.project(Point(xy)) for xy in crossed)
    if way.length - along_m > ASHORE_M:
        return cut
    ashore = shapely.shortest_line(water.boundary, way.interpolate(along_m)).coords[0]
    ends = [ashore, other.coords[0]]
    return LineString(ends if end == 0 else ends[::-1])


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


def index_of(division: Division, number: int) -> int:
    """Return where a division has the cut of a number, counting from 1.

    Raises
    ------
    SectorError
        If there is none.
    """
    count = len(division.cuts)
    if not 1 <= number <= count:
        has = {0: "no cut", 1: "cut 1 only", 2: "cuts 1 and 2"}.get(
            count, f"cuts 1 to {count}"
        )
        raise SectorError(
            f"there is no cut {number}: the division has {has}; look at its list again"
        )
    return number - 1


def whole_water(division: Division) -> Area:
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
            f"cut {number} would run over land: move that end to a place that can be "
            "seen from the other end, or move the other end first"
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


def assembled(
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
    shared_m2 = overlap_m2(faces, wanted)
    owners = shared_m2.argmax(axis=1)
    face, owner = linear_sum_assignment(shared_m2, maximize=True)
    owners[face] = owner
    between_m = sum(line.length for line in cuts_between(faces, owners))
    if abs(between_m - sum(cut.length for cut in cuts)) > len(cuts) * ON_LINE_M:
        raise SectorError(fault)
    return Division(dissolve(faces, owners), tuple(cuts))


def overlap_m2(
    ones: Sequence[Area] | Shapes, others: Sequence[Area] | Shapes
) -> Floats:
    """Return the common area of each with each, shape (ones, others)."""
    one, other = (np.asarray(list(shapes), dtype=object) for shapes in (ones, others))
    return np.asarray(shapely.area(shapely.intersection(one[:, None], other[None])))
