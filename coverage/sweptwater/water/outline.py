"""From any vector file that GDAL reads to shapes in degrees, repaired and explained."""

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

import numpy as np
import pandas as pd
import pyogrio
import shapely
from pyogrio.errors import DataLayerError, DataSourceError
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import ProjError
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.errors import VenueError
from sweptwater.frame import Frame, unwrapped
from sweptwater.units import area_text
from sweptwater.water.mending import join_waters, mend, without_slivers
from sweptwater.water.shapes import polygonal, valid, water_frame

GRID_DEG = 1e-9
"""Shapes are kept to a tenth of a millimetre."""

TOUCHING_DEG = 5e-6
"""Half a metre: shapes nearer than twice this are parts of one water."""

LISTED = 12
CLOSED = "a ring that did not end where it began was closed"


@dataclass(frozen=True, slots=True)
class NamedShape:
    """One feature of a file, in degrees (lon, lat).

    Parameters
    ----------
    number
        Its place in the file, counting from 1 and through all layers.
    name
        What the file calls it, or nothing.
    shape
        Without heights.
    notes
        What reading mended already.
    """

    number: int
    name: str
    shape: BaseGeometry
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """A layer of a file.

    Parameters
    ----------
    shapes
        In degrees, without heights, (n,); None where a feature has none.
    heights
        Of each coordinate of all shapes, as the file has them; NaN where it has none.
    columns
        What else it says of each feature, (n,) each.
    """

    shapes: np.ndarray
    heights: np.ndarray
    columns: Mapping[str, np.ndarray]


@dataclass(frozen=True, slots=True)
class Outline:
    """The water of a venue in degrees, and what was done to the file's shapes."""

    water: Area
    repairs: tuple[str, ...]


def read_features(path: Path, *, crs: str | None = None) -> list[NamedShape]:
    """Return the features of a vector file, of all its layers, as shapes in WGS 84.

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
    features: list[NamedShape] = []
    count = 0
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        for layer in _layers(path):
            number, found = _read_layer(path, layer, crs)
            features += [replace(item, number=count + item.number) for item in found]
            count += number
    if not features:
        raise VenueError(f"{path.name} holds no shapes: draw the water and save again")
    if any("Non closed ring" in str(warning.message) for warning in caught):
        features[0] = replace(features[0], notes=(CLOSED,))
    return features


def read_tables(path: Path, *, crs: str | None = None) -> list[Table]:
    """Return the layers of a vector file with all that it says of their features.

    Raises
    ------
    VenueError
        If the file cannot be read, or its coordinates mean no place.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return [_read_table(path, layer, crs) for layer in _layers(path)]


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
    chosen = _chosen(features, only)
    repairs = [note for item in features for note in item.notes]
    areas = [
        (item, area) for item in chosen if (area := _as_area(item, repairs)) is not None
    ]
    if not areas:
        raise VenueError(_no_area(chosen))
    if len(areas) < len(chosen):
        left = len(chosen) - len(areas)
        repairs.append(f"{_counted(left, 'feature')} without area left out")
    near_deg = float(shapely.get_coordinates(areas[0][1])[0, 0])
    areas = [(i, unwrapped(area, near_deg)) for i, area in areas]
    _check_one_water(areas)
    frame = water_frame([area for _, area in areas])
    whole = _mended(areas, frame, repairs)
    water = without_slivers(join_waters(whole, repairs), repairs)
    apart = len(shapely.get_parts(water))
    if apart > 1:
        repairs.append(f"the water is {apart} parts that do not touch: all were taken")
    snapped = shapely.set_precision(frame.degrees(water), GRID_DEG)
    return Outline(polygonal(snapped), tuple(repairs))


def _layers(path: Path) -> list[str]:
    """Return the names of a file's layers that have shapes."""
    if not path.exists():
        raise VenueError(f"there is no file {path}: is the name right?")
    try:
        layers = pyogrio.list_layers(path)
    except DataSourceError as error:
        raise VenueError(_unreadable(path)) from error
    return [str(name) for name, kind in layers if kind is not None]


def _unreadable(path: Path) -> str:
    return (
        f"{path.name} cannot be read as a map file; it may be damaged or of another "
        "kind: give a GeoJSON, GeoPackage, Shapefile or KML file"
    )


def _read_layer(
    path: Path, layer: str, crs: str | None
) -> tuple[int, list[NamedShape]]:
    """Return how many features a layer has, and those with a shape."""
    table = _read_table(path, layer, crs)
    names = _names(table.columns, len(table.shapes))
    return len(names), [
        NamedShape(number, name, shape)
        for number, (name, shape) in enumerate(zip(names, table.shapes, strict=True), 1)
        if shape is not None and not shape.is_empty
    ]


def _read_table(path: Path, layer: str, crs: str | None) -> Table:
    """Return a layer of a file as it is, but in degrees."""
    try:
        driver = pyogrio.read_info(path, layer=layer)["driver"]
        meta, _, blobs, fields = pyogrio.raw.read(path, layer=layer)
    except (DataSourceError, DataLayerError) as error:
        raise VenueError(_unreadable(path)) from error
    columns = dict(zip(map(str, meta["fields"]), fields, strict=True))
    if blobs is None or not len(blobs):
        return Table(np.zeros(0, dtype=object), np.zeros(0), columns)
    high = shapely.from_wkb(blobs, on_invalid="fix")
    shapes = shapely.force_2d(high)
    heights = shapely.get_coordinates(high, include_z=True)[:, 2]
    if shapely.is_empty(shapes[shapes != np.array(None)]).all():
        return Table(shapes, heights, columns)
    own = meta["crs"]
    if driver == "GeoJSON" and own == "EPSG:4326" and crs:
        own = None  # GDAL says so of each GeoJSON; the user knows better
    shapes = _in_degrees(path, shapes, _crs_of(path, own, crs))
    _check_degrees(path, shapes)
    return Table(shapes, heights, columns)


