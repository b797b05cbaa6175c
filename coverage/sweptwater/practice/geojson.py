"""The venue and the sectors as GeoJSON, the way they are kept in the folder.

References
----------
RFC 7946: positions are longitude, latitude in WGS 84 degrees; outer rings run
counterclockwise.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal, TypeAlias, get_args

import shapely
from shapely import affinity
from shapely.geometry import mapping, shape
from shapely.geometry.base import BaseGeometry

from sweptwater.errors import PracticeError
from sweptwater.frame import unwrapped
from sweptwater.practice.soundings import read_depth, read_soundings
from sweptwater.practice.tables import near_words

Kind: TypeAlias = Literal[
    "water",
    "out-of-bounds",
    "jetty",
    "mark",
    "bank",
    "bank-anglers",
    "sounding",
    "contour",
]
KINDS: tuple[Kind, ...] = get_args(Kind)

POINT_KINDS: tuple[Kind, ...] = ("jetty", "mark")
AREAS = ("Polygon", "MultiPolygon")
POINTS = ("Point", "MultiPoint")
LINES = ("LineString", "MultiLineString")

SHAPES: Mapping[Kind, tuple[str, ...]] = {
    "water": AREAS,
    "out-of-bounds": AREAS,
    "jetty": POINTS,
    "mark": POINTS,
    "bank": (*POINTS, *LINES),
    "bank-anglers": (*AREAS, *LINES),
    "sounding": POINTS,
    "contour": (*LINES, *AREAS),
}
"""What a feature of each kind may be drawn as."""

DRAWN: Mapping[Kind, str] = {
    "water": "area",
    "out-of-bounds": "area",
    "jetty": "point",
    "mark": "point",
    "bank": "point or line",
    "bank-anglers": "area or line",
    "sounding": "point",
    "contour": "line or area",
}
"""The same in words."""

AGAIN = "move the file away and divide the water again"
MEND = {"venue": "put a saved copy back", "sectors": AGAIN}

PLACES = 9
"""Decimals of a degree that are kept: a tenth of a millimetre."""


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing of the venue: a shape in degrees (lon, lat).

    Parameters
    ----------
    shape
        Of soundings, as `soundings.sounding_shape` makes it.
    depth_m
        How deep the water is along a contour.
    """

    kind: Kind
    name: str
    shape: BaseGeometry
    depth_m: float | None = None


@dataclass(frozen=True, slots=True)
class SectorShape:
    """One sector as it is kept: a shape in degrees (lon, lat).

    Parameters
    ----------
    pair
        Whose it is, on every day that `days` does not name.
    days
        Whose it is on some days, if the pairs change round.
    weight
        The share that was asked for it, in the same unit for all sectors.
    """

    name: str
    pair: str
    shape: BaseGeometry
    days: Mapping[date, str] = field(default_factory=dict)
    weight: float = 1.0

    def pair_on(self, day: date) -> str:
        """Return whose the sector is on a day; nobody's is empty."""
        return self.days.get(day, self.pair)


def venue_text(features: Iterable[Feature]) -> str:
    """Return the text of a `venue.geojson`."""
    return collection_text(
        (
            {
                "kind": item.kind,
                "name": item.name,
                **({} if item.depth_m is None else {"depth_m": item.depth_m}),
            },
            item.shape,
        )
        for item in features
    )


def sectors_text(sectors: Iterable[SectorShape]) -> str:
    """Return the text of a `sectors.geojson`."""
    return collection_text((_said_of(item), item.shape) for item in sectors)


def parse_venue(text: str) -> tuple[Feature, ...]:
    """Return the features of a `venue.geojson`.

    Raises
    ------
    PracticeError
        If the text is not GeoJSON, or a feature has no known kind, or not the shape
        that goes with it.
    """
    features = []
    for number, (properties, geometry) in enumerate(_features(text, "venue"), 1):
        kind = properties.get("kind")
        if kind not in KINDS:
            near = near_words(str(kind), KINDS)
            raise PracticeError(
                f"venue.geojson: feature {number} has the kind {kind!r}; it must be "
                f"one of {', '.join(KINDS)}{f';{near}' if near else ''}"
            )
        wanted = SHAPES[kind]
        if geometry.geom_type not in wanted:
            single = " or a ".join(wanted[::2])
            raise PracticeError(
                f"venue.geojson: feature {number} is a {geometry.geom_type}, and "
                f"{kind} must be a {single}: draw it so, or delete it"
            )
        name, called = (
            str(properties.get("name") or ""),
            f"venue.geojson: feature {number}",
        )
        if kind == "sounding":
            geometry = read_soundings(geometry, properties, called)
        depth_m = read_depth(properties, called) if kind == "contour" else None
        features.append(Feature(kind, name, geometry, depth_m))
    return tuple(features)


def parse_sectors(text: str) -> tuple[SectorShape, ...]:
    """Return the sectors of a `sectors.geojson`.

    Raises
    ------
    PracticeError
        If the text is not GeoJSON, or a sector is no area.
    """
    sectors = []
    for number, (properties, geometry) in enumerate(_features(text, "sectors"), 1):
        name = str(properties.get("sector") or number)
        if geometry.geom_type not in AREAS:
            raise PracticeError(
                f"sectors.geojson: sector {name} is a {geometry.geom_type}, not a "
                f"Polygon: {AGAIN}"
            )
        pair = str(properties.get("pair") or "")
        days = _days(properties.get("days"), f"sectors.geojson: sector {name}")
        weight = _weight(properties.get("weight"), name)
        sectors.append(SectorShape(name, pair, geometry, days, weight))
    return tuple(sectors)


