"""Where the things on a map may have their labels, and what speaks against it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, product
from typing import Literal, TypeAlias

import numpy as np
import shapely
from shapely import MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats
from sweptwater.paper.labels import Spot, Version
from sweptwater.paper.lettering import LINE, Anchor, shortened, text_width
from sweptwater.paper.looks import Look
from sweptwater.paper.plane import Box, Shapes
from sweptwater.water.shapes import polygonal, valid

Kind: TypeAlias = Literal["number", "place", "name"]
KINDS: tuple[Kind, ...] = ("number", "place", "name")
TURNS: tuple[Kind, ...] = ("name", "number", "place")
"""Of labels, those first that choose their places first."""

SIZES: dict[Kind, tuple[float, ...]] = {
    "number": (12.5, 10.0),
    "place": (12.5, 10.5),
    "name": (17.0, 14.0, 11.5),
}
"""Sizes of letters on a large map, best first; the next is tried where one finds no
room."""

MOST_NAME_PX = 190.0
"""Longer names are cut."""

COVERED, FOREIGN, TIPPED, RESERVED = 12.0, 15.0, 45.0, 5.0
"""Costs of a number's spot: on the piece itself that it stands beside, on another one,
where another's leader has to end, and where the name of a place would stand."""

CROSSED, OUTSIDE, BUSY = 8.0, 16.0, 7.0
"""Costs of a name's spot: on a bold line, wholly outside the area that it names, and on
the edge of a numbered piece."""

BESIDE = 20.0
"""The cost of standing off the thing, before the distance's."""

