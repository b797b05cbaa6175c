"""Distance and way by water: straight where that stays afloat, else round the land."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point, Polygon

from sweptwater.arrays import Area, Floats
from sweptwater.errors import VenueError
from sweptwater.water.channels import Room, find_room
from sweptwater.water.shapes import polygonal
from sweptwater.water.taut import Net

MARGIN_M = 5.0
"""Runs keep so far off the shore where there is room."""

FURTHER = 3.0
"""A way round water to be avoided is at most so many times the shortest one."""

ASIDE_M = 1.0
"""It keeps so far from that water."""


OUT_TIMES, OUT_M = 4.0, 20.0
"""From within that water, so many times the distance to its edge and so many metres
lead out of it: the nearest edge may be that of a pocket. More is leading through."""


@dataclass(frozen=True, slots=True)
class Way:
    """A way by water, in metres.

    Parameters
    ----------
    line
        From start to end; of no length where they are one place.
    through
        Whether it had to lead through the water that was to be avoided.
    """

    line: LineString
    through: bool = False

    @property
    def length_m(self) -> float:
        """Its length."""
        return float(self.line.length)


class Ways:
    """Ways over one water: exact, but that the shore's finest corners are cut off.

    A place that is not on the water, such as a jetty, counts from the water nearest
    to it, and the straight line there. Cheap to make: what it needs it works out when
    it is first asked, and keeps.

    Parameters
    ----------
    water
        In metres.
    shut
        Where no boat may run.
    margin_m
        How far off the shore runs keep, above 0; in places that are too narrow less.

    Examples
    --------
    >>> bent = Polygon([(0, 0), (90, 0), (90, 30), (30, 30), (30, 90), (0, 90)])
    >>> ways = Ways(bent, margin_m=1.0)
    >>> ways.lengths_m([(15, 80)], [(80, 15), (15, 50)]).round().tolist()
    [[105.0, 30.0]]
    >>> ways.way((15, 80), (15, 50)).line.wkt
    'LINESTRING (15 80, 15 50)'
    """

    def __init__(
        self, water: Area, shut: Area | None = None, *, margin_m: float = MARGIN_M
    ) -> None:
        self._net = Net(find_room(water, shut, margin_m=margin_m))

    def lengths_m(self, starts: npt.ArrayLike, ends: npt.ArrayLike) -> Floats:
        """Return the lengths of the ways from each start to each end.

        Parameters
        ----------
        starts, ends
            Of shape (n, 2) and (m, 2).

        Returns
        -------
        Of shape (n, m); infinite where no water leads there.
        """
        return self._net.lengths_m(
            self._net.meet(_places(starts)), self._net.meet(_places(ends))
        )

    def way(
        self, start: npt.ArrayLike, end: npt.ArrayLike, *, avoid: Area | None = None
    ) -> Way:
        """Return the shortest way from a start to an end.

        Parameters
        ----------
        start, end
            Places, shape (2,).
        avoid
            Water to go round, such as what is still to be fished. The way leads
            through it only where every other is over `FURTHER` times as long as the
            shortest. Where start or end lie in it, the short way out of it is no
            leading through.

        Raises
        ------
        VenueError
            If no water leads there.
        """
        net = self._net
        found = net.shortest(net.meet(_places(start)), net.meet(_places(end)))
        if found is None:
            raise VenueError(
                "no water leads from one of two places to the other: look whether a "
                "zone out of bounds parts the water, or the outline has two waters"
            )
        line = LineString(found)
        if avoid is None or not avoid.intersects(line):
            return Way(line)
        return _round(net.room, line, avoid)


def _round(room: Room, line: LineString, avoid: Area) -> Way:
    """Return the shortest way round some water, or the given one through it."""
    ends = [Point(line.coords[0]), Point(line.coords[-1])]
    out_m = sum(p.distance(avoid.boundary) for p in ends if avoid.intersects(p))
    if avoid.intersection(line).length <= out_m + 2 * ASIDE_M:
        return Way(line)
    clear_m = OUT_TIMES * out_m + OUT_M
    most_m = FURTHER * line.length
    # No way of that length leaves this disc; and being convex it adds no corner.
    disc = LineString(ends).centroid.buffer(most_m / 2 + 2 * ASIDE_M, quad_segs=8)
    near = avoid.intersection(disc).buffer(ASIDE_M, join_style="mitre")
    grown = polygonal(near.simplify(0.8 * ASIDE_M))
    left = room.free.intersection(disc).difference(grown, grid_size=1e-4)
    found = [
        way
        for piece in shapely.get_parts(left)
        if piece.geom_type == "Polygon"
        for way in [_over(piece, room, ends, grown)]
        if way is not None and way.length <= most_m
    ]

    def through_m(way: LineString) -> float:
        return float(avoid.intersection(way).length)

    clear = [way for way in found if through_m(way) <= clear_m]
    # Of two ways out of that water, rather the one through less of it.
    way = min(clear or [line, *found], key=lambda w: w.length + 2 * through_m(w))
    return Way(way, through=not clear)


def _over(
    piece: Polygon, room: Room, ends: list[Point], grown: Area
) -> LineString | None:
    """Return a way over one piece of a room, and out of the water to avoid at ends."""
    legs = []
    for end in ends:
        leg = shapely.shortest_line(end, piece)
        xy = shapely.get_coordinates(leg)
        crosses = room.water.intersects(end) and not room.on_water(xy[:1], xy[1:])[0]
        if leg.length > 0 and crosses:
            return None
        inside = grown.intersects(end)
        if not inside and leg.intersection(grown).length > ASIDE_M:
            return None
        legs.append(xy)
    net = Net(Room(piece, piece))
    found = net.shortest(net.meet(legs[0][1:]), net.meet(legs[1][1:]))
    if found is None:
        return None
    whole = np.vstack([legs[0][:1], found, legs[1][:1]])
    moves = np.any(np.diff(whole, axis=0) != 0, axis=1)
    return LineString(whole[np.r_[True, moves]])


def _places(places: npt.ArrayLike) -> Floats:
    return np.asarray(places, dtype=np.float64).reshape(-1, 2)
