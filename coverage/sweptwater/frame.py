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
"""Across this, lengths and areas in the frame agree with the ellipsoid's to 1e-5.

Areas grow with the square of the distance from the central meridian, by 2.2e-5 at the
very edge: only water that lies all at both ends, with none between, comes near that.
"""

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
            f"+proj=tmerc +lat_0={float(self.lat)!r} +lon_0={float(self.lon)!r} +k=1 "
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
        """Return longitudes (-180 to 180) and latitudes in degrees of positions."""
        _, backward = _transformers(self)
        return backward.transform(
            np.asarray(easting, dtype=np.float64),
            np.asarray(northing, dtype=np.float64),
        )

    def metres(self, shape: Shape) -> Shape:
        """Return a shape in degrees (lon, lat) as one in metres, without heights."""
        return _moved(shape, self.to_metres)

    def degrees(self, shape: Shape) -> Shape:
        """Return a shape in metres as one in degrees (lon, lat).

        Across the antimeridian longitudes go on beyond 180 or -180, so that the shape
        stays in one piece.
        """
        return _moved(shape, self._to_near_degrees)

    def _to_near_degrees(
        self, easting: npt.ArrayLike, northing: npt.ArrayLike
    ) -> tuple[Floats, Floats]:
        lon, lat = self.to_degrees(easting, northing)
        return near_lon(lon, self.lon), lat


def near_lon(lon: npt.ArrayLike, near: float) -> Floats:
    """Return longitudes as those within 180 degrees of another, by whole turns.

    Examples
    --------
    >>> near_lon([-180.0, -179.5, 179.5], 179.0).tolist()
    [180.0, 180.5, 179.5]
    """
    lon = np.asarray(lon, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        turns = np.round((near - lon) / 360)
    return np.where(turns == 0, lon, lon + 360 * turns)


def unwrapped(shape: Shape, near: float | None = None) -> Shape:
    """Return a shape in degrees (lon, lat) with no leap at the antimeridian.

    Parameters
    ----------
    shape
        Its longitudes may leap from 180 to -180, or be cut in two there (RFC 7946,
        section 3.1.9), or count from 0 to 360.
    near
        A longitude that its first point is to lie within 180 degrees of, as it does
        of itself.

    Examples
    --------
    >>> unwrapped(shapely.LineString([(179.5, 0), (-179.5, 0)])).length
    1.0
    """
    lon = shapely.get_coordinates(shape)[:, 0]
    if not len(lon):
        return shape
    first = float(lon[0] if near is None else near_lon(lon[0], near))
    if (near_lon(lon, first) == lon).all():
        return shape

    def turned(lon: Floats, lat: Floats) -> tuple[Floats, Floats]:
        return near_lon(lon, first), lat

    return _moved(shape, turned)


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
    middle = float(near_lon((west + east) / 2, 0.0))
    frame = Frame(lon=middle, lat=(south + north) / 2)
    corners = frame.to_metres([west, east, west, east], [south, south, north, north])
    # Past a quarter of the globe a flat frame has no figure.
    across_m = (
        max(float(np.ptp(axis)) for axis in corners)
        if np.isfinite(corners).all() and east - west < 90
        else np.inf
    )
    if not across_m < WIDEST_M:
        told = f"{across_m / 1000:,.0f}" if across_m < 5e6 else "thousands of"
        raise VenueError(
            f"the outline is {told} km across and at most "
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
