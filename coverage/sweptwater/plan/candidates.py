"""The drifts that a pair could make in its water, and what each would bring."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.plan.lay import Lay, Wish
from sweptwater.plan.planned import PlannedDrift, sweep_planned
from sweptwater.water.overlap import Overlay
from sweptwater.water.shapes import polygonal

LEAST_NEW = 0.3
"""A drift that would sweep less than this share of unfished water is not worth it."""

SCRAP_M2 = 200.0
"""A bit of a bank's band that lies in another sector and is smaller is nobody's."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """Drifts that could be made, and the water that each would sweep.

    Parameters
    ----------
    drifts
        Bank by bank, then in open water.
    swept
        The fishable water that each would sweep, in metres.
    new_m2
        How much of that is unfished and no other's; what two share is halved.
    worth
        The same, a bank's water counting as the settings say.
    """

    drifts: tuple[PlannedDrift, ...]
    swept: np.ndarray
    new_m2: Floats
    worth: Floats

    @property
    def lengths_m(self) -> Floats:
        """The distance of each, (n,)."""
        return np.array([drift.length_m for drift in self.drifts])

    @property
    def starts(self) -> Floats:
        """Where each starts, (n, 2)."""
        return np.array([drift.places[0] for drift in self.drifts]).reshape(-1, 2)

    @property
    def ends(self) -> Floats:
        """Where each ends, (n, 2)."""
        return np.array([drift.places[-1] for drift in self.drifts]).reshape(-1, 2)

    def of(self, chosen: Sequence[int]) -> "Candidates":
        """Return some of them, in the order given."""
        index = np.array(chosen, dtype=int)
        return Candidates(
            tuple(self.drifts[i] for i in index),
            self.swept[index],
            self.new_m2[index],
            self.worth[index],
        )


def possible_drifts(
    lay: Lay,
    sector: Area,
    bands: Mapping[int, Area],
    bank_water: Area,
    unfished: Area,
    *,
    wish: Wish = "auto",
) -> Candidates:
    """Return the drifts that could be made in a sector.

    Parameters
    ----------
    lay
        How drifts are laid.
    sector
        The fishable water of the pair, in metres.
    bands
        For each bank's number the band along which a boat drifts.
    bank_water
        The water of all banks: what is beyond is open water.
    unfished
        What nobody has swept.
    wish
        How to lay drifts along banks; `open` is open water alone, and any way that is
        named leaves it out.
    """
    drifts: list[PlannedDrift] = []
    for number, band in bands.items():
        mine = polygonal(shapely.intersection(band, sector))
        if mine.area >= SCRAP_M2:
            drifts += lay.bank(number, mine, wish)
    mine = polygonal(shapely.intersection(unfished, sector))
    if wish in ("auto", "open"):
        open_water = polygonal(shapely.difference(sector, bank_water))
        drifts += lay.open_water(open_water, mine)
    swept = np.empty(len(drifts), dtype=object)
    swept[:] = sweep_planned(drifts, lay.settings.spread, lay.fishable, lay.wind)
    near = Overlay(polygonal(shapely.intersection(mine, bank_water)))
    new, near_m2 = _shared_m2(Overlay(mine), swept), _shared_m2(near, swept)
    worthy = np.flatnonzero(new >= LEAST_NEW * shapely.area(swept))
    kept = swept[worthy]
    alone = _apart(kept)
    more = lay.settings.plan.bank_counts - 1
    worth = (new + more * near_m2)[worthy] * alone
    return Candidates(
        tuple(drifts[i] for i in worthy), kept, new[worthy] * alone, worth
    )


def _shared_m2(water: Overlay, shapes: np.ndarray) -> Floats:
    return water.areas_m2(list(shapes)) if len(shapes) else np.zeros(0)


def _apart(swept: np.ndarray) -> Floats:
    """Return the share of each shape that is its own: what two share is halved."""
    if not len(swept):
        return np.zeros(0)
    tree = shapely.STRtree(swept)
    one, other = tree.query(swept, predicate="intersects")
    one, other = one[one < other], other[one < other]
    shared = shapely.area(shapely.intersection(swept[one], swept[other]))
    lost = np.bincount(one, shared, len(swept)) + np.bincount(other, shared, len(swept))
    return np.clip(1 - lost / 2 / np.maximum(shapely.area(swept), 1e-9), 0.05, 1)
