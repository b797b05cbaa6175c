"""Dividing the fishable water into sectors: by area, by drawn lines, or ready-made.

All shapes are in metres of the venue's frame. Sectors of one division share their
edges vertex by vertex: together they are the fishable water, without gap or overlap.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.errors import SectorError
from sweptwater.units import System, area_text, share_text
from sweptwater.water.faces import (
    NODE_M,
    STRIP_M,
    Shapes,
    bridge_pieces,
    cut_faces,
    cuts_between,
    dissolve,
    join_faces,
    keep_areas,
    shared_edges,
)
from sweptwater.water.peeling import part_by_areas

MOST_SHARES = 24

SMALL = 0.01
"""A piece below this share of the water joins a neighbour instead of standing alone."""

LEAST_SHARE = 0.001
"""A share below this part of the largest is refused."""

OVERLAP = 0.001
"""Ready-made sectors may overlap by this share of the smaller one."""

LINE_REACH_M = 30.0
LINE_REACH = 0.05
"""A drawn line may stop this far short of the bank, or this share of its length."""


@dataclass(frozen=True)
class Division:
    """Sectors in order, with the cuts between them, bank to bank."""

    sectors: tuple[Area, ...]
    cuts: tuple[LineString, ...]


def divide_by_area(
    fishable: Area,
    shares: Sequence[float],
    *,
    shut: Sequence[LineString] = (),
    junctions: bool = True,
) -> Division:
    """Divide the water in given proportions by short straight cuts, bank to bank.

    Each sector is one connected piece of water. Where the fishable water itself lies
    in unconnected pieces, it is divided as if they were joined by the shortest
    portages: small pieces go whole to a neighbour, so a sector may then be a
    MultiPolygon. Among equal shares the western sector comes first.

    The method takes off one share after the other: of cuts that do not cross, one is
    always outermost. A cut may go by way of islands, with a bend at each. It may end on
    an earlier cut only where there is no other way, or where that makes all of them
    shorter by more than a tenth, as on a round lake. The same water and shares always
    give the same division.

    Parameters
    ----------
    fishable
        The water, valid, in metres.
    shares
        Weights of the sectors, in any unit, such as 2, 1, 1.
    shut
        Parts of the water's edge that are no bank, such as a cut that is held: new
        cuts end there only where there is no other way.
    junctions
        Whether a cut may end on another to save length: in open water a boat does not
        see where that is.

    Raises
    ------
    SectorError
        If there is no water, if a share is not a positive number, if there are more
        than `MOST_SHARES`, or if no straight cuts give these shares.

    Examples
    --------
    >>> division = divide_by_area(shapely.box(0, 0, 300, 100), [2, 1])
    >>> [round(sector.area) for sector in division.sectors]
    [20000, 10000]
    >>> [round(cut.length) for cut in division.cuts]
    [100]
    """
    check_water(fishable)
    weights = check_shares(shares)
    water = bridge_pieces(fishable)
    area_m2 = water.area * weights / weights.sum()
    parts = part_by_areas(water, area_m2, shut, junctions=junctions)
    if parts is None:
        raise SectorError(
            f"no straight cuts part this water into {len(weights)} connected sectors "
            "of these shares: change the shares, or draw the lines"
        )
    division = Division(parts.areas, parts.cuts)
    if not isinstance(fishable, Polygon):
        division = _without_bridges(division, fishable)
    sectors = _west_first(division.sectors, weights)
    return Division(sectors, cuts_in_order(sectors, division.cuts))


def divide_by_lines(fishable: Area, lines: Sequence[LineString]) -> Division:
    """Divide the water by lines drawn over it.

    An end that stops in the water a little short of the bank or of another line (by
    `LINE_REACH_M`, or `LINE_REACH` of the line if that is more) is drawn out to it.
    Pieces below `SMALL`, such as pockets behind islands, join the neighbour with whom
    they share most edge. The sectors come in the order in which they adjoin, starting
    at the westernmost end.

    Raises
    ------
    SectorError
        If there is no water, or if a line does not part it.

    Examples
    --------
    >>> line = LineString([(100, 4), (100, 90)])
    >>> division = divide_by_lines(shapely.box(0, 0, 300, 100), [line])
    >>> [round(sector.area) for sector in division.sectors]
    [10000, 20000]
    """
    check_water(fishable)
    drawn = _drawn_out(fishable, lines)
    faces = cut_faces(fishable, drawn)
    area_m2 = shapely.area(faces)
    big = (area_m2 >= SMALL * fishable.area) | (area_m2 == area_m2.max())
    owners = join_faces(faces, np.where(big, np.cumsum(big) - 1, -1))
    _check_lines_part(faces, owners, drawn)
    owners = _in_order(faces, owners)[owners]
    sectors = dissolve(faces, owners)
    return Division(sectors, cuts_in_order(sectors, cuts_between(faces, owners)))


def adopt_sectors(
    fishable: Area, shapes: Sequence[Area], *, system: System = "imperial"
) -> Division:
    """Adopt ready-made sectors, clipped to the water and made to fit without gaps.

    Water in two sectors by no more than `OVERLAP` of the smaller one goes to the
    first; water in none, up to `SMALL` of all, joins the sector with whom it shares
    most edge. There are no cuts.

    Parameters
    ----------
    fishable, shapes
        The water and its sectors, in metres.
    system
        The units of the messages.

    Raises
    ------
    SectorError
        If there is no water, if a sector has none, if two overlap by more, or if more
        water is in none.

    Examples
    --------
    >>> halves = [shapely.box(-9, -9, 50, 200), shapely.box(50, -9, 400, 200)]
    >>> division = adopt_sectors(shapely.box(0, 0, 300, 100), halves)
    >>> [round(sector.area) for sector in division.sectors]
    [5000, 25000]
    """
    check_water(fishable)
    if not shapes:
        raise SectorError("there is no sector to adopt: draw at least one")
    clipped = [keep_areas(shapely.make_valid(shape) & fishable) for shape in shapes]
    _check_clipped(clipped, system)
    faces = cut_faces(fishable, [shape.boundary for shape in clipped])
    inner = shapely.point_on_surface(faces)
    owners = np.full(len(faces), -1)
    for number in reversed(range(len(clipped))):
        shapely.prepare(clipped[number])
        owners[shapely.intersects(clipped[number], inner)] = number
    _check_all_owned(faces, owners, system)
    return Division(dissolve(faces, join_faces(faces, owners)), ())


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


def cuts_in_order(
    sectors: Sequence[Area], cuts: Sequence[LineString]
) -> tuple[LineString, ...]:
    """Return the cuts in the order of the sectors that they part, then from the west.

    So a cut has the same number whether a division was just made or was kept.
    """

    def place(cut: LineString) -> tuple[list[int], float]:
        middle = cut.interpolate(0.5, normalized=True)
        beside = shapely.distance(sectors, middle) < STRIP_M
        return np.flatnonzero(beside).tolist(), middle.x

    return tuple(sorted(cuts, key=place))


def _without_bridges(division: Division, fishable: Area) -> Division:
    cuts = shapely.get_parts(MultiLineString(list(division.cuts)) & fishable)
    return Division(
        tuple(keep_areas(sector & fishable) for sector in division.sectors),
        tuple(cut for cut in cuts if cut.length > 5 * STRIP_M),
    )


def _west_first(sectors: Sequence[Area], weights: Floats) -> tuple[Area, ...]:
    """Return the sectors with those of equal weight sorted from west to east."""
    out = list(sectors)
    for weight in np.unique(weights):
        numbers = np.flatnonzero(weights == weight).tolist()
        west = sorted((sectors[n] for n in numbers), key=lambda s: s.centroid.x)
        for number, sector in zip(numbers, west, strict=True):
            out[number] = sector
    return tuple(out)


def _drawn_out(water: Area, lines: Sequence[LineString]) -> list[LineString]:
    """Return the lines with ends that stop just short of bank or line drawn out."""
    for number, line in enumerate(lines, 1):
        if not (np.isfinite(line.length) and line.length > 0):
            raise SectorError(
                f"line {number} has no length: draw it anew from bank to bank"
            )
    flat = [shapely.remove_repeated_points(shapely.force_2d(line)) for line in lines]
    out = []
    for number, line in enumerate(flat):
        stops = shapely.union_all([water.boundary, *flat[:number], *flat[number + 1 :]])
        xy = shapely.get_coordinates(line)
        reach_m = max(LINE_REACH_M, LINE_REACH * line.length)
        head = _way_to_bank(water, stops, xy[:2], reach_m)
        tail = _way_to_bank(water, stops, xy[:-3:-1], reach_m)
        out.append(LineString(np.vstack([*head, xy, *tail])))
    return out


def _way_to_bank(
    water: Area, stops: shapely.Geometry, end_xy: Floats, reach_m: float
) -> list[Floats]:
    """Return the point, if any, to which a line is drawn out beyond its end.

    Straight on if a bank or line lies there, else to the nearest.
    """
    end = shapely.Point(end_xy[0])
    if not water.covers(end):
        return []
    ahead = (end_xy[0] - end_xy[1]) / np.hypot(*(end_xy[0] - end_xy[1]))
    ray = LineString([end_xy[0], end_xy[0] + reach_m * ahead])
    way = shapely.shortest_line(end, ray & stops if ray.intersects(stops) else stops)
    if way.length > reach_m:
        return []
    hit = shapely.get_coordinates(way)[1]
    # A hair beyond, so that the crossing survives rounding.
    onward = (hit - end_xy[0]) / way.length if way.length > 0 else ahead
    return [hit + 1e-3 * onward]


def _in_order(faces: Shapes, owners: Ints) -> Ints:
    """Return each sector's place in a walk from sector to sector, west first."""
    pairs = owners[shared_edges(faces)[0]]
    count = int(owners.max()) + 1
    near = np.zeros((count, count), dtype=bool)
    near[pairs[:, 0], pairs[:, 1]] = near[pairs[:, 1], pairs[:, 0]] = True
    np.fill_diagonal(near, False)
    west = [sector.centroid.x for sector in dissolve(faces, owners)]
    ends_first = sorted(range(count), key=lambda n: (near[n].sum() > 1, west[n]))
    order: list[int] = []
    waiting = ends_first[::-1]
    while waiting:
        sector = waiting.pop()
        if sector not in order:
            order.append(sector)
            onward = np.flatnonzero(near[sector])
            waiting += sorted(onward, key=lambda n: -west[n])
    return np.argsort(order)


