"""The water as small squares: what is searched and believed is told of each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
import shapely
from shapely import Polygon

from sweptwater.arrays import Area, Bools, Floats, Ints
from sweptwater.water.banks import Bank
from sweptwater.water.depth import DepthSurface
from sweptwater.water.shapes import polygonal

SIDE_M = 25.0
"""Finer than a strip that a boat sweeps."""

LEAST_SQUARES = 400
"""A small water has smaller squares, so that there are so many."""

BLOCK_M = 400.0
"""Open water is told of in pieces about so wide."""

SCRAP = 0.25
"""A piece of less than this part of a whole block goes with the one beside it."""

ANY_DEPTH = "any depth"
"""The one layer that there is where neither depths nor layers are known."""

NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Patch:
    """A piece of water that a boat can be sent to: a bank's, or a piece of the open.

    Parameters
    ----------
    sector
        Its sector's name; None for water outside all sectors.
    bank
        The number of the bank; None in open water.
    easting, northing
        A place within it, in metres.
    area_m2
        Its water.
    """

    sector: str | None
    bank: int | None
    easting: float
    northing: float
    area_m2: float


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """All fishable water in squares of one area: (n,) each.

    Parameters
    ----------
    easting, northing
        Their middles, in metres.
    area_m2
        The area of one.
    side_m
        How far their middles are apart: the water's edge makes their area less.
    patch
        The patch that each belongs to, by its place in `patches`.
    depth_m
        How deep the water is; NaN where nobody knows.
    patches
        The patches.
    layers
        The names of the layers, from the top down.
    there
        Which layers each square has, (n, layers): those that begin above its bed.
    """

    easting: Floats
    northing: Floats
    area_m2: float
    side_m: float
    patch: Ints
    depth_m: Floats
    patches: tuple[Patch, ...]
    layers: tuple[str, ...]
    there: Bools

    def __len__(self) -> int:
        return len(self.easting)

    @property
    def by_bank(self) -> Bools:
        """Which squares lie in a bank's water, (n,)."""
        return np.array([p.bank is not None for p in self.patches], bool)[self.patch]

    @property
    def points(self) -> np.ndarray:
        """Their middles as points, (n,)."""
        return np.asarray(shapely.points(self.easting, self.northing))

    def water_of(self, mine: Bools) -> Area:
        """Return some squares as one area, in metres."""
        if not mine.any():
            return Polygon()
        # Neighbours have the same edges to the last digit, so that they join quickly.
        side_m, west, south = self.side_m, self.easting.min(), self.northing.min()
        column = np.round((self.easting[mine] - west) / side_m)
        row = np.round((self.northing[mine] - south) / side_m)
        edges = [
            origin + (place + half) * side_m
            for half in (-0.5, 0.5)
            for origin, place in ((west, column), (south, row))
        ]
        return polygonal(shapely.coverage_union_all(shapely.box(*edges)))

    def bed_m(self, patch: int) -> tuple[float, float] | None:
        """Return between which depths most of a patch lies; None if nobody knows.

        All but its shallowest and deepest tenth.
        """
        depth_m = self.depth_m[self.patch == patch]
        known = depth_m[np.isfinite(depth_m)]
        if 2 * len(known) < max(len(depth_m), 1):
            return None
        low_m, high_m = np.quantile(known, [0.1, 0.9])
        return float(low_m), float(high_m)


def lay_squares(
    fishable: Area,
    sectors: Mapping[str, Area],
    banks: Sequence[Bank],
    *,
    layers: Sequence[str],
    tops_m: Sequence[float],
    depths: DepthSurface | None = None,
    side_m: float = SIDE_M,
) -> Squares:
    """Return the squares of some fishable water.

    Parameters
    ----------
    fishable, sectors, banks
        The water, its parts by name, and its banks with their water; in metres.
    layers, tops_m
        The layers' names and upper edges, from the top down.
    depths
        How deep the water is, as far as it is known.

    Examples
    --------
    >>> pool = shapely.box(0, 0, 500, 500)
    >>> squares = lay_squares(pool, {"A": pool}, (), layers=["all"], tops_m=[0])
    >>> len(squares), squares.area_m2, [p.sector for p in squares.patches]
    (400, 625.0, ['A'])
    """
    side_m = min(side_m, sqrt(fishable.area / LEAST_SQUARES))
    east, north = _middles(fishable, side_m)
    points = np.asarray(shapely.points(east, north))
    in_sector = _within(points, list(sectors.values()))
    in_bank = _within(points, [bank.water for bank in banks])
    depth_m = (
        np.full(len(east), np.nan) if depths is None else depths.depth_m(east, north)
    )
    # Where nobody knows the depth, any layer may be there.
    top_m = np.asarray(tops_m, dtype=np.float64)
    deep_m = np.where(np.isfinite(depth_m), depth_m, np.inf)
    there = deep_m[:, None] > top_m[None, :]
    there[:, 0] = True
    patch, patches = _patches(
        east,
        north,
        (in_sector, list(sectors)),
        (in_bank, [bank.number for bank in banks]),
        fishable.area / max(len(east), 1),
    )
    return Squares(
        easting=east,
        northing=north,
        area_m2=fishable.area / max(len(east), 1),
        side_m=side_m,
        patch=patch,
        depth_m=np.asarray(depth_m, dtype=np.float64),
        patches=patches,
        layers=tuple(layers),
        there=there,
    )


