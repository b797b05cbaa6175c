"""Where a boat may run: the water less a margin, wherever the margin leaves a way.

Runs bend only round the corners of that room, and see each other only within it.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from sweptwater.arrays import Area, Bools, Floats, Ints
from sweptwater.water.shapes import polygonal, valid

HAIR_M = 0.2
"""In places narrower than two margins, runs keep this far off the shore."""

SLACK_M = 0.02
"""Lines that leave the room by no more than this are within it."""


@dataclass(frozen=True)
class Room:
    """The room that runs have, in metres.

    Parameters
    ----------
    water
        The water itself, less what is shut.
    free
        Where runs may lead.
    """

    water: Area
    free: Area

    @cached_property
    def corners(self) -> "Corners":
        """The places where runs may bend."""
        return reflex_corners(self.free)

    @cached_property
    def _loose(self) -> Area:
        loose = polygonal(self.free.buffer(SLACK_M, join_style="mitre"))
        shapely.prepare(loose)
        return loose

    @cached_property
    def _water_loose(self) -> Area:
        loose = polygonal(self.water.buffer(SLACK_M, join_style="mitre"))
        shapely.prepare(loose)
        return loose

    def sees(self, starts: Floats, ends: Floats) -> Bools:
        """Return whether straight lines, shape (n, 2) to (n, 2), stay in the room."""
        lines = shapely.linestrings(np.stack([starts, ends], axis=1))
        return np.asarray(shapely.contains_properly(self._loose, lines))

    def on_water(self, starts: Floats, ends: Floats) -> Bools:
        """Return whether straight lines, shape (n, 2) to (n, 2), stay on the water."""
        lines = shapely.linestrings(np.stack([starts, ends], axis=1))
        return np.asarray(shapely.contains_properly(self._water_loose, lines))

    def entries(self, places: Floats) -> Floats:
        """Return for each place, shape (n, 2), where it meets the room.

        Its own place if it is within it, else the nearest one, across the water if
        the place is on the water.
        """
        points = np.asarray(shapely.points(places))
        shapely.prepare(self.free)
        out = np.array(places, dtype=np.float64)
        astray = np.flatnonzero(~shapely.intersects(self.free, points))
        if not len(astray):
            return out
        way = shapely.shortest_line(points[astray], self.free)
        out[astray] = shapely.get_coordinates(way).reshape(-1, 2, 2)[:, 1]
        afloat = shapely.intersects(self.water, points[astray])
        crosses = afloat & ~self.on_water(places[astray], out[astray])
        for index in astray[crosses]:
            out[index] = _entry_by_water(self, points[index], out[index])
        return out


@dataclass(frozen=True)
class Corners:
    """Places where land sticks out, with the shore's corners before and after each.

    Each of shape (n, 2), in metres.
    """

    at: Floats
    before: Floats
    after: Floats

    def __len__(self) -> int:
        return len(self.at)

    def __getitem__(self, chosen: Ints) -> "Corners":
        return Corners(self.at[chosen], self.before[chosen], self.after[chosen])

    def tangent(self, toward: Floats) -> Bools:
        """Return whether lines to other places leave each corner on one side.

        Only along such a line can a shortest way bend here.

        Parameters
        ----------
        toward
            Of shape (..., n, 2): for each corner a place.
        """
        ray = toward - self.at
        one = _cross(ray, self.before - self.at)
        two = _cross(ray, self.after - self.at)
        hair = 1e-9 * np.hypot(ray[..., 0], ray[..., 1])
        return np.asarray(
            ((one >= -hair) & (two >= -hair)) | ((one <= hair) & (two <= hair))
        )


def find_room(water: Area, shut: Area | None = None, *, margin_m: float) -> Room:
    """Return where runs may lead on a water.

    Where the water less the margin would part, the narrows are kept all but whole.

    Parameters
    ----------
    water, shut
        In metres; what is shut is no water.
    margin_m
        How far off the shore runs keep, above 0.
    """
    if shut is not None and not shut.is_empty:
        water = polygonal(shapely.difference(water, shut, grid_size=1e-4))
    wide = _less(water, margin_m)
    narrow = narrows(water, wide, margin_m)
    wide = polygonal(valid(wide.simplify(margin_m / 5)))
    all_but = _less(water, HAIR_M)
    free = _through_gates(water, wide, margin_m)
    if len(narrow):
        free = _with(free, all_but, narrow, 1.8 * margin_m)
    for reach in (2.7, 5.4, 10.8, 43.2):
        stray = _stray(free, all_but)
        if not len(stray):
            break
        free = _with(free, all_but, stray, reach * margin_m)
    return Room(water, free)


def reflex_corners(free: Area) -> Corners:
    """Return the corners of an area at which it is wider than a half turn.

    Examples
    --------
    >>> bent = shapely.Polygon([(0, 0), (9, 0), (9, 3), (3, 3), (3, 9), (0, 9)])
    >>> reflex_corners(bent).at.tolist()
    [[3.0, 3.0]]
    """
    found: list[tuple[Floats, Floats, Floats]] = []
    for part in shapely.get_parts(shapely.orient_polygons(free)):
        for ring in (part.exterior, *part.interiors):
            at = shapely.get_coordinates(ring)[:-1]
            before, after = np.roll(at, 1, axis=0), np.roll(at, -1, axis=0)
            turns = _cross(at - before, after - at) < 0
            found.append((at[turns], before[turns], after[turns]))
    if not found:
        nowhere = np.zeros((0, 2))
        return Corners(nowhere, nowhere, nowhere)
    at, before, after = (np.vstack(column) for column in zip(*found, strict=True))
    return Corners(at, before, after)


def _less(water: Area, by_m: float) -> Area:
    return polygonal(water.buffer(-by_m, quad_segs=4))


def _with(free: Area, all_but: Area, about: np.ndarray, reach_m: float) -> Area:
    """Return the room with all but the last of the water about some pieces."""
    near = shapely.union_all(shapely.buffer(about, reach_m, quad_segs=2))
    kept = polygonal(all_but.intersection(near))
    return polygonal(shapely.union(free, kept, grid_size=1e-4))


def _stray(free: Area, all_but: Area) -> np.ndarray:
    """Return the pieces of the room that hang together with a larger by water only."""
    pieces = shapely.get_parts(free)
    of, piece = shapely.STRtree(pieces).query(
        shapely.get_parts(all_but), predicate="intersects"
    )
    area_m2 = shapely.area(pieces)
    main = {int(max(piece[of == w], key=lambda p: area_m2[p])) for w in np.unique(of)}
    return pieces[[p for p in np.unique(piece) if p not in main]]


def narrows(water: Area, wide: Area, margin_m: float) -> np.ndarray:
    """Return the water that is too narrow for the margin on both sides.

    What joins wide water to wide water, or goes on for some margins; but not the
    corners of the shore.

    Parameters
    ----------
    water, wide
        The water, and what of it is further off the shore than the margin, in metres.
    """
    if wide.is_empty:
        return shapely.get_parts(water)
    # A hair more, since arcs are drawn with corners.
    opened = wide.buffer(1.02 * margin_m, quad_segs=8)
    pieces = shapely.get_parts(polygonal(water.difference(opened)))
    edges = shapely.boundary(pieces)
    gates = shapely.line_merge(shapely.intersection(edges, opened.buffer(1e-3)))
    return pieces[
        (shapely.get_num_geometries(gates) != 1)
        | (shapely.area(pieces) > 2 * margin_m**2)
    ]


def _through_gates(water: Area, wide: Area, margin_m: float) -> Area:
    """Return the room with a line through each gate that the margin shuts.

    A gate is where two points of land come near each other, open water on both sides:
    the water before them is wide, and yet the margins meet.
    """
    chords = _short_chords(water, 2 * margin_m)
    if wide.is_empty or not len(chords):
        return wide
    middle, along = chords.mean(axis=1), np.diff(chords, axis=1)[:, 0]
    across = np.column_stack([along[:, 1], -along[:, 0]])
    across *= 1.4 * margin_m / np.hypot(*across.T)[:, None]
    rays = [
        np.asarray(shapely.linestrings(np.stack([middle, middle + way], axis=1)))
        for way in (across, -across)
    ]
    shapely.prepare(wide)
    through = shapely.intersects(wide, rays[0]) & shapely.intersects(wide, rays[1])
    if not through.any():
        return wide
    points = shapely.points(middle[through])
    ends = []
    for way, ray in zip((across, -across), rays, strict=True):
        # Where the ray enters the wide water, and a step on.
        enters = shapely.intersection(ray[through], wide)
        part = shapely.distance(points, enters) / (1.4 * margin_m) + 0.02
        ends.append(middle[through] + part[:, None] * way[through])
    lines = np.asarray(shapely.linestrings(np.stack(ends, axis=1)))
    shapely.prepare(water)
    lanes = shapely.buffer(lines, HAIR_M, cap_style="square")
    lanes = lanes[shapely.covers(water, lanes)]
    return polygonal(shapely.union_all([wide, *lanes], grid_size=1e-4))


def _short_chords(water: Area, most_m: float) -> Floats:
    """Return short lines over water between corners of land and the next shore.

    Shape (n, 2, 2).
    """
    corners = reflex_corners(water).at
    edges = np.concatenate(
        [
            np.stack([xy[:-1], xy[1:]], axis=1)
            for part in shapely.get_parts(water)
            for ring in (part.exterior, *part.interiors)
            for xy in [shapely.get_coordinates(ring)]
        ]
    )
    sides = np.asarray(shapely.linestrings(edges))
    points = np.asarray(shapely.points(corners))
    corner, side = shapely.STRtree(sides).query(points, "dwithin", distance=most_m)
    chords = shapely.shortest_line(points[corner], sides[side])
    length_m = shapely.length(chords)
    middle = shapely.line_interpolate_point(chords, 0.5, normalized=True)
    shapely.prepare(water)
    chosen = (length_m > 2 * HAIR_M) & shapely.intersects(water, middle)
    return shapely.get_coordinates(chords[chosen]).reshape(-1, 2, 2)


def _entry_by_water(room: Room, point: shapely.Point, else_at: Floats) -> Floats:
    """Return the nearest place of the room on a place's own side of the land."""
    for reach_m in (10.0, 30.0, 100.0):
        about = room.water.intersection(point.buffer(reach_m))
        mine = [part for part in shapely.get_parts(about) if part.intersects(point)]
        here = room.free.intersection(shapely.union_all(mine))
        if not here.is_empty:
            way = shapely.shortest_line(point, here)
            return np.asarray(shapely.get_coordinates(way)[1])
    return else_at


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
