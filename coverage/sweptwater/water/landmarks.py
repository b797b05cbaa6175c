"""What the shore does at a place: a point, a bay, the head of an arm, narrows.

The share of land in discs about the place tells points from bays, at several sizes
of disc: a place is told by the one that shows most, so that a notch in a long point
is no bay and a stone that sticks out no point.
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely import Point, Polygon

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.units import compass_point
from sweptwater.water.discs import (
    Share,
    cross,
    from_nearest,
    length_of,
    nearest_ring,
    share_at,
    shore_at,
)
from sweptwater.water.shapes import polygonal

ShoreKind: TypeAlias = Literal[
    "point",
    "bay",
    "corner",
    "head of an arm",
    "narrows",
    "island",
    "straight bank",
    "curving bank",
    "bank",
]

REACH = 1 / 13
"""Of the root of the water's area: how far along a shore people look at once."""

REACH_M = (15.0, 320.0)
"""Its least and most: further off people do not see one shape in a shore."""

# Tuned by eye on maps of a dozen lakes.
TELLING = ((0.25, 0.17), (0.5, 0.14), (1.0, 0.12), (2.0, 0.15))
"""Radii of discs, of the reach, and how far from a half the land's share then tells."""

HEAD_SHARE = 0.8
"""So much land about the head of an arm: of even width, it is 1.6 times as long."""

HEAD_EVEN = 0.5
"""Heads of broad arms show in the largest disc, if the ways out of it are so even."""

HEAD_OPEN = (0.8, 1.25)
"""So much of the water that its own shore leaves it is there, at the head of an arm.

Less or more at the bends of a channel.
"""

CORNER_SHARE = (0.62, HEAD_SHARE)
"""A corner has the same share of land in discs of any size, a bay has not."""

EVEN = 0.4
"""The shorter way along the shore out of the disc is at least this of the longer at
the tip of a point or the head of a bay; elsewhere it is the side of one."""

NEAR, ROUND, WIDER = 2.0, 2.5, 1.3
"""Narrows: the opposite shore is nearer than so many reaches, so many times further by
the shore, and so many times as much water lies on both sides as in an even channel."""

LONG_ISLAND, ISLAND_END = 1.5, 0.7
"""Length over width of a long island, and where along half of it the end begins."""

STRAIGHT, STRAIGHT_M = 0.03, 15.0
"""A straight shore strays from its line to either side by at most this part of its
length, and by at most so many metres."""

SAMPLES, PLACED = 64, (0.5, 0.25, 0.75)
"""Places looked at on a shore, and where along it the place in question may be."""


@dataclass(frozen=True, slots=True)
class ShoreForm:
    """What the shore does at a place.

    Parameters
    ----------
    kind
        What people would call it.
    easting, northing
        The place on the shore, in metres.
    share
        The disc that shows most.
    crossing_m
        The shortest way over water to the opposite shore; infinite if none is near.
    straight_m
        The longest straight shore with the place on it that was looked for.
    island
        The island that the place is on.
    """

    kind: ShoreKind
    easting: float
    northing: float
    share: Share
    crossing_m: float
    straight_m: float
    island: Polygon | None


def island_side(island: Polygon, easting: float, northing: float) -> str:
    """Return which end or side of an island a place is at.

    A long island has ends: what lies in the outer 30 % of half its length.

    Examples
    --------
    >>> island_side(shapely.box(0, 0, 300, 80), 290, 5)
    'E end'
    >>> island_side(shapely.box(0, 0, 300, 80), 170, 0)
    'S side'
    """
    box = shapely.get_coordinates(island.minimum_rotated_rectangle)
    half = np.diff(box[:3], axis=0) / 2
    half = half[np.argsort(-np.hypot(*half.T))]  # the long one first
    from_middle = np.array([easting, northing]) - box[:4].mean(axis=0)
    along, across = (half @ from_middle) / (half**2).sum(axis=1)
    if np.hypot(*half[0]) < LONG_ISLAND * np.hypot(*half[1]):
        what, toward = "side", from_middle
    elif abs(along) >= ISLAND_END:
        what, toward = "end", half[0] * np.sign(along)
    else:
        what, toward = "side", half[1] * np.sign(across)
    bearing_deg = float(np.degrees(np.arctan2(*toward)))
    return f"{compass_point(45 * round(bearing_deg / 45))} {what}"


