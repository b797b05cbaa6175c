"""Waters as squares, and passes over them, for tests of searching."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import shapely
from shapely import box

from sweptwater.arrays import Area, Floats
from sweptwater.search.passes import Pass
from sweptwater.search.squares import Squares, lay_squares
from sweptwater.water.banks import Bank
from sweptwater.water.depth import DepthSurface

LAYERS, TOPS_M = ("0-1 m", "1-3 m", "3+ m"), (0.0, 1.0, 3.0)
POOL = box(0, 0, 1000, 1000)
"""1,600 squares of 25 m."""

HALVES = {"A": box(0, 0, 500, 1000), "B": box(500, 0, 1000, 1000)}
DAY = date(2027, 6, 8)


@dataclass(frozen=True)
class Slope(DepthSurface):
    """A bed that falls by the easting; nobody knows it beyond `known_to_m`."""

    fall: float = 0.01
    known_to_m: float = np.inf

    def depth_m(self, easting: Floats, northing: Floats) -> Floats:
        """Return the depths at places, in metres."""
        depth_m = self.fall * np.asarray(easting, dtype=np.float64)
        return np.where(easting <= self.known_to_m, depth_m, np.nan)


def slope(fall: float = 0.01, known_to_m: float = np.inf) -> Slope:
    """Return a bed that falls to the east."""
    nothing = np.zeros((0, 2)), np.zeros(0), 0
    return Slope(POOL, *nothing, fall=fall, known_to_m=known_to_m)


def bank(number: int, water: Area) -> Bank:
    """Return a bank with its water."""
    west, south, _, north = water.bounds
    shore = shapely.LineString([(west, south), (west, north)])
    return Bank(number, shore, False, water, (water,), np.array([shore.length]))


def pool(
    water: Area = POOL,
    sectors: Mapping[str, Area] | None = None,
    banks: tuple[Bank, ...] = (),
    *,
    layers: tuple[str, ...] = LAYERS,
    depths: DepthSurface | None = None,
) -> Squares:
    """Return a pool as squares."""
    tops_m = TOPS_M[: len(layers)]
    return lay_squares(
        water, sectors or {}, banks, layers=layers, tops_m=tops_m, depths=depths
    )


def a_pass(swept: Area, searched_m2: float, layer: int | None = 0, **more: Any) -> Pass:
    """Return one rod on one drift: told, and blank."""
    usual: dict[str, Any] = {
        "day": DAY,
        "pair": "Heron",
        "drift": 1,
        "end_s": 0.0,
        "sky": "bright",
        "told": True,
    }
    return Pass(swept=swept, searched_m2=searched_m2, layer=layer, **(usual | more))
