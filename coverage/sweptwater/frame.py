"""The local frame: metres east and north of a venue's centre."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
import numpy.typing as npt
import shapely
from pyproj import CRS, Transformer
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats
from sweptwater.errors import VenueError

WIDEST_M = 60_000.0
"""Across this, lengths and areas in the frame agree with the ellipsoid's to 1e-5."""

Shape = TypeVar("Shape", bound=BaseGeometry)


@dataclass(frozen=True, slots=True)
class Frame:
    """A transverse Mercator on WGS 84 with scale 1 on the meridian through `lon`.

    Parameters
    ----------
    lon, lat
        The origin, in degrees.

    Examples
    --------
    >>> frame = Frame(lon=-0.65, lat=52.65)
    >>> easting, northing = frame.to_metres([-0.65, -0.64], [52.65, 52.65])
    >>> [round(float(e)) for e in easting]
    [0, 677]
    """

    lon: float
    lat: float

    @property
    def crs(self) -> CRS:
        """The frame as a projected CRS in metres, axes easting then northing."""
        return CRS.from_proj4(
            f"+proj=tmerc +lat_0={self.lat!r} +lon_0={self.lon!r} +k=1 "
            "+x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs"
        )

    def to_metres(
        self, lon: npt.ArrayLike, lat: npt.ArrayLike
    ) -> tuple[Floats, Floats]:
        """Return eastings and northings in metres of positions in degrees.

        A position that has none (further than a quarter of the globe) is infinite.
        """
        forward, _ = _transformers(self)
        return forward.transform(
            np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)
        )

    def to_degrees(
        self, easting: npt.ArrayLike, northing: npt.ArrayLike
    ) -> tuple[Floats, Floats]:
        """Return longitudes and latitudes in degrees of positions in metres."""
        _, backward = _transformers(self)
        return backward.transform(
            np.asarray(easting, dtype=np.float64),
            np.asarray(northing, dtype=np.float64),
        )

    def metres(self, shape: Shape) -> Shape:
        """Return a shape in degrees (lon, lat) as one in metres, without heights."""
        return _moved(shape, self.to_metres)

    def degrees(self, shape: Shape) -> Shape:
        """Return a shape in metres as one in degrees (lon, lat)."""
        return _moved(shape, self.to_degrees)


def frame_around(bounds_deg: Sequence[float]) -> Frame:
    """Return the frame centred on a venue.

    Parameters
    ----------
    bounds_deg
        West, south, east and north of the water, in degrees. East may be beyond 180
        where the water lies across the antimeridian.

    Raises
    ------
    VenueError
        If the water is wider or longer than `WIDEST_M`, where a flat frame would
        measure it wrongly.
    """
    west, south, east, north = map(float, bounds_deg)
    frame = Frame(lon=(west + east) / 2, lat=(south + north) / 2)
    corners = frame.to_metres([west, east, west, east], [south, south, north, north])
    across_m = max(float(np.ptp(axis)) for axis in corners)
    if not across_m < WIDEST_M:
        raise VenueError(
            f"the outline is {across_m / 1000:,.0f} km across and at most "
            f"{WIDEST_M / 1000:.0f} km can be measured truly: is it one water, and are "
            "its coordinates what they say?"
        )
    return frame


@lru_cache(maxsize=8)
def _transformers(frame: Frame) -> tuple[Transformer, Transformer]:
    degrees = CRS.from_epsg(4326)
    return (
        Transformer.from_crs(degrees, frame.crs, always_xy=True),
        Transformer.from_crs(frame.crs, degrees, always_xy=True),
    )


def _moved(shape: Shape, transform: object) -> Shape:
    return shapely.transform(shapely.force_2d(shape), transform, interleaved=False)  # type: ignore[call-overload]
