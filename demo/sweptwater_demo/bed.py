"""The invented bed of Ashlode Water: how deep it is, and what a survey found.

Depths are metres below the full level. Three valleys fall to the dam; the streams that
made them lie drowned along their floors; some banks shelve and others drop.
"""

import csv
import io
import json
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString, MultiLineString
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Floats
from sweptwater_demo import ashlode
from sweptwater_demo.ashlode import FRAME, NOTE

CONTOURS_M = (2.0, 5.0, 10.0)

_SHALLOWEST_M, _DAM_ADDS_M, _FALLS_OVER_M = 4.5, 14.5, 1700.0
_SHELVES_M, _DAM_FACE_M = 65.0, 9.0
_STREAM_M, _STREAM_HALF_M, _STREAM_BANK_M = 2.6, 32.0, 45.0
_STREAMS = (
    (
        *((-2480, -800), (-2150, -760), (-1850, -560), (-1560, -440)),
        *((-1250, -420), (-980, -300), (-620, -160), (-280, 40), (60, -60)),
        *((380, -190), (680, -290), (1000, -560), (1330, -800), (1670, -1000)),
    ),
    (
        *((-370, 2290), (-400, 1980), (-300, 1700), (-230, 1420), (-60, 1160)),
        *((-90, 880), (40, 660), (130, 420), (150, 180), (380, -190)),
    ),
    (
        *((2090, 800), (1780, 790), (1560, 690), (1400, 480), (1270, 260)),
        *((1010, 30), (860, -190), (1000, -560)),
    ),
)
_LINES_APART_M, _SOUNDED_EVERY_M, _LINES_DEG = 148.0, 15.0, 62.0
_PLACE_ERROR_M, _DEPTH_ERROR_M = 1.5, 0.06
_GRID_M = 15.0


@dataclass(frozen=True, slots=True, eq=False)
class Soundings:
    """What a survey found: degrees and metres below the full level, shape (n,) each."""

    lon: Floats
    lat: Floats
    depth_m: Floats


def depth_m(places: Floats) -> Floats:
    """Return how deep the water is when it is full, shape (n,).

    It is 0 at the shore and on land, and positive on the water.

    Parameters
    ----------
    places
        Eastings and northings in metres of `ashlode.FRAME`, shape (n, 2).

    Examples
    --------
    >>> [float(d) for d in depth_m(np.array([[1200.0, -700.0], [3000, 0]])).round()]
    [17.0, 0.0]
    """
    afloat = shapely.contains_xy(ashlode.water(), *np.asarray(places).T)
    deep_m = np.zeros(len(places))
    deep_m[afloat] = _afloat_m(np.asarray(places, dtype=np.float64)[afloat])
    return deep_m


def _afloat_m(places: Floats) -> Floats:
    off_bank_m = _away_m(ashlode.banks(), places)
    off_dam_m = _away_m(ashlode.dam(), places)
    east, north = places.T
    shelves_m = _SHELVES_M * (1 + 0.45 * np.sin(east / 270 + 2 * np.sin(north / 390)))
    floor_m = _SHALLOWEST_M + _DAM_ADDS_M * np.exp(-off_dam_m / _FALLS_OVER_M)
    floor_m *= 1 + 0.06 * np.sin(east / 140 + 1) * np.sin(north / 170)
    stream = _away_m(_streams(), places) / _STREAM_HALF_M
    cut_m = _STREAM_M * np.exp(-(stream**2)) * _rise(off_bank_m, _STREAM_BANK_M)
    whole_m = floor_m * _rise(off_bank_m, shelves_m) + cut_m
    return np.asarray(whole_m * _rise(off_dam_m, _DAM_FACE_M))


def soundings(*, seed: int = 1) -> Soundings:
    """Return some 2,000 depths along the parallel lines of a survey boat.

    Places are good to some 1.5 m, depths to some 6 cm, and told to a decimetre.
    """
    rng = np.random.default_rng(seed)
    true = _survey()
    found_m = depth_m(true) + rng.normal(0, _DEPTH_ERROR_M, len(true))
    told = true + rng.normal(0, _PLACE_ERROR_M, true.shape)
    keep = (found_m > 0.3) & shapely.contains_xy(ashlode.water(), *told.T)
    lon, lat = FRAME.to_degrees(*told[keep].T)
    return Soundings(np.round(lon, 6), np.round(lat, 6), np.round(found_m[keep], 1))