def reach_of(water: Area) -> float:
    """Return how far along its shore people look at once, in metres."""
    return float(np.clip(REACH * np.sqrt(water.area), *REACH_M))


def shore_form(
    water: Area, easting: float, northing: float, *, reach_m: float | None = None
) -> ShoreForm:
    """Return what the shore does at the place on it that is nearest to another.

    Parameters
    ----------
    water
        All the water, in metres: edges of zones are no shore.
    easting, northing
        The place, in metres.
    reach_m
        How far along a shore people look at once, by default `reach_of` the water.

    Examples
    --------
    >>> water = shapely.box(0, 0, 2000, 1000) - shapely.box(900, 0, 1000, 300)
    >>> shore_form(water, 950, 310).kind, shore_form(water, 300, -5).kind
    ('point', 'straight bank')
    """
    reach = reach_of(water) if reach_m is None else reach_m
    part, ring, island = nearest_ring(water, Point(easting, northing))
    around = from_nearest(ring, (easting, northing))
    kind, share = _turning(part, around, reach)
    crossing_m, straight_m = np.inf, straight_about(around, reach)
    if island is not None:
        kind = "island"
    else:
        crossing_m, narrows = _narrows(part, around, reach)
        kind = "narrows" if narrows else kind
    if kind == "bank":
        kind = _plain(around, reach, straight_m)
    east, north = (float(axis) for axis in around[0])
    return ShoreForm(kind, east, north, share, crossing_m, straight_m, island)


def straight_about(around: Floats, reach_m: float) -> float:
    """Return how long the straight shore is that a place is well within, in metres.

    Lengths of one, two, four and eight times the reach are tried; 0 if none is
    straight.
    """
    shore_m, longest_m = length_of(around), 0.0
    for length_m in (reach_m, 2 * reach_m, 4 * reach_m, 8 * reach_m):
        at_m = np.linspace(0, length_m, SAMPLES)
        tried = (shore_at(around, at_m - share * length_m) for share in PLACED)
        if length_m > shore_m / 2 or not any(_follows(way, 1) for way in tried):
            break
        longest_m = length_m
    return longest_m


def _turning(part: Polygon, around: Floats, reach_m: float) -> tuple[ShoreKind, Share]:
    """Return what the shore's turning makes a place, and the disc that shows it."""
    shares = [share_at(part, around, size * reach_m) for size, _ in TELLING]
    best = _most_telling(shares)
    if best is not None and best.land < 0.5:
        return "point", best
    for share, even in ((shares[-1], HEAD_EVEN), (best, EVEN)):
        if share and share.land >= HEAD_SHARE and share.even >= even:
            low, high = HEAD_OPEN
            if low <= _openness(part, around[0], share) <= high:
                return "head of an arm", share
    if best is None:
        return "bank", shares[-1]
    low, high = CORNER_SHARE
    corner = all(low <= share.land <= high for share in shares)
    return "corner" if corner else "bay", best


def _openness(part: Polygon, place: Floats, share: Share) -> float:
    """Return how much of the water that its own shore leaves a place is water."""
    disc = Point(place).buffer(share.radius_m, quad_segs=16)
    pieces = shapely.get_parts(part.intersection(disc))
    mine = pieces[int(np.argmin(shapely.distance(pieces, Point(place))))]
    own_m2 = (1 - share.land) * np.pi * share.radius_m**2
    return float(mine.area / own_m2) if own_m2 > 0 else 1.0