def check_water(fishable: Area) -> None:
    """Refuse a fishable water that has no area."""
    if not fishable.area > 0:
        raise SectorError(
            "there is no fishable water to divide: check the outline and the "
            "out-of-bounds zones"
        )


def check_shares(shares: Sequence[float]) -> Floats:
    """Return the shares as weights, refusing those that are none."""
    weights = np.asarray(shares, dtype=np.float64)
    if not 1 <= len(weights) <= MOST_SHARES:
        raise SectorError(
            f"the water can be divided into 1 to {MOST_SHARES} shares, not "
            f"{len(weights)}: give one share for each pair"
        )
    for number, weight in enumerate(weights, 1):
        if not (np.isfinite(weight) and weight > 0):
            raise SectorError(
                f"share {number} is {weight:g}: give every pair a share above 0"
            )
    least = int(weights.argmin())
    if weights[least] < LEAST_SHARE * weights.max():
        raise SectorError(
            f"share {least + 1}, {weights[least]:g}, is next to nothing beside "
            f"{weights.max():g}: give every pair water that is worth a boat"
        )
    return weights


def _check_lines_part(faces: Shapes, owners: Ints, lines: Sequence[LineString]) -> None:
    pairs, segments = shared_edges(faces)
    middles = shapely.line_interpolate_point(segments, 0.5, normalized=True)
    between = owners[pairs[:, 0]] != owners[pairs[:, 1]]
    for number, line in enumerate(lines, 1):
        on_line = shapely.dwithin(middles, line, NODE_M)
        if not on_line.any():
            raise SectorError(
                f"line {number} does not part the water: draw it right across, from "
                "bank to bank"
            )
        if not (on_line & between).any():
            raise SectorError(
                f"line {number} parts off less than {share_text(SMALL)} of the water: "
                "move it further out, or leave it away"
            )


def _check_clipped(clipped: Sequence[Area], system: System) -> None:
    for number, shape in enumerate(clipped, 1):
        if not shape.area > 0:
            raise SectorError(
                f"sector {number} has no fishable water in it: move it onto the water, "
                "or leave it away"
            )
    for (one, first), (two, second) in combinations(enumerate(clipped, 1), 2):
        over_m2 = shapely.intersection(first, second).area
        if over_m2 > OVERLAP * min(first.area, second.area):
            raise SectorError(
                f"sectors {one} and {two} overlap by {area_text(over_m2, system)}: "
                "draw them so that each piece of water is in one sector only"
            )


def _check_all_owned(faces: Shapes, owners: Ints, system: System) -> None:
    area_m2 = shapely.area(faces)
    left_m2 = float(area_m2[owners < 0].sum())
    share = left_m2 / float(area_m2.sum())
    if share > SMALL:
        raise SectorError(
            f"{area_text(left_m2, system)} of the water ({share_text(share)}) are in "
            "no sector: draw them into one"
        )
