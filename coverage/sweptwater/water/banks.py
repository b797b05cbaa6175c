"""The shore in numbered stretches, each with the water before it.

A bank's water is what lies nearest to it (the Voronoi cells of shore samples), out to
a distance, within the fishable water. Stretches begin at a jetty and run clockwise
around the outer shore, then around each island, largest first. A stretch is cut into
pieces, so that a share of its length can be told as done.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely import LinearRing, LineString, Polygon
from shapely.ops import substring

from sweptwater.arrays import Area, Floats, Ints
from sweptwater.practice.settings import BankRules
from sweptwater.water.bank_names import NameLost, name_stretches
from sweptwater.water.cells import parts_nearest
from sweptwater.water.channels import narrows
from sweptwater.water.shapes import GRID_M, polygonal
from sweptwater.water.venue import Venue

SAMPLE_M = 10.0
LEAST_FRONT_M2 = 25.0
"""A piece of shore with less water before it than this has none to fish."""

QUAD_SEGS = 32
"""Arcs of so many corners a quarter are true to 0.01 % of a disc."""


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
    told
        What people call it, if they do.
    """

    number: int
    shore: LineString
    island: bool
    water: Area
    piece_water: tuple[Area, ...]
    piece_m: Floats
    told: str = ""
    bands: "_Bands | None" = field(default=None, repr=False, compare=False)

    @property
    def name(self) -> str:
        """What people call it, or its number."""
        return self.told or f"bank {self.number}"

    @property
    def title(self) -> str:
        """Its number and, if it has one, its name."""
        return f"bank {self.number}" + (f", {self.told}" if self.told else "")

    @property
    def length_m(self) -> float:
        """The length of shore that has water to fish before it."""
        return float(self.piece_m.sum())

    @cached_property
    def band(self) -> Area:
        """The part of the boat band that lies nearest to it, perhaps empty."""
        return self.bands.of_bank[self.number] if self.bands else Polygon()


@dataclass(frozen=True)
class _Bands:
    """The boat bands of all banks, worked out when the first is asked for.

    Parameters
    ----------
    places, owner
        Places along the shore, shape (n, 2), and the number of the bank whose each is.
    """

    venue: Venue
    rules: BankRules
    places: Floats
    owner: Ints

    @cached_property
    def of_bank(self) -> dict[int, Area]:
        band = boat_band(self.venue, self.rules)
        numbers, owner = np.unique(self.owner, return_inverse=True)
        parts = parts_nearest(band, self.places, owner, len(numbers))
        return dict(zip(numbers.tolist(), parts, strict=True))


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch of shore, its pieces' lengths, and places along them, piece by piece.

    `places` has the shape (pieces, places, 2).
    """

    shore: LineString
    island: bool
    piece_m: Floats
    places: Floats


def lay_banks(venue: Venue, rules: BankRules) -> tuple[Bank, ...]:
    """Return the banks of a venue.

    A stretch that has no fishable water before it, all out of bounds, is none.
    """
    stretches = _stretches(venue, rules)
    names, _ = name_stretches([s.shore for s in stretches], venue.bank_names)
    count = [len(s.piece_m) for s in stretches]
    samples = [s.places.shape[1] for s in stretches]
    owner = np.repeat(np.arange(sum(count)), np.repeat(samples, count))
    places = np.vstack([s.places.reshape(-1, 2) for s in stretches])
    near = near_water(venue, rules.water_m)
    waters = np.array(parts_nearest(near, places, owner, sum(count)), dtype=object)
    real = shapely.area(waters) >= LEAST_FRONT_M2
    ends = np.cumsum(count)[:-1]
    number = np.cumsum([full.any() for full in np.split(real, ends)])
    number[np.diff(number, prepend=0) == 0] = 0  # no bank
    whose = np.repeat(number, np.multiply(samples, count))
    bands = _Bands(venue, rules, places[whose > 0], whose[whose > 0])
    return tuple(
        Bank(
            number=int(number[index]),
            shore=stretch.shore,
            island=stretch.island,
            water=polygonal(shapely.union_all(mine)),
            piece_water=tuple(mine[full]),
            piece_m=stretch.piece_m[full],
            told=names[index],
            bands=bands,
        )
        for index, (stretch, mine, full) in enumerate(
            zip(stretches, np.split(waters, ends), np.split(real, ends), strict=True)
        )
        if number[index]
    )


def lost_names(venue: Venue, rules: BankRules) -> tuple[NameLost, ...]:
    """Return the names that a stretch of shore did not take, for another's sake."""
    shores = [stretch.shore for stretch in _stretches(venue, rules)]
    return name_stretches(shores, venue.bank_names)[1]


def boat_band(venue: Venue, rules: BankRules) -> Area:
    """Return the fishable water over which boats drift along the banks.

    From the near distance off any shore to the far one. Where water is nowhere so far
    from a shore as the near distance, a creek or a gap between islands, all of it.

    Examples
    --------
    >>> from sweptwater.frame import Frame
    >>> pool = Venue(Frame(0.0, 50.0), shapely.box(0, 0, 400, 400), Polygon(), ())
    >>> band = boat_band(pool, BankRules(boat_near_m=20, boat_far_m=50))
    >>> band.area == 360**2 - 300**2
    True
    """
    water = venue.water
    off = water.buffer(-rules.boat_near_m, quad_segs=QUAD_SEGS)
    far = water.buffer(-rules.boat_far_m, quad_segs=QUAD_SEGS)
    wide = polygonal(off)
    between = shapely.difference(off, far, grid_size=GRID_M)
    narrow = narrows(water, wide, rules.boat_near_m)
    band = shapely.union_all([between, *narrow], grid_size=GRID_M)
    return polygonal(shapely.intersection(band, venue.fishable))


def near_water(venue: Venue, within_m: float) -> Area:
    """Return the fishable water within a distance of any shore."""
    far = venue.water.buffer(-within_m, quad_segs=QUAD_SEGS)
    return polygonal(venue.fishable.difference(far))


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


def _stretches(venue: Venue, rules: BankRules) -> list[_Stretch]:
    """Return all stretches of shore, in order."""
    return [
        stretch
        for ring, island in _rings(venue)
        for stretch in _cut(shapely.get_coordinates(ring), island, rules)
    ]


def _cut(xy: Floats, island: bool, rules: BankRules) -> Iterator[_Stretch]:
    """Yield the equal stretches of a ring, shape (n, 2), cut into equal pieces."""
    at_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    length_m = float(at_m[-1])
    count = max(1, round(length_m / rules.stretch_m))
    per = max(1, round(length_m / count / rules.piece_m))
    ends = np.linspace(0.0, length_m, count * per + 1)
    samples = max(1, round(ends[1] / SAMPLE_M))
    within = (np.arange(samples) + 0.5) / samples * ends[1]
    places = _along(xy, at_m, ends[:-1, None] + within)
    for first in range(0, count * per, per):
        start_m, end_m = ends[first], ends[first + per]
        inner = (at_m > start_m + 1e-9) & (at_m < end_m - 1e-9)
        two = _along(xy, at_m, np.array([start_m, end_m]))
        yield _Stretch(
            LineString(np.vstack([two[:1], xy[inner], two[1:]])),
            island,
            np.diff(ends)[first : first + per],
            places[first : first + per],
        )


def _along(xy: Floats, at_m: Floats, along_m: Floats) -> Floats:
    """Return places along a line, one more axis of 2 at the end."""
    return np.stack([np.interp(along_m, at_m, axis) for axis in xy.T], axis=-1)
