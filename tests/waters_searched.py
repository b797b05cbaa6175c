"""Waters to practise on: banks, sectors, a jetty, and a bed that fish can lie over.

The demo's water has its own bed. Real outlines have none beside them: theirs is
invented, deepening with the distance from the shore.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely

from plan_made import SETTINGS, Waters, ashlode_water, real_water
from sweptwater.arrays import Area, Floats, Ints
from sweptwater.offers.wind import Wind
from sweptwater.plan.lay import Lay
from sweptwater.practice.settings import Settings
from sweptwater.water.banks import Bank, lay_banks
from sweptwater_demo import bed

SIDE_M = 15.0
"""The bed is looked up in squares so wide."""

HOME_EVERY = 5
"""Of these squares so many times as wide ones have their way home reckoned."""

DEEPEST_M, SHELVES_M = 12.0, 80.0
"""An invented bed falls to so much, two thirds of that within so far of the shore."""

TACKLE = SETTINGS.tackle
LAYERS = len(TACKLE.layers_m) + 1


@dataclass(frozen=True, eq=False)
class Bed:
    """Depths and distances from the shore on a grid, in metres; 0 off the water.

    Parameters
    ----------
    west, south
        The middle of the first square.
    depth_m, shore_m
        Row by row from the south, (rows, columns).
    """

    west: float
    south: float
    depth_m: Floats
    shore_m: Floats

    def depth_at(self, places: Floats) -> Floats:
        """Return how deep it is at places (n, 2); 0 off the fishable water."""
        column = np.rint((places[:, 0] - self.west) / SIDE_M).astype(int)
        row = np.rint((places[:, 1] - self.south) / SIDE_M).astype(int)
        rows, columns = self.depth_m.shape
        on = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        out = np.zeros(len(places))
        out[on] = self.depth_m[row[on], column[on]]
        return out

    @cached_property
    def places(self) -> Floats:
        """The middles of all squares on the water, (n, 2)."""
        row, column = np.nonzero(self.depth_m > 0)
        return np.column_stack([self.west + SIDE_M * column, self.south + SIDE_M * row])

    @cached_property
    def depths_m(self) -> Floats:
        """The depths there, (n,)."""
        return self.depth_m[self.depth_m > 0]

    @cached_property
    def off_shore_m(self) -> Floats:
        """The distances from the shore there, (n,)."""
        return self.shore_m[self.depth_m > 0]


def deepest_layer(depth_m: Floats) -> Ints:
    """Return the deepest layer that there is over beds so deep, 0 at the top."""
    return np.searchsorted(np.array(TACKLE.layers_m), depth_m, side="left")


@dataclass(frozen=True, eq=False)
class Searched:
    """A water to practise on."""

    name: str
    waters: Waters
    banks: tuple[Bank, ...]
    bed: Bed

    @property
    def settings(self) -> Settings:
        """How boats and rods fish."""
        return self.waters.settings

    @property
    def fishable(self) -> Area:
        """The water that may be fished."""
        return self.waters.venue.fishable

    def lay(self, wind: Wind) -> Lay:
        """Return how drifts are laid in a wind."""
        if wind not in self._lays:  # boats of one day share its rails
            self._lays.clear()
            self._lays[wind] = self.waters.lay(wind)
        return self._lays[wind]

    @cached_property
    def _lays(self) -> dict[Wind, Lay]:
        return {}

    def home_m(self, here: Floats) -> float:
        """Return about how far it is to the jetty by water."""
        places, lengths_m = self._homeward
        away_m = np.hypot(*(places - here).T)
        near = int(away_m.argmin())
        straight_m = float(np.hypot(*(here - self.waters.jetty)))
        return max(straight_m, float(lengths_m[near]))

    @cached_property
    def _homeward(self) -> tuple[Floats, Floats]:
        """Places all over the water, and how far it is from each to the jetty."""
        places = self.bed.places
        row, column = np.rint(places / SIDE_M).astype(int).T % HOME_EVERY
        some = places[(row == 0) & (column == 0)]
        lengths_m = self.waters.ways.lengths_m(self.waters.jetty[None], some)[0]
        return some, np.where(np.isfinite(lengths_m), lengths_m, 1e7)

    @cached_property
    def sectors(self) -> Mapping[str, Area]:
        """The sectors by name."""
        return dict(zip("ABC", self.waters.sectors, strict=True))


WATERS: Mapping[str, Callable[[], Waters]] = {
    "Ashlode": ashlode_water,
    "crab": lambda: real_water("nhd_crab_lake"),
    "pokegama": lambda: real_water("nhd_pokegama_lake"),
    "vranov": lambda: real_water("cz_vranov"),
    "mendota": lambda: real_water("nhd_lake_mendota", 8e6),
}
"""The demo's, a third as large again as that, and real outlines of 900 acres and up."""


@lru_cache(maxsize=2)
def searched_water(name: str) -> Searched:
    """Return one of the waters."""
    waters = WATERS[name]()
    banks = lay_banks(waters.venue, SETTINGS.banks)
    depth = bed.depth_m if name == "Ashlode" else None
    return Searched(name, waters, tuple(banks), lay_bed(waters.venue.fishable, depth))


def lay_bed(water: Area, depth: Callable[[Floats], Floats] | None) -> Bed:
    """Return the bed of a water, by what tells the depth at places, or invented."""
    west, south, east, north = water.bounds
    across, up = np.arange(west, east, SIDE_M), np.arange(south, north, SIDE_M)
    x, y = np.meshgrid(across, up)
    shapely.prepare(water)
    wet = shapely.contains_xy(water, x, y)
    places = np.column_stack([x[wet], y[wet]])
    shore = shapely.boundary(water)
    shapely.prepare(shore)
    off_m = np.asarray(shapely.distance(shore, shapely.points(places)))
    deep_m = (
        DEEPEST_M * -np.expm1(-off_m / SHELVES_M) if depth is None else depth(places)
    )
    depth_m, shore_m = np.zeros(x.shape), np.zeros(x.shape)
    depth_m[wet], shore_m[wet] = np.maximum(deep_m, 0.05), off_m
    return Bed(west, south, depth_m, shore_m)