def _middles(water: Area, side_m: float) -> tuple[Floats, Floats]:
    west, south, east, north = water.bounds
    across = np.arange(west + side_m / 2, east + side_m / 2, side_m)
    up = np.arange(south + side_m / 2, north + side_m / 2, side_m)
    x, y = (axis.ravel() for axis in np.meshgrid(across, up))
    shapely.prepare(water)
    inside = shapely.contains_xy(water, x, y)
    return x[inside], y[inside]


def _within(points: np.ndarray, areas: Sequence[Area]) -> Ints:
    """Return the place of the area that each point lies in, the first of several."""
    found = np.full(len(points), NOWHERE)
    if areas:
        point, area = shapely.STRtree(list(areas)).query(points, predicate="intersects")
        order = np.lexsort((area, point))[::-1]
        found[point[order]] = area[order]
    return found


def _patches(
    east: Floats,
    north: Floats,
    sector: tuple[Ints, list[str]],
    bank: tuple[Ints, list[int]],
    area_m2: float,
) -> tuple[Ints, tuple[Patch, ...]]:
    in_sector, names = sector
    in_bank, numbers = bank
    block = np.full(len(east), NOWHERE)
    for number in np.unique(in_sector):
        mine = (in_sector == number) & (in_bank == NOWHERE)
        block[mine] = _blocks(east[mine], north[mine], BLOCK_M**2 / area_m2)
    keys = np.column_stack([in_sector, in_bank, block])
    known, patch = np.unique(keys, axis=0, return_inverse=True)
    patches = []
    for number, (sector_no, bank_no, _) in enumerate(known):
        mine = np.flatnonzero(patch.ravel() == number)
        # The square nearest to the middle: a bank's middle may lie ashore.
        away = np.hypot(
            east[mine] - east[mine].mean(), north[mine] - north[mine].mean()
        )
        middle = mine[int(np.argmin(away))]
        patches.append(
            Patch(
                sector=names[sector_no] if sector_no != NOWHERE else None,
                bank=numbers[bank_no] if bank_no != NOWHERE else None,
                easting=float(east[middle]),
                northing=float(north[middle]),
                area_m2=len(mine) * area_m2,
            )
        )
    return patch.ravel(), tuple(patches)


def _cells(along: Floats) -> Floats:
    """Return in which of some even stretches, about BLOCK_M wide, places lie."""
    span = float(np.ptp(along))
    count = max(1, round(span / BLOCK_M))
    return np.minimum(np.floor((along - along.min()) / max(span, 1) * count), count - 1)


def _blocks(east: Floats, north: Floats, whole: float) -> Ints:
    """Return the block of each square; scraps go with the nearest block's middle."""
    if not len(east):
        return np.zeros(0, dtype=int)
    cells = np.column_stack([_cells(east), _cells(north)])
    _, block, counts = np.unique(cells, axis=0, return_inverse=True, return_counts=True)
    block = block.ravel()
    large = np.flatnonzero(counts >= min(SCRAP * whole, counts.max()))
    middles = np.array(
        [[east[block == one].mean(), north[block == one].mean()] for one in large]
    )
    scrap = ~np.isin(block, large)
    away = np.hypot(
        east[scrap, None] - middles[None, :, 0],
        north[scrap, None] - middles[None, :, 1],
    )
    block[scrap] = large[np.argmin(away, axis=1)] if scrap.any() else block[scrap]
    return np.asarray(block)
