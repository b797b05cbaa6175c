"""The water that nobody has visited, as pieces one could send a boat to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Point

from sweptwater.arrays import Area
from sweptwater.water.shapes import GRID_M, polygonal


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of unfished water, in metres.

    Parameters
    ----------
    number
        Counting from 1, the largest first.
    shape
        The piece.
    middle
        The place furthest from swept water and from its edge.
    diameter_m
        The width there: of the largest circle that fits.
    """

    number: int
    shape: Area
    middle: Point
    diameter_m: float

    @property
    def area_m2(self) -> float:
        """Its area."""
        return float(self.shape.area)


def unfished_water(fishable: Area, swept: Area) -> Area:
    """Return the fishable water that no drift has swept."""
    return polygonal(fishable.difference(swept))


def unfished_pieces(
    unfished: Area,
    sectors: Sequence[Area] = (),
    *,
    at_least_m2: float,
    narrowest_m: float,
) -> tuple[Piece, ...]:
    """Return the pieces of unfished water, the largest first.

    Water narrower than `narrowest_m` is no place to send a boat to: it is left out,
    and parts what it joins. So do the edges of sectors, since each piece is one pair's
    job. Water in no sector is listed like the rest.
    """
    nobodys = shapely.difference(
        unfished, shapely.union_all(list(sectors)), grid_size=GRID_M
    )
    parts = np.concatenate(
        [
            shapely.get_parts(
                _places(polygonal(unfished.intersection(area)), narrowest_m)
            )
            for area in (*sectors, nobodys)
        ]
    )
    areas = shapely.area(parts)
    kept = parts[areas >= at_least_m2][np.argsort(-areas[areas >= at_least_m2])]
    return tuple(_piece(number, part) for number, part in enumerate(kept, 1))


def _places(unfished: Area, narrowest_m: float) -> Area:
    """Return the water without what is too narrow: opened, as morphology calls it."""
    core = unfished.buffer(-narrowest_m / 2, quad_segs=4)
    grown = core.buffer(narrowest_m / 2, join_style="mitre", mitre_limit=2.0)
    parts = shapely.get_parts(polygonal(grown.intersection(unfished)))
    # What the growing reached beyond a swept strip is not wide enough itself.
    return polygonal(shapely.union_all(parts[shapely.intersects(parts, core)]))


def sector_of(point: Point, sectors: Mapping[str, Area]) -> str | None:
    """Return the sector that a place lies in, or the nearest."""
    if not sectors:
        return None
    names = list(sectors)
    away = shapely.distance([sectors[name] for name in names], point)
    return names[int(np.argmin(away))]


def _piece(number: int, shape: Area) -> Piece:
    radius = shapely.maximum_inscribed_circle(shape, tolerance=1.0)
    return Piece(number, shape, Point(radius.coords[0]), 2 * float(radius.length))
