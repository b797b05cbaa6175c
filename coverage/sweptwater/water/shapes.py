"""What the water's modules need of shapes."""

from collections.abc import Iterable

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.frame import Frame, frame_around, near_lon

GRID_M = 1e-4
"""Shapes are cut on a grid of a tenth of a millimetre: floats alone leave spikes."""


def polygonal(shape: BaseGeometry) -> Area:
    """Return only what has area, as one polygon if it is one.

    Examples
    --------
    >>> both = shapely.from_wkt(
    ...     "GEOMETRYCOLLECTION (POINT (0 0), POLYGON ((0 0, 1 0, 0 1, 0 0)))"
    ... )
    >>> polygonal(both).geom_type, polygonal(shapely.Point(0, 0)).area
    ('Polygon', 0.0)
    """
    parts = [
        part
        for outer in shapely.get_parts(shape)
        for part in shapely.get_parts(outer)
        if part.geom_type == "Polygon" and not part.is_empty
    ]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def valid(shape: BaseGeometry) -> BaseGeometry:
    """Return the shape, mended if it crosses itself or its parts overlap.

    Examples
    --------
    >>> twice = MultiPolygon([shapely.box(0, 0, 2, 2), shapely.box(1, 1, 3, 3)])
    >>> valid(twice).area
    7.0
    """
    if shape.is_valid:
        return shape
    # The other method makes holes where parts overlap, and water of islands that
    # stick out of their lake.
    return shapely.make_valid(shape, method="structure", keep_collapsed=False)


def water_frame(waters: Iterable[BaseGeometry]) -> Frame:
    """Return the frame centred on shapes in degrees (lon, lat).

    Longitudes are taken as those nearest to the first one, so that water across the
    antimeridian is in one piece.

    Raises
    ------
    VenueError
        If the water is too wide to be measured in one frame.
    """
    where = shapely.get_coordinates(list(waters))
    where[:, 0] = near_lon(where[:, 0], where[0, 0])
    (west, south), (east, north) = where.min(axis=0), where.max(axis=0)
    return frame_around((west, south, east, north))
