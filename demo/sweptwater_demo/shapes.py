"""Keeping the areas of what a cut or a union leaves."""

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area


def polygonal(shape: BaseGeometry) -> Area:
    """Return the polygons of a shape, without the lines and points it may have.

    Examples
    --------
    >>> touching = shapely.box(0, 0, 1, 1) & shapely.box(1, 0, 2, 1)
    >>> touching.geom_type, polygonal(touching).area
    ('LineString', 0.0)
    """
    if isinstance(shape, Polygon | MultiPolygon):
        return shape
    parts = shapely.get_parts(shapely.get_parts(shape))
    return MultiPolygon([part for part in parts if isinstance(part, Polygon)])
