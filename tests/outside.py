"""Data that nobody here wrote: real lakes beside the project, never copied into it.

Their origin and licences are in the INDEX.md beside them.
"""

import json
from functools import lru_cache
from pathlib import Path

import pytest
import shapely
from geographiclib.geodesic import Geodesic
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"

LAKES = (
    *("caputh_wgs84", "cz_brno", "cz_racice_elbe_unnamed", "cz_slapy", "cz_vranov"),
    *("ne10m_eu_muddusjarvi", "ne10m_eu_saddajaure", "ne10m_eu_sheksinskoe_reservoir"),
    *("ne10m_na_lake_corpus_christi", "ne10m_na_lake_of_the_ozarks"),
    *("ne50m_lake_taupo", "nhd_crab_lake", "nhd_crystal_lake", "nhd_lake_mendota"),
    *("nhd_little_tamarack_flowage", "nhd_pokegama_lake"),
    *("nhd_spring_lake_19islands", "nhd_tiny_pond", "nhd_vilas_multipolygons"),
)
TOO_WIDE = ("ne10m_eu_sheksinskoe_reservoir",)
ONE_WATER = tuple(
    name for name in LAKES if name not in (*TOO_WIDE, "nhd_vilas_multipolygons")
)


def outside(name: str) -> Path:
    """Return the path of a file of the data, or skip the test where it is absent."""
    path = DATA / name
    if not path.exists():
        pytest.skip(f"../shared/data/{name} is not at hand")
    return path


def lake_path(name: str) -> Path:
    """Return the path of a real outline, or skip the test."""
    return outside(f"lakes/{name}.geojson")


@lru_cache(maxsize=32)
def _features(path: Path) -> tuple[BaseGeometry, ...]:
    # Read as JSON, so that the project's own reader stays the thing under test.
    items = json.loads(path.read_text(encoding="utf-8"))["features"]
    shapes = [shapely.from_geojson(json.dumps(item["geometry"])) for item in items]
    return tuple(shapely.force_2d(shape) for shape in shapes)


def lake_parts(name: str) -> list[Polygon]:
    """Return the polygons of a real outline, in degrees (lon, lat)."""
    return [p for s in _features(lake_path(name)) for p in shapely.get_parts(s)]


def geodesic_m2_m(polygon: Polygon) -> tuple[float, float]:
    """Return area and shore length on WGS 84.

    References
    ----------
    C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87, 2013, as implemented by
    GeographicLib.
    """
    area = length = 0.0
    for sign, ring in [
        (1, polygon.exterior),
        *((-1, ring) for ring in polygon.interiors),
    ]:
        whole = Geodesic.WGS84.Polygon()
        for lon, lat in ring.coords[:-1]:
            whole.AddPoint(lat, lon)
        _, ring_length, ring_area = whole.Compute(False, True)
        area += sign * abs(ring_area)
        length += ring_length
    return area, length
