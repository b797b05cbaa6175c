"""The drifts that a pair could make in its water, and what each would bring."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from sweptwater.arrays import Area, Floats
from sweptwater.plan.lay import Lay, Wish
from sweptwater.plan.planned import PlannedDrift, sweep_planned
from sweptwater.water.overlap import Overlay
from sweptwater.water.shapes import GRID_M, polygonal

LEAST_NEW = 0.3
"""A drift that would sweep less than this share of unfished water is not worth it."""

SCRAP_M2 = 200.0
"""A bit of a bank's band that lies in another sector and is smaller is nobody's."""

SPARE = 1.4
"""Of drifts over water to go to, so many times as many as fill its hours are there to
choose from."""


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """Water to go to, in metres, whether it is fished or not.

    Parameters
    ----------
    worth
        What a square metre of it is worth, about 1.
    hours
        How long to be there, what passes between drifts included.
    """

    water: Area
    worth: float
    hours: float


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
    wanted: Sequence[Wanted] = (),
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
    wanted
        Water to go to: drifts are then laid there alone, about as many as its hours
        hold.
    """
    if wanted:
        unfished = polygonal(
            shapely.union_all([one.water for one in wanted], grid_size=GRID_M)
        )
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
    possible = Candidates(
        tuple(drifts[i] for i in worthy), kept, new[worthy] * alone, worth
    )
    return _within_hours(possible, wanted, alone, lay) if wanted else possible


def _within_hours(
    possible: Candidates, wanted: Sequence[Wanted], alone: Floats, lay: Lay
) -> Candidates:
    """Return the drifts over water to go to, as many as fill the hours of each."""
    worth = np.array(
        [one.worth * _shared_m2(Overlay(one.water), possible.swept) for one in wanted]
    ).reshape(len(wanted), len(possible.drifts))
    total, owner = worth.sum(axis=0) * alone, np.argmax(worth, axis=0)
    boat = lay.settings.boat
    back_s = boat.reset_s / 2 + possible.lengths_m / boat.motoring_up_m_s
    takes_s = possible.lengths_m / lay.speed_m_s + np.maximum(boat.reset_s, back_s)
    kept: list[int] = []
    for place, one in enumerate(wanted):
        mine = np.flatnonzero((owner == place) & (total > 0))
        mine = mine[np.argsort(-(total / takes_s)[mine], kind="stable")]
        before_s = np.cumsum(takes_s[mine]) - takes_s[mine]
        kept += mine[before_s < SPARE * 3600 * one.hours].tolist()
    found = replace(possible, worth=total)
    return found.of(sorted(kept))


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
