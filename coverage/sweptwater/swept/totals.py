"""What each day and each pair came to, and which water is whose."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

import shapely
from shapely import Polygon

from sweptwater.arrays import Area
from sweptwater.swept.boats import BoatDay
from sweptwater.swept.ledger import BoatLine
from sweptwater.water.overlap import Known
from sweptwater.water.shapes import GRID_M, polygonal

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class DayLine:
    """What all boats of one day did; areas in m2, `fished_share` by its evening.

    What is new there is so among all boats, chosen or not.
    """

    day: date
    boats: int
    drifts: int
    fishing_s: float
    swept_m2: float
    new_m2: float
    fished_share: float


@dataclass(frozen=True, slots=True)
class PairLine:
    """What one pair did on all days; areas in m2, lengths in m.

    `alone_m2` is the water that no other pair swept.
    """

    pair: str
    days: int
    drifts: int
    fishing_s: float
    drift_m: float
    swept_m2: float
    alone_m2: float


def swept_by_day(boats: Sequence[BoatDay]) -> dict[date, Area]:
    """Return the water that all boats of each day swept, in the order of days."""
    return {
        day: _together(boat for boat in boats if boat.day == day)
        for day in sorted({boat.day for boat in boats})
    }


def swept_by_pair(
    boats: Sequence[BoatDay], order: Sequence[str] = ()
) -> dict[str, Area]:
    """Return the water that each pair swept, in a given order as far as it goes."""
    there = dict.fromkeys(boat.pair for boat in boats)
    pairs = sorted(there, key=lambda pair: [*order, pair].index(pair))
    return {
        pair: _together(boat for boat in boats if boat.pair == pair) for pair in pairs
    }


def first_come(shapes: Mapping[Key, Area]) -> dict[Key, Area]:
    """Return each shape less all before it.

    Examples
    --------
    >>> parts = first_come({1: shapely.box(0, 0, 2, 1), 2: shapely.box(1, 0, 3, 1)})
    >>> [part.area for part in parts.values()]
    [2.0, 1.0]
    """
    parts: dict[Key, Area] = {}
    taken: Area = Polygon()
    for key, shape in shapes.items():
        parts[key] = _less(shape, taken)
        taken = polygonal(shapely.union(taken, shape, grid_size=GRID_M))
    return parts


def alone(shapes: Mapping[Key, Area]) -> tuple[dict[Key, Area], Area]:
    """Return what of each shape is in no other, and what is in several.

    Examples
    --------
    >>> parts, shared = alone({1: shapely.box(0, 0, 2, 1), 2: shapely.box(1, 0, 3, 1)})
    >>> [part.area for part in parts.values()], shared.area
    ([1.0, 1.0], 1.0)
    """
    several: Area = Polygon()
    taken: Area = Polygon()
    for shape in shapes.values():
        both = shapely.intersection(shape, taken, grid_size=GRID_M)
        several = polygonal(shapely.union(several, both, grid_size=GRID_M))
        taken = polygonal(shapely.union(taken, shape, grid_size=GRID_M))
    return {key: _less(shape, several) for key, shape in shapes.items()}, several


def day_lines(
    boats: Sequence[BoatLine], swept: Mapping[date, Area], water_m2: float
) -> tuple[DayLine, ...]:
    """Return a line for each day.

    Parameters
    ----------
    boats
        The lines of all boat-days that count.
    swept
        What the boats of each day swept.
    water_m2
        All fishable water.
    """
    lines = []
    fished_m2 = 0.0
    known = Known()
    for day in sorted(swept):
        those = [line for line in boats if line.day == day]
        fished_m2 += known.add(swept[day])
        lines.append(
            DayLine(
                day=day,
                boats=len(those),
                drifts=sum(line.drifts for line in those),
                fishing_s=sum(line.fishing_s for line in those),
                swept_m2=swept[day].area,
                new_m2=sum(line.new_m2 for line in those),
                fished_share=fished_m2 / water_m2,
            )
        )
    return tuple(lines)


def pair_lines(
    boats: Sequence[BoatLine], swept: Mapping[str, Area], apart: Mapping[str, Area]
) -> tuple[PairLine, ...]:
    """Return a line for each pair, from what each swept, and swept alone."""
    lines = []
    for pair, shape in swept.items():
        those = [line for line in boats if line.pair == pair]
        lines.append(
            PairLine(
                pair=pair,
                days=len({line.day for line in those}),
                drifts=sum(line.drifts for line in those),
                fishing_s=sum(line.fishing_s for line in those),
                drift_m=sum(line.drift_m for line in those),
                swept_m2=shape.area,
                alone_m2=apart[pair].area,
            )
        )
    return tuple(lines)


def _together(boats: Iterable[BoatDay]) -> Area:
    shapes = [boat.stack.once for boat in boats]
    return polygonal(shapely.union_all(shapes, grid_size=GRID_M))


def _less(shape: Area, other: Area) -> Area:
    if other.is_empty or not shape.intersects(other):
        return shape
    return polygonal(shapely.difference(shape, other, grid_size=GRID_M))
