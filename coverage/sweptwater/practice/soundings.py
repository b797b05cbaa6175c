"""Soundings and contours as they stand in `venue.geojson`.

Soundings are many, so that one feature holds all of a file: a MultiPoint whose third
coordinate is the height of the bottom above the full level in metres, which is below 0.
A point with a property `depth_m` is a sounding too, and a contour needs that property.

References
----------
RFC 7946, section 3.1.1: a third coordinate is a height in metres, upwards.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiPoint
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats
from sweptwater.errors import PracticeError
from sweptwater.frame import near_lon

DEEPEST_M = 300.0
"""No reservoir is fished over more: such a depth is in another unit, or no depth."""


def sounding_shape(
    lon: npt.ArrayLike, lat: npt.ArrayLike, depth_m: npt.ArrayLike
) -> BaseGeometry:
    """Return soundings as one shape, in degrees and with heights.

    Examples
    --------
    >>> sounding_shape([2.3], [54.9], [6.5]).wkt
    'MULTIPOINT Z ((2.3 54.9 -6.5))'
    """
    points = np.column_stack((lon, lat, -np.asarray(depth_m, dtype=np.float64)))
    return MultiPoint(points + 0.0)  # no zero below zero


def sounded(shape: BaseGeometry) -> tuple[Floats, Floats, Floats]:
    """Return longitudes, latitudes and depths (m) of a feature of soundings."""
    lon, lat, height_m = shapely.get_coordinates(shape, include_z=True).T
    return lon, lat, 0.0 - height_m


def read_soundings(
    shape: BaseGeometry, properties: Mapping[str, Any], called: str
) -> BaseGeometry:
    """Return a feature of soundings as `sounding_shape` makes it.

    Raises
    ------
    PracticeError
        If one has no depth, or an impossible one.
    """
    lon, lat, depth_m = sounded(shape)
    if properties.get("depth_m") is not None:
        depth_m = np.full(len(lon), read_depth(properties, called))
    if not np.isfinite(depth_m).all():
        raise PracticeError(
            f"{called} is a sounding without a depth: give it a depth_m in metres, or "
            "delete it"
        )
    wrong = (depth_m < 0) | (depth_m > DEEPEST_M)
    if wrong.any():
        raise PracticeError(
            f"{called} has a depth of {depth_m[wrong][0]:g} m: it must lie between 0 "
            f"and {DEEPEST_M:.0f}, and a third coordinate is below 0"
        )
    return sounding_shape(near_lon(lon, float(lon[0])), lat, depth_m)


def read_depth(properties: Mapping[str, Any], called: str) -> float:
    """Return the depth that a feature's properties tell, in metres.

    Raises
    ------
    PracticeError
        If they tell none, or an impossible one.
    """
    told = properties.get("depth_m")
    number = isinstance(told, int | float) and not isinstance(told, bool)
    if not number or not 0 <= float(told) <= DEEPEST_M:  # type: ignore[arg-type]
        raise PracticeError(
            f"{called} has the depth_m {told!r}: write a number of metres from 0 to "
            f"{DEEPEST_M:.0f}, or delete it"
        )
    return float(told)  # type: ignore[arg-type]
