"""From any vector file that GDAL reads to shapes in degrees, repaired and explained."""

from dataclasses import dataclass
from pathlib import Path
from typing import cast

import numpy as np
import pandas as pd
import pyogrio
import shapely
from pyogrio.errors import DataSourceError
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import CRSError
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.errors import VenueError
from sweptwater.units import area_text
from sweptwater.water.shapes import polygonal, valid, water_frame

GRID_DEG = 1e-9
"""Shapes are kept to a tenth of a millimetre."""

TOUCHING_DEG = 5e-6
"""Half a metre: shapes nearer than twice this are parts of one water."""

THIN_M = 1.0
SLIVER_M2 = 1.0
SLIVER_SHARE = 1e-3
CROSSING_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class NamedShape:
    """One feature of a file, in degrees (lon, lat)."""

    number: int
    name: str
    shape: BaseGeometry


@dataclass(frozen=True, slots=True)
class Outline:
    """The water of a venue in degrees, and what was done to the file's shapes."""

    water: Area
    repairs: tuple[str, ...]


def read_features(path: Path, *, crs: str | None = None) -> list[NamedShape]:
    """Return the features of a vector file as shapes in WGS 84.

    Parameters
    ----------
    path
        GeoJSON, GeoPackage, Shapefile, KML, or anything else that GDAL reads.
    crs
        The coordinate system of a file that does not say its own.

    Raises
    ------
    VenueError
        If the file cannot be read, is empty, or its coordinates mean no place.
    """
    try:
        meta, _, blobs, fields = pyogrio.raw.read(path)
    except DataSourceError as error:
        raise VenueError(
            f"{path.name} cannot be read as a map file ({error}): give a GeoJSON, "
            "GeoPackage, Shapefile or KML file"
        ) from error
    if blobs is None or not len(blobs):
        raise VenueError(f"{path.name} holds no shapes: draw the water and save again")
    shapes = shapely.force_2d(shapely.from_wkb(blobs, on_invalid="fix"))
    shapes = _in_degrees(shapes, _crs_of(path, meta["crs"], crs))
    _check_degrees(path, shapes)
    names = _names(list(meta["fields"]), fields, len(shapes))
    return [
        NamedShape(number, name, shape)
        for number, (name, shape) in enumerate(zip(names, shapes, strict=True), 1)
        if shape is not None and not shape.is_empty
    ]


def read_outline(
    features: list[NamedShape], *, only: frozenset[int] = frozenset()
) -> Outline:
    """Return the one water that a file's features mean.

    Parameters
    ----------
    features
        What `read_features` gave.
    only
        The numbers of the features to take; all, if empty.

    Raises
    ------
    VenueError
        If there is no area, if it crosses itself past guessing, or if the features
        are several waters: the message lists them.
    """
    repairs: list[str] = []
    chosen = [item for item in features if not only or item.number in only]
    if not chosen:
        raise VenueError(
            f"the file has features 1 to {len(features)}, and none of those asked for"
        )
    areas = [
        (item, area) for item in chosen if (area := _as_area(item, repairs)) is not None
    ]
    if not areas:
        raise VenueError(_no_area(chosen))
    _check_one_water(areas)
    frame = water_frame([area for _, area in areas])
    whole = [
        (item, _repaired(frame.metres(area), item, repairs)) for item, area in areas
    ]
    water = _one_water(whole, repairs)
    water = _without_slivers(water, repairs)
    snapped = shapely.set_precision(frame.degrees(water), GRID_DEG)
    return Outline(polygonal(snapped), tuple(repairs))


def _crs_of(path: Path, own: str | None, given: str | None) -> CRS:
    if not own and not given:
        raise VenueError(
            f"{path.name} does not say its coordinate system (a Shapefile needs its "
            ".prj beside it): add it, or name it with --crs, for instance "
            "--crs EPSG:27700"
        )
    try:
        return CRS.from_user_input(own or given)
    except CRSError as error:
        raise VenueError(
            f"{given or own!r} is no coordinate system that is known here: write one "
            "like EPSG:27700"
        ) from error


def _in_degrees(shapes: np.ndarray, crs: CRS) -> np.ndarray:
    if crs.equals(CRS.from_epsg(4326), ignore_axis_order=True):
        return shapes
    transformer = Transformer.from_crs(crs, CRS.from_epsg(4326), always_xy=True)
    moved = shapely.transform(shapes, transformer.transform, interleaved=False)  # type: ignore[arg-type]
    return cast(np.ndarray, moved)


def _check_degrees(path: Path, shapes: np.ndarray) -> None:
    where = shapely.get_coordinates(shapes)
    if not len(where):
        raise VenueError(f"{path.name} holds no shapes: draw the water and save again")
    if not np.isfinite(where).all():
        raise VenueError(
            f"{path.name} has coordinates that are no place on Earth: is its "
            "coordinate system the right one?"
        )
    lon, lat = np.abs(where).max(axis=0)
    if lat > 90 and lon <= 90:
        raise VenueError(
            f"{path.name} has latitudes up to {lat:.4g}: latitude and longitude look "
            "swapped (GeoJSON puts longitude first)"
        )
    if lat > 90 or lon > 360:
        raise VenueError(
            f"{path.name} has coordinates up to {max(lon, lat):,.0f}, which are no "
            "degrees: save it in WGS 84 or with its coordinate system"
        )


