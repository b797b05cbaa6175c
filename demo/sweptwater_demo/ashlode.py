"""Ashlode Water: an invented valley reservoir of some 1,100 acres.

It lies in the open sea, at 54.85 N 2.30 E, and is like no water that exists: a line
drawn by hand round three drowned valleys and a dam, roughened by sums of sines so that
it has points and bays at every scale. Nothing is drawn at random: every machine draws
the same shore.
"""

from functools import lru_cache
from typing import Any, TypeAlias

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Floats
from sweptwater.frame import Frame
from sweptwater_demo.shapes import polygonal

Json: TypeAlias = dict[str, Any]

NAME = "Ashlode Water"
NOTE = "Invented for demonstration. There is no such water: do not navigate by it."
FRAME = Frame(lon=2.30, lat=54.85)
"""The frame the water was drawn in; metres in this module are metres of it."""

# The shore from one end of the dam round to the other, in metres before scaling.
# fmt: off
_SHORE = (
    (1560, -1337), (720, -897), (361, -1080), (121, -1111), (107, -1062),
    (235, -878), (310, -648), (-138, -292), (-138, -174), (-187, -137),
    (-305, -171), (-448, -271), (-499, -334), (-531, -430), (-698, -535),
    (-884, -895), (-932, -1128), (-959, -1155), (-1002, -1141), (-1072, -1020),
    (-1108, -895), (-1119, -735), (-1165, -695), (-1646, -647), (-1763, -683),
    (-2020, -826), (-2168, -873), (-2339, -892), (-2581, -871), (-2613, -841),
    (-2597, -800), (-2269, -632), (-1847, -276), (-1742, -219), (-1643, -213),
    (-1627, -169), (-1659, -33), (-1593, 36), (-1515, 59), (-1426, 45),
    (-1284, -94), (-1172, -66), (-758, 135), (-720, 271), (-658, 341),
    (-576, 369), (-459, 358), (-389, 436), (-274, 653), (-303, 795),
    (-444, 1040), (-644, 1135), (-839, 1158), (-866, 1197), (-850, 1228),
    (-758, 1272), (-530, 1327), (-495, 1360), (-400, 1726), (-488, 2045),
    (-499, 2204), (-471, 2336), (-399, 2478), (-351, 2457), (-285, 2189),
    (-49, 1771), (47, 1351), (160, 1282), (216, 1203), (229, 1112), (196, 994),
    (277, 687), (339, 667), (517, 742), (652, 847), (705, 826), (641, 618),
    (462, 319), (481, 281), (750, 73), (827, 49), (867, 62), (1118, 338),
    (1161, 440), (1344, 531), (1537, 740), (1667, 834), (1778, 878), (1933, 902),
    (2224, 888), (2255, 862), (2235, 813), (1916, 712), (1798, 607), (1669, 318),
    (1730, 154), (1681, 31), (1623, -8), (1556, -20), (1418, 43), (1380, 41),
    (1281, -48), (1205, -194), (1225, -252), (1613, -482), (1959, -763),
)
# fmt: on
_SCALE = 0.9497
_STEP_M = 25.0
_RIPPLES = (  # wavelength and height of the shore's detail, in metres
    *((560.0, 17.0), (340.0, 13.0), (205.0, 9.0)),
    *((123.0, 6.0), (86.0, 3.8), (64.0, 2.6)),
)
_GOLDEN = 0.6180339887498949

_ISLANDS = {  # centre, half length and half width in metres, lie of its long axis
    "Great Holm": ((-60.0, 395.0), 128.0, 63.0, 62.0),
    "Little Holm": ((-1330.0, -330.0), 49.0, 27.5, -15.0),
}
_DAM_ZONE_M = 158.0
_RESERVE_FROM_NORTHING_M = 2015.0
_JETTIES = {"Boathouse Jetty": (560.0, -905.0), "Far Jetty": (-925.0, -20.0)}
_MARKS = {
    "Boathouse Point": (345.0, -575.0),
    "Valve Tower": (1565.0, -940.0),
    "The Willows": (-1240.0, -600.0),
    "Stone Bay": (1600.0, 60.0),
    "Long Point": (-150.0, -190.0),
    "Gorse Bank": (640.0, 112.0),
    "Sheepfold Bay": (-1500.0, 20.0),
    "Orchard Bay": (130.0, 1120.0),
    "The Elbow": (1900.0, 780.0),
    "North Feeder": (-365.0, 1900.0),
    "West Feeder": (-2330.0, -770.0),
    "Quarry Corner": (640.0, 745.0),
}


