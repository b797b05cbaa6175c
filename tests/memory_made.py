"""Drifts from memory on the invented lake, and what they sweep in closed form.

The south shore lies at northing -600: a boat told to have been at a mark on it was 20
yards out. A straight drift sweeps the convex hull of the fans at its two ends, since
the fan is convex: see test_spread.py.
"""

from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import MultiPoint, Point, Polygon

from practices_made import CLOSED, FAN, LAKE, done, geojson, report
from sweptwater.arrays import Area
from sweptwater.units import YARD_M

OUT_M = 20 * YARD_M
FISHABLE = LAKE.difference(CLOSED)
MARKS = {
    "Boathouse": (-900.0, -600.0),
    "Long Point": (-200.0, -600.0),
    "Tern Island": (400.0, 250.0),
}
TELL = ("--pair", "Grebe", "--at", "12:30-13:40")
ALONG_M = 700.0
"""From the boathouse to the point."""


def with_marks(folder: Path, scratch: Path) -> Path:
    """Add the marks that the stories name."""
    file = geojson(
        scratch / "more.geojson", *map(Point, MARKS.values()), names=list(MARKS)
    )
    done(folder, "venue", "add", "--kind", "mark", file)
    return folder


def tell(folder: Path, *words: object) -> Any:
    """Put a drift in from memory and return the report of it."""
    return report(folder, "drifts", "add", *words)


def hull(start: tuple[float, float], end: tuple[float, float]) -> Polygon:
    """Return what a straight drift sweeps: built here of the fan's own corners."""
    course = np.arctan2(end[0] - start[0], end[1] - start[1])
    across = FAN.boat_m / 2 * np.array([np.cos(course), -np.sin(course)])
    half = np.radians(FAN.half_angle_deg)
    corners = []
    for side in (-1, 1):
        turn = course + side * np.linspace(0, half, 200)
        arc = FAN.cast_m * np.column_stack([np.sin(turn), np.cos(turn)])
        corners += [side * across, *(side * across + arc)]
    places = [np.array(place) + corner for place in (start, end) for corner in corners]
    shape = MultiPoint(places).convex_hull
    assert isinstance(shape, Polygon)
    return shape


def wet(*shapes: Area) -> Area:
    """Return the fishable part of what several drifts swept."""
    whole = shapely.union_all(shapes).intersection(FISHABLE)
    assert isinstance(whole, Polygon | shapely.MultiPolygon)
    return whole


def along(northing: float = -600 + OUT_M) -> Polygon:
    """Return what the drift from the boathouse to the point sweeps."""
    return hull((-900, northing), (-200, northing))


def clock_s(text: str) -> float:
    """Return a time of 8 June in seconds since 1970."""
    return datetime.fromisoformat(f"2027-06-08T{text}+01:00").timestamp()