def is_sectors(text: str) -> bool:
    """Tell whether a text is a `sectors.geojson`, such as one that was kept."""
    try:
        features = json.loads(text)["features"]
        return bool(features) and all("sector" in f["properties"] for f in features)
    except (KeyError, TypeError, ValueError, RecursionError):
        return False


def _weight(told: object, name: str) -> float:
    if told is None:
        return 1.0
    if isinstance(told, int | float) and 0 < told < float("inf"):
        return float(told)
    raise PracticeError(
        f"sectors.geojson: sector {name} has the weight {told!r}: write a number above "
        "0, or leave it away"
    )


def _said_of(sector: SectorShape) -> dict[str, Any]:
    said: dict[str, Any] = {"sector": sector.name, "pair": sector.pair}
    if sector.weight != 1:
        said["weight"] = sector.weight
    if sector.days:
        said["days"] = {
            day.isoformat(): sector.days[day] for day in sorted(sector.days)
        }
    return said


def _days(told: object, called: str) -> dict[date, str]:
    """Return whose a sector is by day, from an object like {"2027-06-08": "Heron"}."""
    if told is None:
        return {}
    try:
        told = json.loads(told) if isinstance(told, str) else told  # as a GIS saves it
        return {
            date.fromisoformat(day): str(pair or "")
            for day, pair in dict(told).items()  # type: ignore[arg-type]
        }
    except (TypeError, ValueError) as error:
        raise PracticeError(
            f"{called} has days that are none: write them like "
            '{"2027-06-08": "Heron"}, or delete them and run divide --rotate'
        ) from error


def _features(text: str, name: str) -> list[tuple[dict[str, Any], BaseGeometry]]:
    try:
        features = json.loads(text, parse_constant=_no_number)["features"]
        found = [
            (dict(item.get("properties") or {}), _shape(item["geometry"]))
            for item in features
        ]
    except (
        *(KeyError, TypeError, ValueError, AttributeError, RecursionError),
        shapely.errors.ShapelyError,
    ) as error:
        raise PracticeError(
            f"{name}.geojson is not as it was written{_told(error)}: {MEND[name]}"
        ) from error
    for number, (_, geometry) in enumerate(found, 1):
        _check_degrees(geometry, f"{name}.geojson: feature {number}")
    return [(properties, _in_one_piece(geometry)) for properties, geometry in found]


def _shape(geometry: Any) -> BaseGeometry:
    """Return a geometry's shape; of the many points of soundings at once."""
    if geometry["type"] == "MultiPoint" and geometry["coordinates"]:
        return shapely.multipoints(shapely.points(geometry["coordinates"]))
    return shape(geometry)


def _told(error: Exception) -> str:
    """Return what a user can make use of in an error, to be said in a message."""
    if isinstance(error, json.JSONDecodeError):
        return f" from line {error.lineno}, column {error.colno} on"
    if isinstance(error, KeyError):
        return f" (a part of it has no {error})"
    return f" ({error})" if isinstance(error, PracticeError) else ""


def _no_number(text: str) -> float:
    raise PracticeError(f"{text} is no number")


def _check_degrees(geometry: BaseGeometry, called: str) -> None:
    where = shapely.get_coordinates(geometry)
    if not len(where):
        raise PracticeError(f"{called} has no shape: draw it, or delete it")
    lon, lat = abs(where).max(axis=0)
    if not (lon <= 360 and lat <= 90):
        raise PracticeError(
            f"{called} has coordinates up to {max(lon, lat):,.0f}, which are no "
            "degrees: save it in WGS 84, longitude first"
        )


def _cut_at_antimeridian(geometry: BaseGeometry) -> BaseGeometry:
    """Return a shape cut in two where it goes on beyond 180 or -180 degrees.

    References
    ----------
    RFC 7946, section 3.1.9.
    """
    west, _, east, _ = geometry.bounds
    if west >= -180 and east <= 180:
        return geometry
    parts = []
    for turn in (-360, 0, 360):
        belt = geometry.intersection(shapely.box(turn - 180, -90, turn + 180, 90))
        parts += [
            affinity.translate(part, -turn)
            for part in shapely.get_parts(belt)
            if shapely.get_dimensions(part) == shapely.get_dimensions(geometry)
        ]
    return shapely.union_all(parts)


def _in_one_piece(geometry: BaseGeometry) -> BaseGeometry:
    """Return a shape that was cut at the antimeridian as it was before."""
    if geometry.has_z and geometry.geom_type in POINTS:
        return geometry  # soundings, whose depths that would lose
    whole = unwrapped(geometry)
    return whole if whole is geometry else shapely.union_all([whole])


def collection_text(
    items: Iterable[tuple[dict[str, Any], BaseGeometry]], *, creator: str = ""
) -> str:
    """Return properties and shapes in degrees as GeoJSON, a line a feature.

    Parameters
    ----------
    creator
        Who made it, as a member of the collection: RFC 7946, section 6.1, lets a file
        have members of its own.

    References
    ----------
    RFC 7946: longitude first, outer rings counterclockwise, parts cut at 180 degrees.
    """
    lines = [
        json.dumps(
            {
                "type": "Feature",
                "properties": properties,
                "geometry": _rounded(
                    mapping(shapely.orient_polygons(_cut_at_antimeridian(geometry)))
                ),
            },
            ensure_ascii=False,
            allow_nan=False,
        )
        for properties, geometry in items
    ]
    head = f'"creator": {json.dumps(creator)}, ' if creator else ""
    body = ",\n".join(lines)
    return f'{{"type": "FeatureCollection", {head}"features": [\n{body}\n]}}\n'


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, PLACES)
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    return (
        [_rounded(item) for item in value] if isinstance(value, list | tuple) else value
    )