def outline_geojson() -> Json:
    """Return the water as one polygon with its islands as holes, in EPSG:4326."""
    return _collection([(water(), {"kind": "water", "name": NAME})])


def out_of_bounds_geojson() -> Json:
    """Return the two zones where nobody may fish, in EPSG:4326."""
    return _collection(
        (zone, {"kind": "out-of-bounds", "name": name})
        for name, zone in out_of_bounds().items()
    )


def jetties_geojson() -> Json:
    """Return the jetties as points just off the shore, in EPSG:4326."""
    return _collection(
        (point, {"kind": "jetty", "name": name}) for name, point in jetties().items()
    )


def marks_geojson() -> Json:
    """Return the places that people name, as points in EPSG:4326."""
    return _collection(
        (Point(place), {"kind": "mark", "name": name}) for name, place in _MARKS.items()
    )


@lru_cache(maxsize=1)
def water() -> Polygon:
    """Return the whole water, islands cut out, in metres of `FRAME`."""
    islands = [_island(*lie).exterior for lie in _ISLANDS.values()]
    return Polygon(_outer_ring(), [ring.coords for ring in islands])


@lru_cache(maxsize=1)
def out_of_bounds() -> dict[str, Polygon]:
    """Return the zones by name: before the dam, and the birds' arm head, in metres."""
    near, far = shapely.get_coordinates(dam())
    along = (far - near) / np.hypot(*(far - near))
    longer = shapely.LineString([near - 300 * along, far + 300 * along])
    before_dam = longer.buffer(_DAM_ZONE_M, cap_style="flat")
    top = shapely.box(-2000, _RESERVE_FROM_NORTHING_M, 2000, 4000)
    return {
        "Dam and valve tower": _largest(water() & before_dam),
        "Bird reserve": _largest(water() & top),
    }


def dam() -> LineString:
    """Return the foot of the dam at the water, in metres of `FRAME`."""
    return LineString(_outer_ring()[[0, -1]])


@lru_cache(maxsize=1)
def banks() -> BaseGeometry:
    """Return all of the shore but the dam, islands too, in metres of `FRAME`."""
    rings = [LineString(ring.coords) for ring in water().interiors]
    shore = shapely.multilinestrings([LineString(_outer_ring()), *rings])
    shapely.prepare(shore)  # distances from it are asked for in thousands
    return shore


def fishable() -> Area:
    """Return the water less its out-of-bounds zones, in metres of `FRAME`."""
    return polygonal(water() - shapely.union_all(list(out_of_bounds().values())))


def jetties() -> dict[str, Point]:
    """Return the jetties by name, each four metres out from the stones, in metres."""
    afloat = water().buffer(-4)
    return {
        name: shapely.shortest_line(Point(place), afloat.boundary).interpolate(
            1, normalized=True
        )
        for name, place in _JETTIES.items()
    }


def _collection(features: Any) -> Json:
    return {
        "type": "FeatureCollection",
        "invented": True,
        "note": NOTE,
        "features": [
            {
                "type": "Feature",
                "properties": {**properties, "invented": True, "note": NOTE},
                "geometry": _degrees(shape),
            }
            for shape, properties in features
        ],
    }


def _degrees(shape: BaseGeometry) -> Json:
    # Seven decimals of a degree are about a centimetre.
    placed = shapely.transform(FRAME.degrees(shape), lambda xy: np.round(xy, 7))
    return dict(mapping(shapely.orient_polygons(placed)))


def _largest(shape: BaseGeometry) -> Polygon:
    return max(shapely.get_parts(shape), key=lambda part: part.area)