def _plain(around: Floats, reach_m: float, straight_m: float) -> ShoreKind:
    """Return which kind of plain bank a place is on."""
    if straight_m > 0:
        return "straight bank"
    nearby = shore_at(around, np.linspace(-reach_m, reach_m, SAMPLES))
    return "curving bank" if _follows(nearby, 2) else "bank"


def _most_telling(shares: list[Share]) -> Share | None:
    """Return the share that is furthest beyond what tells something, if one is."""
    best, most = None, 1.0
    for share, (_, least) in zip(shares, TELLING, strict=True):
        telling = abs(share.land - 0.5) / least
        if share.even >= EVEN and telling >= most:
            best, most = share, telling
    return best


def _follows(path: Floats, degree: int) -> bool:
    """Return whether places follow their best line or parabola over their chord."""
    chord = path[-1] - path[0]
    length_m = float(np.hypot(*chord))
    if not length_m > 0:
        return False
    x, y = (path - path[0]) @ chord / length_m**2, cross(chord, path - path[0])
    powers = np.vander(x, degree + 1)
    rest_m = (y - powers @ np.linalg.lstsq(powers, y, rcond=None)[0]) / length_m
    return bool(np.ptp(rest_m) <= 2 * min(STRAIGHT * length_m, STRAIGHT_M))


def _narrows(part: Polygon, around: Floats, reach_m: float) -> tuple[float, bool]:
    """Return the way to the opposite shore, and whether the water is wider both ways.

    Opposite is what lies much further by the shore than over the water.
    """
    place, length_m = around[0], length_of(around)
    at_m = np.linspace(0.0, length_m, int(16 * length_m / reach_m) + 2)
    shore = shore_at(around, at_m)
    away_m = np.hypot(*(shore - place).T)
    by_shore_m = np.minimum(at_m, length_m - at_m)
    opposite = (
        (away_m <= NEAR * reach_m) & (by_shore_m >= ROUND * away_m) & (away_m > 0)
    )
    order = np.flatnonzero(opposite)[np.argsort(away_m[opposite])]
    wet = order[_over_water(part, place, shore[order])]
    if not wet.size:
        return np.inf, False
    return float(away_m[wet[0]]), _widens(part, place, shore[wet[0]])


def _over_water(part: Polygon, place: Floats, others: Floats) -> Bools:
    """Return which straight ways from a place on the shore to others stay on water."""
    ways = np.stack([np.broadcast_to(place, others.shape), others], axis=1)
    inner = ways + 0.02 * (ways[:, ::-1] - ways)
    shapely.prepare(part)
    return np.asarray(shapely.covers(part, shapely.linestrings(inner)), dtype=bool)


def _widens(part: Polygon, place: Floats, across: Floats) -> bool:
    """Return whether the water is wider than a crossing on both sides of it.

    It is looked at in a disc about the crossing, of three times its length.
    """
    width_m = float(np.hypot(*(across - place)))
    radius_m = 1.5 * width_m
    # Of a channel of even width, the part of half the disc between its two shores.
    even_m2 = width_m / 2 * np.sqrt(radius_m**2 - width_m**2 / 4)
    even_m2 += radius_m**2 * np.arcsin(width_m / 2 / radius_m)
    ahead = (across - place) / width_m * radius_m
    middle = Point((place + across) / 2)
    near = part.intersection(middle.buffer(radius_m, quad_segs=16))
    core = middle.buffer(width_m / 4)
    for aside in (np.array([-ahead[1], ahead[0]]), np.array([ahead[1], -ahead[0]])):
        ends = place - ahead, across + ahead
        half = Polygon([*ends, ends[1] + 2 * aside, ends[0] + 2 * aside])
        pieces = shapely.get_parts(polygonal(near.intersection(half)))
        if shapely.area(pieces[shapely.intersects(pieces, core)]).sum() < (
            WIDER * even_m2
        ):
            return False
    return True
