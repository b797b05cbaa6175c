"""The plane of a drawing: degrees to pixels, and shapes to the paths of SVG.

References
----------
The projection is Mercator's on the ellipsoid (J. P. Snyder, "Map projections: a
working manual", 1987, equation 7-7): north is up and small shapes keep their form.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from pyproj import Geod
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats

THINNED_PX = 0.3
"""Outlines are drawn no finer than this."""

SPECK_PX2 = 0.5
"""Parts and holes that are smaller are no more than a speck, and not drawn."""

MOST_LAT = 89.5
"""Further north and south the projection has no end."""

_WGS84 = Geod(ellps="WGS84")

Shapes = npt.NDArray[Any]
"""Shapes in an array, as shapely takes and gives them."""


class Box(NamedTuple):
    """An upright rectangle on the drawing, in pixels, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Its extent from left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Its extent from top to bottom."""
        return self.bottom - self.top

    @property
    def middle(self) -> tuple[float, float]:
        """Its centre, x before y."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def padded(self, by: float) -> "Box":
        """Return the box that reaches further, or less far, on all sides."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def on_plane(shapes: Shapes) -> Shapes:
    """Return shapes in degrees (lon, lat) on the projection, y downwards.

    One unit is one radian of the equator; `Plane` says what it is on the ground.
    """
    return shapely.transform(shapely.force_2d(shapes), _project)


@dataclass(frozen=True, slots=True)
class Plane:
    """How the projection lies on the drawing.

    Parameters
    ----------
    x0, y0
        Where the projection's origin lies, in pixels.
    scale
        Pixels a unit of the projection.
    """

    x0: float
    y0: float
    scale: float

    @classmethod
    def fitted(cls, extent: Box, room: Box) -> "Plane":
        """Return the plane on which an extent of the projection fills a room."""
        scale = min(room.width / extent.width, room.height / extent.height)
        (x, y), (across, down) = extent.middle, room.middle
        return cls(across - scale * x, down - scale * y, scale)

    def pixels(self, shapes: Shapes) -> Shapes:
        """Return shapes on the projection as shapes in pixels."""
        origin = (self.x0, self.y0)
        return shapely.transform(shapes, lambda xy: xy * self.scale + origin)

    def metres(self, x: float, y: float, *, across_px: float) -> float:
        """Return how long so many pixels from west to east are, around a place.

        Along the shortest way on the ellipsoid WGS 84.
        """
        ends = [x - across_px / 2, x + across_px / 2]
        lon = np.degrees((np.array(ends) - self.x0) / self.scale)
        lat = _latitude((self.y0 - y) / self.scale)
        _, _, length_m = _WGS84.inv(lon[0], lat, lon[1], lat)
        return float(length_m)


def area_path(shape: BaseGeometry, tolerance: float = THINNED_PX) -> str:
    """Return the path of an area in pixels, to be filled by the even-odd rule.

    It is thinned and rounded to tenths of a pixel; parts and holes that are specks at
    that tolerance are left out, but not the largest part.

    Examples
    --------
    >>> area_path(shapely.box(1, 1, 11, 11) - shapely.box(4, 4, 6.5, 6))
    'M1 1l0 10 10 0 0-10zM6.5 6l-2.5 0 0-2 2.5 0z'
    """
    parts = shapely.get_parts(shape)
    rings = shapely.get_rings(parts[shapely.get_type_id(parts) == 3])
    if not len(rings):
        return ""
    sizes = shapely.area(shapely.polygons(rings))
    speck = max(SPECK_PX2, 3 * tolerance**2)
    rings = rings[sizes >= min(speck, sizes.max())]
    drawn = [
        _path(points[:-1], "z")
        for points in _thinned_points(rings, tolerance)
        if len(points) > 2
    ]
    return "".join(drawn) or _dot(parts[0])


def _dot(shape: BaseGeometry) -> str:
    """Return the path of what is too small to have a form."""
    x, y = np.rint(shapely.get_coordinates(shape)[0] * 10).astype(int).tolist()
    return f"M{_numbers([x, y])}l.5 0 0 .5z"


def line_paths(
    shapes: Iterable[BaseGeometry], tolerance: float = THINNED_PX
) -> list[tuple[str, float]]:
    """Return path and length in pixels of each line of the shapes, thinned.

    Lines that are shorter than a pixel are left out. Lines that go on where others end
    are one.

    Examples
    --------
    >>> line_paths([shapely.LineString([(0, 0), (5, 0.1), (10, 0), (10, -4.25)])])
    [('M0 0l10 0 0-4.2', 14.2...)]
    """
    lines = np.array(
        [line for shape in shapes for line in shapely.get_parts(_merged(shape))]
    )
    lengths = shapely.length(lines) if len(lines) else np.empty(0)
    long = lengths >= 1
    return [
        (_path(points, ""), length)
        for points, length in zip(
            _thinned_points(lines[long], tolerance), lengths[long].tolist(), strict=True
        )
        if len(points) > 1
    ]


def _merged(shape: BaseGeometry) -> BaseGeometry:
    return shapely.line_merge(shape) if shape.geom_type == "MultiLineString" else shape


def _project(lonlat: Floats) -> Floats:
    lat = np.radians(np.clip(lonlat[:, 1], -MOST_LAT, MOST_LAT))
    return np.column_stack([np.radians(lonlat[:, 0]), -_isometric(np.sin(lat))])


def _isometric(sine: Any) -> Any:
    """Return the isometric latitude, in radians, of a latitude that has the sine."""
    e = np.sqrt(_WGS84.es)
    return np.arctanh(sine) - e * np.arctanh(e * sine)


def _latitude(isometric: float) -> float:
    """Return the latitude in degrees: Snyder's equation 7-9, until it stands still."""
    e = np.sqrt(_WGS84.es)
    sine = np.tanh(isometric)
    for _ in range(6):
        sine = np.tanh(isometric + e * np.arctanh(e * sine))
    return float(np.degrees(np.arcsin(sine)))


