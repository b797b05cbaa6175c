"""A zoo of named shapes, in metres, and what it takes to put them on the map."""

import json
from pathlib import Path

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area
from sweptwater.frame import Frame, Shape
from sweptwater.practice.geojson import Feature, Kind
from sweptwater.water.shapes import polygonal
from sweptwater.water.venue import Venue, build_venue

FRAME = Frame(lon=10.0, lat=50.0)
"""Where the zoo lies, unless a test puts it elsewhere."""

RECTANGLE = box(-1000, -400, 1000, 400)
ANNULUS = polygonal(
    Point(0, 0).buffer(800, quad_segs=64) - Point(0, 0).buffer(300, quad_segs=64)
)
INLET = polygonal(shapely.union_all([box(0, 0, 600, 400), box(600, 190, 1200, 202)]))
CREEKS = polygonal(
    shapely.union_all(
        [box(0, 0, 900, 60), *(box(x, 0, x + 30, 600) for x in range(0, 900, 100))]
    )
)
TWO_ISLANDS = Polygon(
    box(0, 0, 1000, 600).exterior,
    [box(300, 250, 400, 350).exterior, box(420, 250, 520, 350).exterior],
)
POND = Point(0, 0).buffer(18, quad_segs=8)
BOW_TIE = Polygon([(0, 0), (400, 300), (400, 0), (0, 300)])
TWO_PARTS = MultiPolygon([box(0, 0, 300, 300), box(500, 0, 900, 300)])
WINDING = LineString(
    [(x, 400 * np.sin(x / 500)) for x in np.linspace(0, 5000, 200)]
).buffer(120)

ZOO: dict[str, Area] = {
    "rectangle": RECTANGLE,
    "annulus": ANNULUS,
    "inlet": INLET,
    "creeks": CREEKS,
    "two islands": TWO_ISLANDS,
    "pond": POND,
    "two parts": TWO_PARTS,
    "winding": WINDING,
}


def degrees(shape: Shape, frame: Frame = FRAME) -> Shape:
    """Return a shape of the zoo in degrees (lon, lat)."""
    return frame.degrees(shape)


def zoo_venue(
    water: Area, *others: tuple[Kind, str, BaseGeometry], frame: Frame = FRAME
) -> Venue:
    """Return a venue of shapes in metres; its own frame is centred on the water."""
    features = [Feature("water", "Ashlode Water", degrees(water, frame))]
    features += [Feature(k, name, degrees(shape, frame)) for k, name, shape in others]
    return build_venue(features)


def geojson_file(
    path: Path, *shapes: BaseGeometry | None, names: tuple[str, ...] = ()
) -> Path:
    """Write shapes in degrees as GeoJSON, just as they are, and return the path."""
    features = [
        {
            "type": "Feature",
            "properties": {"name": names[i]} if i < len(names) else {},
            "geometry": None if shape is None else mapping(shape),
        }
        for i, shape in enumerate(shapes)
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    path.write_text(text, encoding="utf-8")
    return path
