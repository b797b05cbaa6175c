"""What a boat needs to know of a water: where drifts may go, and where banks face."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from sweptwater.arrays import Area, Bools, Floats
from sweptwater.units import YARD_M
from sweptwater_demo.routes import Routes, routes
from sweptwater_demo.weather import headings

NEAR_M = 25 * YARD_M
"""Drifts end when the boat is as near as this to the edge of the fishable water."""

FAR_M = 90 * YARD_M
"""Ladders start as far as this from the bank."""

RUNG_M = 30 * YARD_M
_RAY_STEP_M = 12.0
_LONGEST_RAY_M = 1500.0
_SQUARE_ON = 1 / np.cos(np.radians(33))


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A water as boats see it, in metres.

    Parameters
    ----------
    fishable
        Where boats may be.
    shore
        The edge of the land, the edges of out-of-bounds zones left out.
    open_water
        Where a boat may drift: fishable and at least `NEAR_M` from its edge.
    ladder_line
        Lines `FAR_M` out from the land.
    ways
        The ways by water.
    dock
        Where the boat lies at its jetty, shape (2,).
    """

    fishable: Area
    shore: BaseGeometry
    open_water: Area
    ladder_line: BaseGeometry
    ways: Routes
    dock: Floats

    def clear(self, places: Floats) -> Bools:
        """Return whether a boat may drift at each place, shape (n,)."""
        return np.asarray(shapely.contains_xy(self.open_water, *places.T), np.bool_)

    def clear_run_m(self, starts: Floats, downwind_deg: float) -> Floats:
        """Return how far the water lies open downwind of each start, shape (n,)."""
        along = np.arange(0, _LONGEST_RAY_M, _RAY_STEP_M)
        ray = headings(np.array([downwind_deg])) * along[:, None]
        places = starts[:, None] + ray[None]
        clear = self.clear(places.reshape(-1, 2)).reshape(len(starts), len(along))
        return _RAY_STEP_M * np.cumprod(clear, axis=1).sum(axis=1)

    def somewhere(self, home: Area, count: int, rng: np.random.Generator) -> Floats:
        """Return up to count places of the open water within home, shape (n, 2)."""
        west, south, east, north = home.bounds
        places = rng.uniform((west, south), (east, north), (4 * count, 2))
        inside = self.clear(places) & shapely.contains_xy(home, *places.T)
        return np.asarray(places[inside][:count])


@lru_cache(maxsize=16)
def ground(fishable: Area, water: Area, jetty: Point) -> Ground:
    """Return what boats from a jetty need to know of a water.

    Parameters
    ----------
    fishable, water
        The water without and with its out-of-bounds zones.
    jetty
        Where the boats lie.
    """
    open_water = fishable.buffer(-NEAR_M, quad_segs=4)
    line = water.buffer(-FAR_M, quad_segs=4).boundary & open_water
    shapely.prepare(open_water)
    afloat = fishable if shapely.covers(fishable, jetty) else fishable.buffer(-3)
    dock = shapely.shortest_line(afloat, jetty).coords[0]
    return Ground(
        fishable=fishable,
        shore=water.boundary,
        open_water=open_water,
        ladder_line=line,
        ways=routes(fishable, jetty),
        dock=np.array(dock, dtype=np.float64),
    )


def ladders(on: Ground, downwind_deg: float) -> list[Floats]:
    """Return runs of drift starts along banks that the wind blows square on to.

    Each is of shape (rungs, 2): places `FAR_M` out, `RUNG_M` apart across the wind,
    in order along the bank, from each of which the wind carries a boat on to it.
    """
    found = []
    longest_m = _SQUARE_ON * (FAR_M - NEAR_M) + _RAY_STEP_M
    across = headings(np.array([downwind_deg + 90]))[0]
    for line in shapely.get_parts(shapely.line_merge(on.ladder_line)):
        count = max(int(line.length // 4), 2)
        places = shapely.get_coordinates(
            line.interpolate(np.linspace(0, line.length, count))
        )
        run_m = on.clear_run_m(places, downwind_deg)
        beyond = places + (longest_m + NEAR_M) * headings(np.array([downwind_deg]))
        on_land = ~shapely.intersects_xy(on.fishable, *beyond.T)
        square = (run_m > 0.8 * (FAR_M - NEAR_M)) & (run_m < longest_m) & on_land
        found += _rungs(places, square, places @ across)
    return [rungs for rungs in found if len(rungs) >= 4]


def _rungs(places: Floats, square: Bools, across_m: Floats) -> list[Floats]:
    chains: list[list[Floats]] = [[]]
    last_m = 0.0
    for place, fits, here_m in zip(places, square, across_m.tolist(), strict=True):
        chain = chains[-1]
        if chain and np.hypot(*(place - chain[-1])) > 2.2 * RUNG_M:
            chain = []
            chains.append(chain)
        if fits and (not chain or abs(here_m - last_m) >= RUNG_M):
            chain.append(place)
            last_m = here_m
    return [np.array(chain) for chain in chains if chain]