def _thinned_points(lines: Shapes, tolerance: float) -> list[npt.NDArray[np.int64]]:
    """Return the points of lines and rings in tenths of a pixel, thinned."""
    if not len(lines):
        return []
    # A ring as a line: its thinning need not mind whether it touches itself.
    xy, of = shapely.get_coordinates(lines, return_index=True)
    thin = shapely.simplify(
        shapely.linestrings(xy, indices=of), tolerance, preserve_topology=False
    )
    xy, of = shapely.get_coordinates(thin, return_index=True)
    tenths = np.rint(xy * 10).astype(np.int64)
    moves = np.ones(len(tenths), dtype=bool)
    moves[1:] = (np.diff(tenths, axis=0) != 0).any(axis=1) | (np.diff(of) != 0)
    tenths, of = tenths[moves], of[moves]
    return np.split(tenths, np.flatnonzero(np.diff(of)) + 1)


def _path(tenths: npt.NDArray[np.int64], end: str) -> str:
    """Return the path through points, with steps from each to the next."""
    steps = np.diff(tenths, axis=0).tolist()
    x, y = tenths[0].tolist()
    moves = _numbers([number for step in steps for number in step])
    return f"M{_numbers([x, y])}l{moves}{end}" if steps else ""


def _numbers(tenths: Sequence[int]) -> str:
    words = map(_number, tenths)
    return "".join(words).lstrip(" ")


@lru_cache(maxsize=1 << 16)
def _number(tenths: int) -> str:
    """Return tenths as a decimal, after a space unless the sign parts it well."""
    text = f"{tenths / 10:.1f}".removesuffix(".0")
    if 0 < abs(tenths) < 10:
        text = text.replace("0.", ".")
    return text if tenths < 0 else f" {text}"