def soundings_csv(found: Soundings) -> str:
    """Return soundings as a table with columns lat, lon, depth_m and note."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("lat", "lon", "depth_m", "note"))
    for lat, lon, deep_m in zip(found.lat, found.lon, found.depth_m, strict=True):
        writer.writerow((f"{lat:.6f}", f"{lon:.6f}", f"{deep_m:.1f}", "invented"))
    return text.getvalue()


def contours_geojson() -> str:
    """Return contours at `CONTOURS_M` as lines with a depth_m, in EPSG:4326."""
    features = [
        {
            "type": "Feature",
            "properties": {
                "kind": "contour",
                "depth_m": level_m,
                "invented": True,
                "note": NOTE,
            },
            "geometry": dict(mapping(_degrees(contour(level_m)))),
        }
        for level_m in CONTOURS_M
    ]
    whole = {"type": "FeatureCollection", "invented": True, "note": NOTE}
    return json.dumps(whole | {"features": features}, separators=(",", ":")) + "\n"


def contour(level_m: float) -> MultiLineString:
    """Return where the water is so deep, in metres of `ashlode.FRAME`.

    The bed is taken to be flat between the corners of triangles of some 15 m.
    """
    # At the face of the dam the triangles are too coarse, and the line is on land.
    wet = _crossed(_triangles(), level_m) & ashlode.water().buffer(-1)
    parts = shapely.get_parts(shapely.line_merge(wet))
    long = [part for part in parts if part.length > 8 * _GRID_M]
    return shapely.multilinestrings([shapely.simplify(part, 1.0) for part in long])


@lru_cache(maxsize=1)
def _triangles() -> Floats:
    """Return the bed as triangles: their corners and depths, shape (n, 3, 3)."""
    west, south, east, north = ashlode.water().bounds
    xs = np.arange(west - _GRID_M, east + 2 * _GRID_M, _GRID_M)
    ys = np.arange(south - _GRID_M, north + 2 * _GRID_M, _GRID_M)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1)
    deep = depth_m(grid.reshape(-1, 2)).reshape(grid.shape[:2])
    corners = np.dstack([grid, deep])
    a, b, c, d = (
        corners[:-1, :-1],
        corners[:-1, 1:],
        corners[1:, 1:],
        corners[1:, :-1],
    )
    triangles = np.stack([np.stack([a, b, c], 2), np.stack([a, c, d], 2)], 2)
    return triangles.reshape(-1, 3, 3)


def _crossed(triangles: Floats, level_m: float) -> MultiLineString:
    """Return the segments at a level through triangles of shape (n, 3, 3)."""
    below = triangles[:, :, 2] > level_m
    mixed = triangles[(below.sum(axis=1) % 3) > 0]
    below = mixed[:, :, 2] > level_m
    alone = np.where(below.sum(axis=1) == 1, below.argmax(1), below.argmin(1))
    rows = np.arange(len(mixed))
    ends = []
    for turn in (1, 2):
        one, other = mixed[rows, alone], mixed[rows, (alone + turn) % 3]
        # From the deeper corner, so that neighbours agree to the last bit.
        deeper = (one[:, 2] > other[:, 2])[:, None]
        one, other = np.where(deeper, one, other), np.where(deeper, other, one)
        share = (one[:, 2] - level_m) / (one[:, 2] - other[:, 2])
        ends.append(one[:, :2] + share[:, None] * (other - one)[:, :2])
    return MultiLineString(list(np.stack(ends, axis=1)))


def _survey() -> Floats:
    """Return the places of the survey's soundings, line by line, shape (n, 2)."""
    lie = np.radians(_LINES_DEG)
    along = np.array([np.sin(lie), np.cos(lie)])
    across = np.array([along[1], -along[0]])
    rows = np.arange(-3300.0, 3300.0, _LINES_APART_M)[:, None, None] * across
    places = rows + np.arange(-3300.0, 3300.0, _SOUNDED_EVERY_M)[:, None] * along
    flat = places.reshape(-1, 2)
    return np.asarray(flat[shapely.contains_xy(ashlode.water(), *flat.T)])


def _streams() -> MultiLineString:
    return shapely.multilinestrings([LineString(stream) for stream in _STREAMS])


def _away_m(shape: BaseGeometry, places: Floats) -> Floats:
    return np.asarray(shapely.distance(shape, shapely.points(places)))


def _rise(off_m: Floats, over_m: Floats | float) -> Floats:
    return np.asarray(1 - np.exp(-off_m / over_m))


def _degrees(shape: BaseGeometry) -> BaseGeometry:
    return shapely.transform(FRAME.degrees(shape), lambda xy: np.round(xy, 6))
