"""Several layers as one GeoPackage."""

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

import geopandas as gpd
import pyogrio


def geopackage(
    layers: Mapping[str, gpd.GeoDataFrame], kinds: Mapping[str, str]
) -> bytes:
    """Return the bytes of a GeoPackage in EPSG:4326.

    Parameters
    ----------
    layers
        Tables in EPSG:4326 by the name of their layer; empty ones are kept.
    kinds
        The geometry type of each layer, like `MultiPolygon`.
    """
    with TemporaryDirectory() as folder:
        path = Path(folder) / "layers.gpkg"
        for name, table in layers.items():
            pyogrio.write_dataframe(
                table,
                path,
                layer=name,
                driver="GPKG",
                geometry_type=kinds[name],
                promote_to_multi=kinds[name].startswith("Multi"),
                append=path.exists(),
            )
        return path.read_bytes()
