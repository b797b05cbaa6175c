"""From where the next hours do most good to what a plan is laid for."""

from dataclasses import dataclass
from pathlib import Path

from shapely import Point

from sweptwater.arrays import Area
from sweptwater.jobs.next import AskNext, NextSight, look_ahead
from sweptwater.jobs.next_rows import NextRow
from sweptwater.jobs.opened import Watch, unwatched
from sweptwater.offers.rate_map import BANDWIDTH_M
from sweptwater.plan.candidates import Wanted
from sweptwater.practice.outing import Drogue
from sweptwater.water.shapes import polygonal

FIRST = 1.5
"""A find that is to be tried again is worth so many times as much as other water."""


@dataclass(frozen=True, slots=True, eq=False)
class Orders:
    """What a pair is sent to.

    Parameters
    ----------
    rows
        Its hours, water by water.
    water
        The water of each, in metres.
    worth
        What a square metre of it is worth, about 1.
    """

    rows: tuple[NextRow, ...]
    water: tuple[Area, ...]
    worth: tuple[float, ...]

    @property
    def wanted(self) -> tuple[Wanted, ...]:
        """The water with its worth and its hours."""
        told = zip(self.water, self.worth, self.rows, strict=True)
        return tuple(Wanted(water, worth, row.hours) for water, worth, row in told)


def orders_for(
    folder: Path, ask: AskNext, *, watch: Watch = unwatched
) -> tuple[dict[str, Orders], Drogue | None]:
    """Return what each pair is sent to, and where the drogue mostly is.

    Raises
    ------
    SweptwaterError
        As `look_ahead` does.
    """
    sight = look_ahead(folder, ask, watch=watch)
    rows = sight.report.rows
    in_h = sum(row.hours for row in rows if row.drogue == "in")
    mostly_in = 2 * in_h > sum(row.hours for row in rows)
    pairs = dict.fromkeys(row.pair for row in rows)
    found = {pair: _orders(sight, pair) for pair in pairs}
    return found, "in" if mostly_in else "out" if rows else None


def _orders(sight: NextSight, pair: str) -> Orders:
    mine = [
        (row, patch)
        for row, patch in zip(sight.report.rows, sight.patches, strict=True)
        if row.pair == pair
    ]
    water = [_water(sight, row, patch) for row, patch in mine]
    gains = {spell.patch: 0.0 for spell in sight.shared.spells[pair]}
    for spell in sight.shared.spells[pair]:
        gains[spell.patch] += spell.gain
    each = [
        gains.get(patch, 0.0) / max(area.area, 1.0) if row.what == "search" else 0.0
        for (row, patch), area in zip(mine, water, strict=True)
    ]
    searched = [one for one in each if one > 0]
    mean = sum(searched) / len(searched) if searched else 1.0
    most = max(each, default=0.0) / mean or 1.0
    worth = tuple(
        one / mean if row.what == "search" else FIRST * most
        for (row, _), one in zip(mine, each, strict=True)
    )
    return Orders(tuple(row for row, _ in mine), tuple(water), worth)


def _water(sight: NextSight, row: NextRow, patch: int) -> Area:
    if row.find is None:
        return sight.water_of(patch)
    find = next(f.find for f in sight.report.finds if f.find.number == row.find)
    ground = Point(find.easting, find.northing).buffer(BANDWIDTH_M)
    return polygonal(ground.intersection(sight.opened.venue.fishable))
