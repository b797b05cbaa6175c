"""What the water's modules need of shapes."""

from collections.abc import Iterable

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.frame import Frame, frame_around


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
    """Return the shape, mended if it crosses itself."""
    return shape if shape.is_valid else shapely.make_valid(shape)


def water_frame(waters: Iterable[BaseGeometry]) -> Frame:
    """Return the frame centred on shapes in degrees (lon, lat).

    Longitudes that span more than half the globe lie across the antimeridian.

    Raises
    ------
    VenueError
        If the water is too wide to be measured in one frame.
    """
    where = shapely.get_coordinates(list(waters))
    if np.ptp(where[:, 0]) > 180:
        where[:, 0] %= 360
    (west, south), (east, north) = where.min(axis=0), where.max(axis=0)
    return frame_around((west, south, east, north))
