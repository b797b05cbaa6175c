"""A straight mile of bank in a rectangle of water, for stories: it faces south-west."""

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from sweptwater.frame import Frame
from sweptwater.units import MILE_M
from sweptwater_demo.weather import headings

MILE_FRAME = Frame(lon=2.30, lat=54.95)
"""The frame of its metres."""

WIDE_M, JETTY_ALONG_M = 700.0, 60.0


def mile() -> tuple[Polygon, LineString]:
    """Return the water, and its bank from the north-west end to the other."""
    ends = [on_mile(0, 0), on_mile(MILE_M, 0)]
    far = [on_mile(MILE_M, WIDE_M), on_mile(0, WIDE_M)]
    return shapely.orient_polygons(Polygon([*ends, *far])), LineString(ends)


def mile_jetty() -> Point:
    """Return the jetty, some metres out from the bank."""
    return Point(on_mile(JETTY_ALONG_M, 4.0))


def on_mile(along_m: float, out_m: float) -> tuple[float, float]:
    """Return a place so far along the bank, which faces south-west, and so far out."""
    along, out = headings(np.array([135.0, 225.0]))
    east, north = (along_m - MILE_M / 2) * along + (out_m - WIDE_M / 2) * out
    return float(east), float(north)