def _crs_of(path: Path, own: str | None, given: str | None) -> CRS:
    if not own and not given:
        raise VenueError(
            f"{path.name} does not say its coordinate system (a Shapefile needs its "
            ".prj beside it): add it, or name it with --crs, for instance "
            "--crs EPSG:27700"
        )
    try:
        crs = CRS.from_user_input(own or given)
        if own and given and not crs.equals(CRS.from_user_input(given)):
            raise VenueError(
                f"{path.name} says its own coordinate system, {crs.name}, and --crs "
                f"says {given}: leave --crs out, or mend the file"
            )
    except ProjError as error:
        raise VenueError(
            f"{given or own!r} is no coordinate system that is known here: write one "
            "like EPSG:27700"
        ) from error
    return crs


def _in_degrees(path: Path, shapes: np.ndarray, crs: CRS) -> np.ndarray:
    degrees = CRS.from_epsg(4326)
    if crs.equals(degrees, ignore_axis_order=True):
        return shapes
    try:
        transformer = Transformer.from_crs(crs, degrees, always_xy=True)
    except ProjError as error:
        raise VenueError(
            f"the coordinate system of {path.name}, {crs.name}, is no place on Earth: "
            "save it in WGS 84"
        ) from error
    moved = shapely.transform(shapes, transformer.transform, interleaved=False)  # type: ignore[arg-type]
    return cast(np.ndarray, moved)


def _check_degrees(path: Path, shapes: np.ndarray) -> None:
    where = shapely.get_coordinates(shapes)
    if not np.isfinite(where).all():
        raise VenueError(
            f"{path.name} has coordinates that are no place on Earth: is its "
            "coordinate system the right one?"
        )
    lon, lat = np.abs(where).max(axis=0)
    if 90 < lat <= 360 and lon <= 90:
        raise VenueError(
            f"{path.name} has latitudes up to {lat:.4g}: latitude and longitude look "
            "swapped (GeoJSON puts longitude first)"
        )
    if lat > 90 or lon > 360:
        raise VenueError(
            f"{path.name} has coordinates up to {max(lon, lat):,.0f}, which are no "
            "degrees: save it in WGS 84, or name its coordinate system with --crs"
        )


def _names(columns: Mapping[str, np.ndarray], count: int) -> list[str]:
    lower = {column.lower(): values for column, values in columns.items()}
    for wanted in ("name", "title", "label", "gnis_name", "id"):
        if (values := lower.get(wanted)) is not None:
            return ["" if pd.isna(value) else str(value).strip() for value in values]
    return [""] * count


def _chosen(features: list[NamedShape], only: frozenset[int]) -> list[NamedShape]:
    missing = sorted(only - {item.number for item in features})
    if missing:
        last = max(item.number for item in features)
        raise VenueError(
            f"the file has features 1 to {last}, and no shape with the number "
            f"{', '.join(map(str, missing))}"
        )
    return [item for item in features if not only or item.number in only]


def _as_area(item: NamedShape, repairs: list[str]) -> Area | None:
    """Return a feature's area; a line that closes is one, points and the rest not."""
    shape = item.shape
    if isinstance(shape, Polygon | MultiPolygon):
        return shape
    if shape.geom_type == "MultiLineString":
        shape = shapely.line_merge(shape)
    if isinstance(shape, LineString) and shape.is_closed and len(shape.coords) > 3:
        repairs.append(
            f"{_called(item)} is a closed line: taken as the water inside it"
        )
        return Polygon(shape)
    area = polygonal(shape)
    return None if area.is_empty else area


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


def _mended(
    areas: list[tuple[NamedShape, Area]], frame: Frame, repairs: list[str]
) -> list[Area]:
    """Return in metres what of the features has area."""
    whole = []
    for item, area in areas:
        mended = mend(frame.metres(area), _called(item), repairs)
        if not mended.is_empty:
            whole.append(mended)
        elif len(areas) > 1:
            repairs.append(f"{_called(item)} has no area: left out")
    if not whole:
        raise VenueError(
            "the outline has no area: all its points lie on a line; draw it again"
        )
    return whole


def _check_one_water(areas: list[tuple[NamedShape, Area]]) -> None:
    """Refuse features that do not touch, listing them."""
    grown = [valid(area).buffer(TOUCHING_DEG, quad_segs=2) for _, area in areas]
    if _hang_together(grown):
        return
    geod = Geod(ellps="WGS84")
    sizes = [
        abs(geod.geometry_area_perimeter(shapely.orient_polygons(area))[0])
        for _, area in areas
    ]
    listed = "; ".join(
        f"{item.number} {item.name or 'without a name'}, {area_text(size)}"
        for (item, _), size in list(zip(areas, sizes, strict=True))[:LISTED]
    )
    more = f"; and {len(areas) - LISTED} more" if len(areas) > LISTED else ""
    raise VenueError(
        f"the file holds several waters that do not touch: {listed}{more}. Say which "
        "with --only and their numbers"
    )


def _hang_together(shapes: Sequence[Area]) -> bool:
    """Tell whether each shape can be reached from the first by shapes that meet."""
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    reached = np.zeros(len(shapes), dtype=bool)
    reached[0] = True
    count = 0
    while count < (count := int(reached.sum())):
        reached[other[reached[one]]] = True
    return bool(reached.all())


def _called(item: NamedShape) -> str:
    return f"feature {item.number}" + (f" ({item.name})" if item.name else "")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
