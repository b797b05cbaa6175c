"""The shore in numbered stretches, each with the water before it.

A bank's water is what lies nearest to it (the Voronoi cells of shore samples), out to
a distance, within the fishable water. Stretches begin at a jetty and run clockwise
around the outer shore, then around each island, largest first. A stretch is cut into
pieces, so that a share of its length can be told as done.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np
import shapely
from scipy.spatial import Voronoi
from shapely import LinearRing, LineString, Polygon
from shapely.ops import substring

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.practice.settings import BankRules
from sweptwater.water.overlap import cut_tiles
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Venue

SAMPLE_M = 10.0
TILE_M = 400.0
LEAST_FRONT_M2 = 25.0
"""A piece of shore with less water before it than this has none to fish."""


@dataclass(frozen=True)
class Bank:
    """One stretch of shore, in metres.

    Parameters
    ----------
    number
        Counting from 1 around the venue.
    shore
        The shore itself, clockwise.
    island
        Whether it is an island's.
    water
        The fishable water nearest to it, out to the settings' distance.
    piece_water, piece_m
        The water and the length of each piece of it that has water to fish.
    """

    number: int
    shore: LineString
    island: bool
    water: Area
    piece_water: tuple[Area, ...]
    piece_m: Floats

    @property
    def name(self) -> str:
        """What people call it."""
        return f"bank {self.number}"

    @property
    def length_m(self) -> float:
        """The length of shore that has water to fish before it."""
        return float(self.piece_m.sum())


def lay_banks(venue: Venue, rules: BankRules) -> tuple[Bank, ...]:
    """Return the banks of a venue.

    A stretch that has no fishable water before it, all out of bounds, is none.
    """
    rings = _rings(venue)
    cuts = [_cuts(ring, rules) for ring, _ in rings]
    near = _near_water(venue.fishable, venue.water, rules.water_m)
    fronts = _fronts([ring for ring, _ in rings], cuts, near)
    banks: list[Bank] = []
    for (ring, island), (stretches, pieces), waters in zip(
        rings, cuts, fronts, strict=True
    ):
        per = (len(pieces) - 1) // (len(stretches) - 1)
        for index in range(len(stretches) - 1):
            mine = slice(index * per, (index + 1) * per)
            bank = _bank(
                len(banks) + 1,
                (ring, island),
                (stretches[index], stretches[index + 1]),
                (waters[mine], np.diff(pieces)[mine]),
            )
            if bank.length_m > 0:
                banks.append(bank)
    return tuple(banks)


def nearest_bank(
    banks: tuple[Bank, ...], easting: float, northing: float, within_m: float = np.inf
) -> Bank | None:
    """Return the bank whose shore is nearest to a place, if it is near enough."""
    if not banks:
        return None
    point = shapely.Point(easting, northing)
    away = shapely.distance([bank.shore for bank in banks], point)
    nearest = int(np.argmin(away))
    return banks[nearest] if away[nearest] <= within_m else None


def _rings(venue: Venue) -> list[tuple[LinearRing, bool]]:
    """Return the shores, clockwise around the water, each from its start."""
    jetties = venue.of_kind("jetty")
    outer, islands = [], []
    for part in shapely.get_parts(venue.water):
        outer.append(part.exterior)
        islands += list(part.interiors)
    outer.sort(key=lambda ring: -Polygon(ring).area)
    islands.sort(key=lambda ring: -Polygon(ring).area)
    start = shapely.Point(jetties[0].easting, jetties[0].northing) if jetties else None
    return [
        (_turned(ring, start, clockwise=not island), island)
        for island, group in ((False, outer), (True, islands))
        for ring in group
    ]


def _turned(
    ring: LinearRing, start: shapely.Point | None, *, clockwise: bool
) -> LinearRing:
    """Return a ring the asked way round, from the place nearest to the start.

    Without a start it is the northernmost place. An island runs counterclockwise, so
    that its water, too, lies to the right.
    """
    places = shapely.get_coordinates(ring)
    if ring.is_ccw == clockwise:
        places = places[::-1]
    ring = LinearRing(places)
    if start is None:
        return LinearRing(np.roll(places[:-1], -int(places[:-1, 1].argmax()), axis=0))
    along = ring.project(start)
    line = LineString(places)
    if not 0 < along < line.length:
        return ring
    ahead, behind = substring(line, along, line.length), substring(line, 0, along)
    turned = np.vstack([ahead.coords, list(behind.coords)[1:]])
    return LinearRing(turned)


def _cuts(ring: LinearRing, rules: BankRules) -> tuple[Floats, Floats]:
    """Return where along a ring stretches and pieces begin and end, in metres."""
    count = max(1, round(ring.length / rules.stretch_m))
    stretches = np.linspace(0.0, ring.length, count + 1)
    per = max(1, round(ring.length / count / rules.piece_m))
    return stretches, np.linspace(0.0, ring.length, count * per + 1)


def _near_water(fishable: Area, water: Area, within_m: float) -> Area:
    far = water.buffer(-within_m, quad_segs=32)
    return polygonal(fishable.difference(far))


def _fronts(
    rings: list[LinearRing], cuts: list[tuple[Floats, Floats]], near: Area
) -> list[np.ndarray]:
    """Return for each ring the water before each of its pieces."""
    places, owners, offset = [], [], 0
    for ring, (_, pieces) in zip(rings, cuts, strict=True):
        along, owner = _samples(ring, pieces)
        places.append(
            shapely.get_coordinates(shapely.line_interpolate_point(ring, along))
        )
        owners.append(owner + offset)
        offset += len(pieces) - 1
    waters = _nearest_water(np.vstack(places), np.concatenate(owners), offset, near)
    ends = np.cumsum([len(pieces) - 1 for _, pieces in cuts])
    return np.split(waters, ends[:-1])


def _samples(ring: LinearRing, pieces: Floats) -> tuple[Floats, Ints]:
    """Return places along a ring, evenly within each piece, and their pieces."""
    step = pieces[1] - pieces[0]
    per = max(1, round(step / SAMPLE_M))
    within = (np.arange(per) + 0.5) / per * step
    along = (pieces[:-1, None] + within).ravel()
    return along, np.repeat(np.arange(len(pieces) - 1), per)


def _nearest_water(places: Floats, owner: Ints, count: int, near: Area) -> np.ndarray:
    """Return the part of the near water that lies nearest to each owner's places."""
    places, first = np.unique(places, axis=0, return_index=True)
    owner = owner[first]
    cells = _nearest_cells(places)
    tiles = cut_tiles(near, TILE_M)
    tree = shapely.STRtree(tiles)
    cell, tile = tree.query(cells, predicate="intersects")
    parts = shapely.intersection(cells[cell], tiles[tile])
    order = np.argsort(owner[cell], kind="stable")
    bounds = np.searchsorted(owner[cell][order], np.arange(count + 1))
    return np.array(
        [polygonal(shapely.union_all(parts[order[a:b]])) for a, b in pairwise(bounds)],
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


def _bank(
    number: int,
    ring: tuple[LinearRing, bool],
    along: tuple[float, float],
    pieces: tuple[np.ndarray, Floats],
) -> Bank:
    waters, lengths = pieces
    real = shapely.area(waters) >= LEAST_FRONT_M2
    return Bank(
        number=number,
        shore=cast(LineString, substring(LineString(ring[0]), *along)),
        island=ring[1],
        water=polygonal(shapely.union_all(waters)),
        piece_water=tuple(waters[real]),
        piece_m=lengths[real],
    )