def _names(columns: list[str], fields: list[np.ndarray], count: int) -> list[str]:
    lower = [column.lower() for column in columns]
    for wanted in ("name", "title", "label", "gnis_name", "id"):
        if wanted in lower:
            values = fields[lower.index(wanted)]
            return ["" if pd.isna(value) else str(value).strip() for value in values]
    return [""] * count


def _as_area(item: NamedShape, repairs: list[str]) -> Area | None:
    """Return a feature's area; a line that closes is one, points and the rest not."""
    shape = item.shape
    if isinstance(shape, Polygon | MultiPolygon):
        return shape
    if isinstance(shape, LineString) and shape.is_closed and len(shape.coords) > 3:
        repairs.append(
            f"{_called(item)} is a closed line: taken as the water inside it"
        )
        return Polygon(shape)
    if shape.geom_type == "GeometryCollection":
        parts = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
        return MultiPolygon(parts) if parts else None
    return None


def _no_area(items: list[NamedShape]) -> str:
    kinds = sorted({item.shape.geom_type for item in items})
    what = {
        "LineString": "a line that does not close",
        "MultiLineString": "lines that do not close",
        "Point": "a point",
        "MultiPoint": "points",
    }
    told = " and ".join(what.get(kind, kind) for kind in kinds)
    return (
        f"the outline is {told}, not an area: draw it as a polygon, from bank to bank "
        "and back to where it began"
    )


def _repaired(shape: Area, item: NamedShape, repairs: list[str]) -> Area:
    """Return a valid shape in metres, telling what was mended."""
    before = shapely.get_num_coordinates(shape)
    shape = shapely.remove_repeated_points(shape, 1e-4)
    if before > shapely.get_num_coordinates(shape):
        count = before - shapely.get_num_coordinates(shape)
        repairs.append(f"{_called(item)} had {count} points twice over: dropped")
    if shape.is_valid:
        return shape
    reason = shapely.is_valid_reason(shape).split("[")[0].strip().lower()
    mended = polygonal(shapely.make_valid(shape))
    if not mended.area > 0:
        raise VenueError(
            f"{_called(item)} has no area: all its points lie on a line; draw it again"
        )
    lost = _lesser_lobes(shape, mended)
    if lost > CROSSING_SHARE:
        raise VenueError(
            f"{_called(item)} crosses itself ({reason}) and cannot be told apart from "
            "the land: about a "
            f"{lost:.0%} share of it could be either; mend the crossing and try again"
        )
    repairs.append(f"{_called(item)} crossed itself ({reason}): mended")
    return mended


def _lesser_lobes(shape: Area, mended: Area) -> float:
    """Return the share of the mended water that does not belong to its main parts."""
    parts = np.sort(shapely.area(shapely.get_parts(mended)))[::-1]
    expected = len(shapely.get_parts(shape))
    return float(parts[expected:].sum() / parts.sum())


def _check_one_water(areas: list[tuple[NamedShape, Area]]) -> None:
    """Refuse features that do not touch, listing them."""
    if len(areas) == 1:
        return
    grown = [valid(area).buffer(TOUCHING_DEG, quad_segs=2) for _, area in areas]
    if len(shapely.get_parts(shapely.union_all(grown))) == 1:
        return
    sizes = [abs(Geod(ellps="WGS84").geometry_area_perimeter(a)[0]) for _, a in areas]
    listed = "; ".join(
        f"{item.number} {item.name or 'without a name'}, {area_text(size)}"
        for (item, _), size in list(zip(areas, sizes, strict=True))[:12]
    )
    more = f"; and {len(areas) - 12} more" if len(areas) > 12 else ""
    raise VenueError(
        f"the file holds several waters that do not touch: {listed}{more}. Say which "
        "with --only and their numbers"
    )


def _one_water(whole: list[tuple[NamedShape, Area]], repairs: list[str]) -> Area:
    water = polygonal(shapely.union_all([area for _, area in whole]))
    if not water.area > 0:
        raise VenueError("the outline has no area: all its points lie on a line")
    if len(whole) > 1:
        repairs.append(f"{len(whole)} shapes that touch were joined to one water")
    return water


def _without_slivers(water: Area, repairs: list[str]) -> Area:
    """Drop holes under a square metre, and parts too small and thin to be water."""
    parts = shapely.get_parts(water)
    small = (shapely.area(parts) < SLIVER_SHARE * water.area) & shapely.is_empty(
        shapely.buffer(parts, -THIN_M / 2)
    )
    holes = 0
    kept = []
    for part in parts[~small]:
        rings = [ring for ring in part.interiors if Polygon(ring).area >= SLIVER_M2]
        holes += len(part.interiors) - len(rings)
        kept.append(Polygon(part.exterior, rings))
    dropped = int(small.sum()) + holes
    if not dropped:
        return water
    repairs.append(f"{dropped} slivers were dropped")
    return polygonal(MultiPolygon(kept))


def _called(item: NamedShape) -> str:
    return (
        f"feature {item.number} ({item.name})"
        if item.name
        else (f"feature {item.number}")
    )
