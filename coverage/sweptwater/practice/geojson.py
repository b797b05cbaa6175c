"""The venue and the sectors as GeoJSON, the way they are kept in the folder.

References
----------
RFC 7946: positions are longitude, latitude in WGS 84 degrees; outer rings run
counterclockwise.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias, get_args

import shapely
from shapely.geometry import mapping, shape
from shapely.geometry.base import BaseGeometry

from sweptwater.errors import PracticeError

Kind: TypeAlias = Literal["water", "out-of-bounds", "jetty", "mark"]
KINDS: tuple[Kind, ...] = get_args(Kind)

PLACES = 9
"""Decimals of a degree that are kept: a tenth of a millimetre."""


@dataclass(frozen=True, slots=True)
class Feature:
    """One thing of the venue: a shape in degrees (lon, lat)."""

    kind: Kind
    name: str
    shape: BaseGeometry


@dataclass(frozen=True, slots=True)
class SectorShape:
    """One sector as it is kept: a shape in degrees (lon, lat)."""

    name: str
    pair: str
    shape: BaseGeometry


def venue_text(features: Iterable[Feature]) -> str:
    """Return the text of a `venue.geojson`."""
    return _collection(
        ({"kind": item.kind, "name": item.name}, item.shape) for item in features
    )


def sectors_text(sectors: Iterable[SectorShape]) -> str:
    """Return the text of a `sectors.geojson`."""
    return _collection(
        ({"sector": item.name, "pair": item.pair}, item.shape) for item in sectors
    )


def parse_venue(text: str) -> tuple[Feature, ...]:
    """Return the features of a `venue.geojson`.

    Raises
    ------
    PracticeError
        If the text is not GeoJSON, or a feature has no known kind.
    """
    features = []
    for number, (properties, geometry) in enumerate(_features(text, "venue"), 1):
        kind = properties.get("kind")
        if kind not in KINDS:
            raise PracticeError(
                f"venue.geojson: feature {number} has the kind {kind!r}; it must be "
                f"one of {', '.join(KINDS)}"
            )
        features.append(Feature(kind, str(properties.get("name") or ""), geometry))
    return tuple(features)


def parse_sectors(text: str) -> tuple[SectorShape, ...]:
    """Return the sectors of a `sectors.geojson`.

    Raises
    ------
    PracticeError
        If the text is not GeoJSON.
    """
    return tuple(
        SectorShape(
            str(properties.get("sector") or number),
            str(properties.get("pair") or ""),
            geometry,
        )
        for number, (properties, geometry) in enumerate(_features(text, "sectors"), 1)
    )


def _features(text: str, name: str) -> list[tuple[dict[str, Any], BaseGeometry]]:
    advice = f"{name}.geojson is not as it was written: put a saved copy back"
    try:
        features = json.loads(text)["features"]
        return [
            (dict(item.get("properties") or {}), shape(item["geometry"]))
            for item in features
        ]
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise PracticeError(f"{advice} ({type(error).__name__}: {error})") from error
    except shapely.errors.ShapelyError as error:
        raise PracticeError(f"{advice} ({error})") from error


def _collection(items: Iterable[tuple[dict[str, Any], BaseGeometry]]) -> str:
    lines = [
        json.dumps(
            {
                "type": "Feature",
                "properties": properties,
                "geometry": _rounded(mapping(shapely.orient_polygons(geometry))),
            },
            ensure_ascii=False,
            allow_nan=False,
        )
        for properties, geometry in items
    ]
    return (
        '{"type": "FeatureCollection", "features": [\n' + ",\n".join(lines) + "\n]}\n"
    )


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, PLACES)
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    return (
        [_rounded(item) for item in value] if isinstance(value, list | tuple) else value
    )