@lru_cache(maxsize=1)
def _outer_ring() -> Floats:
    """Return the shore from one end of the dam round to the other, shape (n, 2)."""
    drawn = _spline(_SCALE * np.array(_SHORE, dtype=np.float64))
    smooth = _without_corners(_evenly(drawn, _STEP_M))
    step = np.gradient(smooth, axis=0)
    outward = np.column_stack([step[:, 1], -step[:, 0]])
    outward /= np.hypot(*outward.T)[:, None]
    along_m = _STEP_M * np.arange(len(smooth), dtype=np.float64)
    return smooth + outward * (_ripple(along_m) * _room(smooth, along_m))[:, None]


def _spline(points: Floats, per_span: int = 24) -> Floats:
    """Return a Catmull-Rom spline through points, its ends doubled."""
    padded = np.vstack([points[0], points, points[-1]])
    before, start, end, after = (
        padded[i : len(padded) - 3 + i, None] for i in range(4)
    )
    t = np.linspace(0, 1, per_span, endpoint=False)[None, :, None]
    curve = 0.5 * (
        2 * start
        + (end - before) * t
        + (2 * before - 5 * start + 4 * end - after) * t**2
        + (3 * start - before - 3 * end + after) * t**3
    )
    return np.vstack([curve.reshape(-1, 2), points[-1]])


def _evenly(line: Floats, step_m: float) -> Floats:
    along = np.r_[0, np.cumsum(np.hypot(*np.diff(line, axis=0).T))]
    places = np.linspace(0, along[-1], round(along[-1] / step_m) + 1)
    return np.column_stack([np.interp(places, along, axis) for axis in line.T])


def _without_corners(line: Floats) -> Floats:
    for _ in range(3):
        line = np.vstack(
            [line[0], (line[:-2] + 2 * line[1:-1] + line[2:]) / 4, line[-1]]
        )
    return line


def _ripple(along_m: Floats) -> Floats:
    """Return how far the shore stands out of its smooth line, in metres.

    The wavelengths have no common measure and each wave runs now faster, now slower,
    so that no two bays are alike; some stretches are rougher than others.
    """
    total = np.zeros_like(along_m)
    for k, (wave_m, height_m) in enumerate(_RIPPLES):
        turn = 2 * np.pi * ((k + 1) * _GOLDEN % 1)
        bend = 1.7 * np.sin(2 * np.pi * along_m / (5.3 * wave_m) + 2 * turn)
        swell = 0.8 + 0.5 * np.sin(2 * np.pi * along_m / (1700 + 90 * k) + 3 * turn)
        total += height_m * swell * np.sin(2 * np.pi * along_m / wave_m + turn + bend)
    return total


def _room(line: Floats, along_m: Floats) -> Floats:
    """Return 1 on open shore, less where the other bank is near or the dam begins."""
    across = np.hypot(*(line[:, None] - line[None]).transpose(2, 0, 1))
    round_by_shore = np.abs(along_m[:, None] - along_m[None])
    gap = np.where(round_by_shore > 2.2 * across + 1, across, np.inf).min(axis=1)
    from_dam = np.minimum(along_m, along_m[-1] - along_m)
    return np.clip(gap / 190, 0.12, 1) * np.clip(from_dam / 160, 0, 1)


def _island(
    centre: tuple[float, float], half_m: float, half_width_m: float, lie_deg: float
) -> Polygon:
    turn = np.linspace(0, 2 * np.pi, 44, endpoint=False)
    wobble = 1 + 0.10 * np.sin(2 * turn + 1) + 0.07 * np.sin(3 * turn + half_m)
    wobble += 0.035 * np.sin(7 * turn + 2) + 0.02 * np.sin(11 * turn)
    x, y = half_m * wobble * np.cos(turn), half_width_m * wobble * np.sin(turn)
    lie = np.radians(lie_deg)
    east = centre[0] + x * np.cos(lie) - y * np.sin(lie)
    north = centre[1] + x * np.sin(lie) + y * np.cos(lie)
    return Polygon(np.column_stack([east, north]))