_TURNS = [math.tau * step / 16 for step in range(16)]
_COMPASS = [(1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (1, 1), (-1, -1), (-1, 1)]
_NUDGES = [(0.0, 0.0), (0.0, -0.8), (0.0, 0.8), (-0.45, 0.0), (0.45, 0.0)]
_GRID = list(product([step / 13 for step in range(1, 13)], repeat=2))

_Circle: TypeAlias = tuple[float, float, float]

_MOST_CIRCLES: dict[Kind, int] = {"number": 3, "place": 1, "name": 6}


@dataclass(frozen=True, slots=True)
class Thing:
    """Something on the map that is to have a label.

    Parameters
    ----------
    shape
        In pixels.
    look
        A point's, for the size of its symbol.
    sizes
        Of its letters, best first.
    link
        The id of what its number leads to; empty for nothing.
    """

    shape: BaseGeometry
    text: str
    kind: Kind
    look: Look
    sizes: tuple[float, ...]
    link: str = ""

    def written(self, size: float) -> str:
        """Return the text as it is drawn, which is shorter where it is too long."""
        return shortened(self.text, size, most=MOST_NAME_PX)

    def box(self, size: float) -> tuple[float, float]:
        """Return the width and height of the label in pixels."""
        width = text_width(self.written(size), size)
        if self.kind != "number":
            return width + 4, size * LINE
        framed = framed_heavily(size)
        height = size + (8 if framed else 4)
        return max(height, width + (11 if framed else 6)), height


def framed_heavily(size: float) -> bool:
    """Return whether a number of so large letters has a heavy frame."""
    return size > 10


def versions_of(
    things: Sequence[Thing],
    edges: Sequence[BaseGeometry],
    shunned: Sequence[BaseGeometry] = (),
) -> list[list[Version]]:
    """Return for each thing the ways to write its label, with all their spots.

    Parameters
    ----------
    things
        Numbered ones first.
    edges
        Bold lines, that names keep off where they can.
    shunned
        Areas that numbers keep off where they can.
    """
    off = shapely.STRtree(list(shunned))
    pieces = [thing.shape for thing in things if thing.kind == "number"]
    circles = [_circles(thing.shape, _MOST_CIRCLES[thing.kind]) for thing in things]
    tree = shapely.STRtree(pieces)
    tips = shapely.STRtree([Point(own[0][:2]) for own in circles[: len(pieces)]])
    rims = shapely.STRtree(shapely.boundary(pieces))
    lines = shapely.union_all(list(edges) or [MultiLineString()])
    shapely.prepare(lines)
    reserved = shapely.STRtree([box for thing in things for box in _name_boxes(thing)])
    versions = []
    for index, thing in enumerate(things):
        made = []
        for bare in _bare_versions(thing, circles[index]):
            boxes = _boxes(bare)
            if thing.kind == "number":
                costs = _number_costs(bare, boxes, tree, index)
                costs += TIPPED * _touched(boxes, tips, but=index)
                costs += RESERVED * _touched(boxes, reserved)
                costs += FOREIGN * _touched(boxes, off)
            else:
                costs = BUSY * _touched(boxes, rims)
                costs += CROSSED * shapely.intersects(lines, boxes)
            if thing.kind == "name":
                shapely.prepare(thing.shape)
                costs += OUTSIDE * _outside(thing.shape, bare)
            made.append(replace(bare, extra=tuple(costs.tolist())))
        versions.append(made)
    return versions


def symbol_box(x: float, y: float, look: Look) -> Box:
    """Return the box of a point's symbol with its line."""
    reach = look.radius + look.weight / 2
    return Box(x - reach, y - reach, x + reach, y + reach)


def _bare_versions(thing: Thing, circles: Sequence[_Circle]) -> Iterator[Version]:
    """Yield the ways to write a label, with spots that know of nothing else."""
    for size in thing.sizes:
        width, height = thing.box(size)
        if thing.kind == "number":
            spots = chain(
                _inside(circles, width, height), _beside(circles[0], width, height)
            )
        elif thing.kind == "name":
            spots = chain(_within(thing.shape, circles, width, height))
        else:
            spots = chain(_near(thing, width, height))
        yield Version(width, height, tuple(spots))


def _near(thing: Thing, width: float, height: float) -> Iterator[Spot]:
    """Yield spots round a point, or round points along a line."""
    if shapely.get_dimensions(thing.shape) == 0:
        x, y = shapely.get_coordinates(thing.shape)[0].tolist()
        yield from _round(x, y, _gap(thing), width, height)
        return
    for rank, part in enumerate((0.5, 0.35, 0.65, 0.2, 0.8)):
        x, y = _along(thing.shape, part)
        for spot in _round(x, y, 4, width, height):
            yield replace(spot, cost=spot.cost + rank)


def _inside(circles: Sequence[_Circle], width: float, height: float) -> Iterator[Spot]:
    """Yield spots within circles, if they leave some of their piece to be seen."""
    reach = math.hypot(width, height) / 2
    for rank, (x, y, radius) in enumerate(circles):
        if radius < 0.8 * reach:
            continue
        yield Spot(x, y, cost=2.0 * rank)
        for across, down in _COMPASS if radius > reach + 4 else ():
            off = (radius - reach) / math.hypot(across, down)
            yield Spot(x + off * across, y + off * down, cost=2.0 * rank + 1)


def _beside(circle: _Circle, width: float, height: float) -> Iterator[Spot]:
    """Yield spots all round a piece, near ones first, with leaders into it."""
    x, y, radius = circle
    for turn, further in product(_TURNS, (7, 14, 24, 36, 52, 72, 100)):
        across, down = math.cos(turn), -math.sin(turn)
        edge = min(  # from the middle of a box to its edge, in this direction
            width / 2 / max(abs(across), 1e-9), height / 2 / max(abs(down), 1e-9)
        )
        off = min(radius, 12) + further + edge
        cost = BESIDE + further / 3
        yield Spot(x + off * across, y + off * down, cost, leader=(x, y))


def _round(
    x: float, y: float, gap: float, width: float, height: float
) -> Iterator[Spot]:
    """Yield spots round a point; those further off have a leader to it."""
    for rank, (across, down) in enumerate(_COMPASS):
        slant = 0.75 if across and down else 1.0
        anchor: Anchor = "start" if across > 0 else "end" if across < 0 else "middle"
        tip = x + across * (gap * slant - 1), y + down * (gap * slant - 1)
        for further in (0, 10, 22, 36, 54, 74):
            off = gap * slant + further
            yield Spot(
                x + across * (off + width / 2),
                y + down * (off + height / 2),
                cost=rank + (further / 2 + 4 if further else 0),
                leader=tip if further else None,
                anchor=anchor,
            )


def _within(
    shape: BaseGeometry, circles: Sequence[_Circle], width: float, height: float
) -> Iterator[Spot]:
    """Yield spots in the widest parts of an area, near them, and all over it."""
    for (rank, (x, y, _)), (dx, dy) in product(enumerate(circles), _NUDGES):
        yield Spot(x + dx * width, y + dy * height, cost=rank + abs(dx) + abs(dy))
    best = np.array(circles[0][:2])
    bounds = np.array(shape.bounds)
    size = bounds[2:] - bounds[:2]
    grid = bounds[:2] + size * np.array(_GRID)
    grid = grid[shapely.contains_xy(shape, grid)]
    for x, y in grid.tolist():
        off = math.dist((x, y), best) / max(math.hypot(*size), 1.0)
        yield Spot(x, y, cost=6 + 8 * off)


def _name_boxes(thing: Thing) -> Iterator[BaseGeometry]:
    """Yield where the name of a place would best stand: right or left of it."""
    if thing.kind == "place" and shapely.get_dimensions(thing.shape) == 0:
        x, y = shapely.get_coordinates(thing.shape)[0].tolist()
        width, height = thing.box(thing.sizes[-1])
        for off in (_gap(thing), -_gap(thing) - width):
            yield shapely.box(x + off, y - height / 2, x + off + width, y + height / 2)


def _gap(thing: Thing) -> float:
    return symbol_box(0, 0, thing.look).right + 3


def _boxes(version: Version) -> Shapes:
    x = np.array([spot.x for spot in version.spots])
    y = np.array([spot.y for spot in version.spots])
    across, down = version.width / 2, version.height / 2
    return np.asarray(shapely.box(x - across, y - down, x + across, y + down))


def _number_costs(
    version: Version, boxes: Shapes, pieces: shapely.STRtree, own: int
) -> Floats:
    """Return what it costs spots to cover other pieces, or their own from beside."""
    hit, piece = pieces.query(boxes, predicate="intersects")
    beside = np.array([spot.leader is not None for spot in version.spots])
    costs = np.zeros(len(boxes))
    np.add.at(costs, hit, np.where(piece == own, COVERED * beside[hit], FOREIGN))
    return costs


def _outside(shape: BaseGeometry, version: Version) -> Floats:
    """Return which share of each box is outside a shape, by a few points of it."""
    x = np.array([spot.x for spot in version.spots])[:, None]
    y = np.array([spot.y for spot in version.spots])[:, None]
    across = version.width * np.array([-0.5, -0.25, 0, 0.25, 0.5] * 2)
    down = version.height * np.repeat([-0.5, 0.5], 5)
    inside = shapely.contains_xy(shape, x + across, y + down)
    return np.asarray(1 - inside.mean(axis=1), dtype=np.float64)


def _touched(boxes: Shapes, others: shapely.STRtree, *, but: int = -1) -> Floats:
    """Return 1 for each box that meets any of the others but one, else 0."""
    box, other = others.query(boxes, predicate="intersects")
    touched = np.zeros(len(boxes))
    touched[box[other != but]] = 1.0
    return touched


def _along(shape: BaseGeometry, part: float) -> tuple[float, float]:
    longest = max(shapely.get_parts(shape), key=shapely.length)
    point = shapely.line_interpolate_point(longest, part, normalized=True)
    return point.x, point.y


def _circles(shape: BaseGeometry, most: int) -> list[_Circle]:
    """Return x, y and radius of the largest circle inside, of the next beside it..."""
    area = polygonal(valid(shape))
    circles: list[_Circle] = []
    while len(circles) < most and not area.is_empty:
        largest = max(shapely.get_parts(area), key=shapely.area)
        line = shapely.maximum_inscribed_circle(largest, 0.5)
        (x, y), radius = line.coords[0], line.length
        if circles and radius < 6:
            break
        circles.append((x, y, radius))
        area = polygonal(area - Point(x, y).buffer(0.7 * radius + 1, quad_segs=4))
    if circles:
        return circles
    x, y = shapely.get_coordinates(shape)[0].tolist()  # a line or a point
    return [(x, y, 0.0)]
